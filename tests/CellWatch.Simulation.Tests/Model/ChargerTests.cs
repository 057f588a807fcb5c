using CellWatch.Core.Pack;
using CellWatch.Simulation.Model;

namespace CellWatch.Simulation.Tests.Model;

public sealed class ChargerTests
{
    // One slow resistance only, so that the taper has one time constant: battery-maths 10.2 and check 10.3,
    // tau = 3600 Q R / (dOCV/dz): 50 Ah, 2 mOhm, 1.0 V give 360 s.
    private static readonly CellParameters Cell = new() { CapacityAh = 50, InitialCharge = 0.80, R0Ohm = 0.002, R1Ohm = 0 };

    [Fact]
    public void The_taper_falls_with_the_time_constant_of_the_check_and_holds_the_target()
    {
        var (model, charger) = Start();
        var charge = Run(model, charger, until: () => charger.CurrentA < 49.9);
        Assert.InRange(model.HighestCellV, 4.0995, 4.101);
        var began = charger.CurrentA;
        charge += Run(model, charger, seconds: 360);

        Assert.InRange(Math.Log(began / charger.CurrentA), 0.98, 1.02);
        Assert.InRange(model.HighestCellV, 4.0995, 4.101);
        Assert.InRange(charge, 1, 50);
    }

    [Fact]
    public void It_ends_by_itself_at_the_termination_current()
    {
        var (model, charger) = Start();

        Run(model, charger, until: () => charger.State != ChargerState.Running);

        Assert.Equal(ChargerState.Ended, charger.State);
        Assert.Equal(0, charger.CurrentA);
    }

    [Fact]
    public void A_charger_that_ignores_its_target_keeps_its_current_turns_down_only_at_the_voltage_it_is_built_for_and_does_not_end()
    {
        var (model, charger) = Start();
        Run(model, charger, seconds: 30);
        charger.IgnoresTarget = true;
        Run(model, charger, until: () => model.HighestCellV > 4.15);
        Assert.Equal(50, charger.CurrentA, 6);

        Run(model, charger, seconds: 7200);

        Assert.Equal(ChargerState.Running, charger.State);
        Assert.InRange(model.HighestCellV, Charger.BuiltForV - 0.01, Charger.BuiltForV + 0.001);
    }

    [Fact]
    public void In_the_middle_of_a_taper_it_keeps_what_it_has()
    {
        var (model, charger) = Start();
        Run(model, charger, until: () => charger.CurrentA < 20);
        charger.IgnoresTarget = true;
        Run(model, charger, seconds: 30);
        Assert.InRange(charger.CurrentA, 19, 20);
        Assert.True(model.HighestCellV > 4.101);
    }

    [Fact]
    public void Its_own_protection_stops_it_whatever_its_control_does()
    {
        var (_, charger) = Start();
        charger.Step(4.0, 1);

        Assert.Equal(0, charger.Step(Charger.ProtectionV, 0.1));
        Assert.Equal(ChargerState.Stopped, charger.State);
        Assert.Equal(0, charger.Step(4.0, 0.1));
    }

    private static (PackModel Model, Charger Charger) Start()
    {
        var layout = new PackLayout("one", [new PackModule(new ModuleId("B01"), new ModuleTopology(1, 1), 1, 1)]);
        var model = new PackModel(layout, new OcvGrid([0, 100], [3.1, 4.1]), [Cell], new PackParameters(), 20);
        var charger = new Charger();
        charger.Start(new ChargeOrder(50, 4.10, 2.5));
        return (model, charger);
    }

    private static double Run(PackModel model, Charger charger, double seconds = 36_000, Func<bool>? until = null)
    {
        var ampereHours = 0.0;
        for (var i = 0; i < seconds * 10; i++)
        {
            var current = charger.Step(model.HighestCellV, 0.1);
            model.Step(current, 0.1);
            ampereHours += current / 36_000;
            // The ramp at the beginning is no taper.
            if (i > 150 && until?.Invoke() == true) return ampereHours;
        }

        return ampereHours;
    }
}
