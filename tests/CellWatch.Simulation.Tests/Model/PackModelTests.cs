using CellWatch.Core.Pack;
using CellWatch.Simulation.Model;

namespace CellWatch.Simulation.Tests.Model;

public sealed class PackModelTests
{
    private static readonly OcvGrid FlatOcv = new([0, 100], [3.70, 3.70]);
    private static readonly OcvGrid StraightOcv = new([0, 100], [3.0, 4.0]);

    // Source: battery-maths, check 2.1 (zero-order hold): R0 1.2 mOhm, R1 0.8 mOhm, tau 20 s, -100 A from rest: v1 = -0.0314775472 V after 10 s.
    // The second RC of that check is left out, so the voltage is 3.70 - 0.12 + v1.
    [Theory]
    [InlineData(1)]
    [InlineData(10)]
    [InlineData(100)]
    public void The_lagging_voltage_is_exact_whatever_the_length_of_the_steps(int steps)
    {
        var model = OneModule(FlatOcv, new CellParameters { CapacityAh = 1e9, InitialCharge = 0.5, R0Ohm = 0.0012, R1Ohm = 0.0008 }, new PackParameters { TimeConstantS = 20 });

        for (var i = 0; i < steps; i++) model.Step(-100, 10.0 / steps);

        Assert.Equal(3.70 - 0.12 - 0.0314775472, model.CellVoltageV[0], 9);
    }

    [Fact]
    public void After_the_load_the_voltage_relaxes_with_the_time_constant()
    {
        var model = OneModule(FlatOcv, new CellParameters { CapacityAh = 1e9, InitialCharge = 0.5, R0Ohm = 0.0012, R1Ohm = 0.0008 }, new PackParameters { TimeConstantS = 20 });
        model.Step(-100, 10);

        model.Step(0, 10);

        // Source: the same equation; v1 of check 2.1 decayed by exp(-10/20).
        Assert.Equal(3.70 - 0.0314775472 * Math.Exp(-0.5), model.CellVoltageV[0], 9);
    }

    // Source: battery-maths, 5: charge is the integral of current; 50 A for 1 h into 100 Ah is half of it.
    [Fact]
    public void Charge_follows_the_current_and_positive_current_charges()
    {
        var model = OneModule(StraightOcv, new CellParameters { CapacityAh = 100, InitialCharge = 0.2 }, new PackParameters());

        for (var i = 0; i < 3600; i++) model.Step(50, 1);

        Assert.Equal(0.7, model.Charge[0], 9);
    }

    // Source: battery-maths, check 9.2: 4.1 V on 33 ohm is 124.242424 mA and takes 1.2 Ah in 9.658537 h.
    [Fact]
    public void A_bleed_of_33_ohm_takes_out_what_the_check_says()
    {
        var model = OneModule(new OcvGrid([0, 100], [4.1, 4.1]), new CellParameters { CapacityAh = 50, InitialCharge = 0.5, R0Ohm = 0, R1Ohm = 0 }, new PackParameters { SenseLeadOhm = 0 });
        model.BleedOn[0] = true;

        for (var i = 0; i < 9658; i++) model.Step(0, 3.6);
        model.Step(0, 0.537 * 3.6);

        Assert.Equal(0.124242424, model.BleedA[0], 9);
        Assert.Equal(1.2, model.BledAh[0], 6);
        Assert.Equal(0.5 - 1.2 / 50, model.Charge[0], 6);
        Assert.Equal(0.5, model.Charge[1], 9);
    }

    // Source: battery-maths, check 9.5: 2.9761905 mA of self-discharge is 0.071428571 Ah a day, 1 mV at 7 mV per percent and 50 Ah.
    [Fact]
    public void A_leak_falls_as_many_millivolts_a_day_as_the_check_says()
    {
        var model = OneModule(new OcvGrid([0, 100], [3.3, 4.0]), new CellParameters { CapacityAh = 50, InitialCharge = 0.5, LeakA = 0.0029761905 }, new PackParameters());
        var before = model.CellVoltageV[0];

        for (var i = 0; i < 24; i++) model.Step(0, 3600);

        Assert.Equal(-0.001, model.CellVoltageV[0] - before, 6);
    }

    // Source: battery-maths, check 14.2: 10 W, 900 J/K, 0.5 W/K, air 25 degC: 30.6693738 degC after 600 s, 45 in the end.
    [Fact]
    public void A_module_warms_as_a_lumped_mass()
    {
        var cell = new CellParameters { CapacityAh = 1e9, InitialCharge = 0.5, R0Ohm = 0.001 / 6, R1Ohm = 0 };
        var model = OneModule(FlatOcv, cell, new PackParameters { ModuleHeatCapacityJPerK = 900, ModuleCoolingWPerK = 0.5, LinkOhm = 0 }, startDegC: 25);

        model.Step(100, 600);

        Assert.Equal(10, model.ModuleHeatW[0], 9);
        Assert.Equal(30.6693738, model.ModuleDegC[0], 6);
        model.Step(100, 1e6);
        Assert.Equal(45, model.ModuleDegC[0], 6);
    }

    [Fact]
    public void Energy_at_the_terminals_is_stored_energy_and_heat()
    {
        var model = OneModule(StraightOcv, new CellParameters { CapacityAh = 100, InitialCharge = 0.2 }, new PackParameters { LinkOhm = 0, StringEndsOhm = 0 });
        var (inJ, heatJ) = (0.0, 0.0);

        // Half an hour in and half an hour of rest, so that the lagging voltage is gone again and stores nothing.
        for (var i = 0; i < 36_000; i++)
        {
            var current = i < 18_000 ? 60 : 0;
            model.Step(current, 0.1);
            inJ += current * model.StringVoltageV * 0.1;
            foreach (var w in model.ModuleHeatW) heatJ += w * 0.1;
        }

        // A straight curve stores the mean voltage times the charge in each of six cells.
        var z = model.Charge[0];
        var storedJ = 6 * (z - 0.2) * 100 * 3600 * (3.0 + (0.2 + z) / 2);
        Assert.InRange((inJ - heatJ) / storedJ, 1 - 1e-5, 1 + 1e-5);
    }

    // Source: the-job, 0.6: sum of cells minus terminal voltage is current times all links; discharging, the terminals are lower.
    [Fact]
    public void The_string_loses_current_times_links()
    {
        var model = OneModule(FlatOcv, new CellParameters { CapacityAh = 100, InitialCharge = 0.5 }, new PackParameters { LinkOhm = 0.0004, StringEndsOhm = 0.0006 });

        model.Step(-200, 1);

        var sum = 0.0;
        foreach (var v in model.CellVoltageV) sum += v;
        Assert.Equal(0.2, sum - model.StringVoltageV, 9);
    }

    [Fact]
    public void A_hundred_thousand_steps_allocate_nothing()
    {
        var model = OneModule(StraightOcv, new CellParameters { CapacityAh = 100, InitialCharge = 0.5 }, new PackParameters());
        // Long enough for the runtime to replace the loop's first, slow code, which costs a few bytes of its own.
        for (var i = 0; i < 100_000; i++) model.Step(1, 0.1);
        var before = GC.GetAllocatedBytesForCurrentThread();

        for (var i = 0; i < 100_000; i++) model.Step(i % 2 == 0 ? 50 : -50, 0.1);

        Assert.Equal(0, GC.GetAllocatedBytesForCurrentThread() - before);
    }

    private static PackModel OneModule(OcvGrid ocv, CellParameters cell, PackParameters parameters, double startDegC = 20)
    {
        var layout = new PackLayout("one", [new PackModule(new ModuleId("B01"), new ModuleTopology(6, 2), 2, 1)]);
        return new PackModel(layout, ocv, [.. Enumerable.Repeat(cell, 6)], parameters, startDegC);
    }
}
