using CellWatch.Core.Estimation;
using CellWatch.Core.Statistics;
using CellWatch.Core.Tests.Statistics;
using Xunit;

namespace CellWatch.Core.Tests.Estimation;

public class CircuitAndPulseTests
{
    private static EquivalentCircuit Circuit() => new(1.2e-3, new RcBranch(0.8e-3, 20), new RcBranch(0.6e-3, 200));

    // battery-maths check 2.1: zero-order hold; forward Euler with 1 s steps would end at 3.5449655630 V.
    [Theory]
    [InlineData(1)]
    [InlineData(10)]
    public void Ten_seconds_under_load_come_out_the_same_in_one_step_or_ten(int steps)
    {
        var cell = Circuit();
        Assert.Equal(3.58, cell.TerminalV(3.7, -100), 12);
        for (var i = 0; i < steps; i++) cell.Step(-100, 10.0 / steps);
        Assert.Equal(-0.0314775472, cell.BranchVoltageV[0], 10);
        Assert.Equal(-0.0029262345, cell.BranchVoltageV[1], 10);
        Assert.Equal(3.5455962182, cell.TerminalV(3.7, -100), 10);
        Assert.Equal(1.5440378e-3, PulseResistance.Ohm(3.7, 0, cell.TerminalV(3.7, -100), -100), 10);
        cell.Step(0, 10);
        Assert.Equal(3.6781243821, cell.TerminalV(3.7, 0), 10);
    }

    // battery-maths check 2.1, last row: forward Euler with steps of 1 s, which must not be the result.
    [Fact]
    public void Forward_Euler_would_be_half_a_millivolt_off()
    {
        double v1 = 0, v2 = 0;
        for (var s = 0; s < 10; s++) (v1, v2) = (v1 + (-v1 + 0.8e-3 * -100) / 20, v2 + (-v2 + 0.6e-3 * -100) / 200);
        var euler = 3.7 - 100 * 1.2e-3 + v1 + v2;
        Assert.Equal(3.5449655630, euler, 10);
        var cell = Circuit();
        cell.Step(-100, 10);
        Assert.Equal(-0.6307e-3, euler - cell.TerminalV(3.7, -100), 7);
    }

    // battery-maths check 3.1.
    [Fact]
    public void Pulse_resistance_and_power()
    {
        var discharge = PulseResistance.Ohm(3.7, 0, 3.512, -120);
        Assert.Equal(1.5666667e-3, discharge, 10);
        var charge = PulseResistance.Ohm(3.672, 0, 3.788, 90);
        Assert.Equal(1.2888889e-3, charge, 10);
        Assert.Equal(1608.5106, PulseResistance.DischargePowerW(3.7, 2.8, discharge), 4);
        Assert.Equal(574.4681, PulseResistance.DischargePowerW(3.7, 2.8, discharge) / 2.8, 4);
        Assert.Equal(969.0000, PulseResistance.DischargePowerAtCurrentW(3.7, 300, discharge), 4);
        Assert.Equal(1720.5517, PulseResistance.ChargePowerW(3.672, 4.2, charge), 4);
        Assert.Equal(1941.8440, PulseResistance.TwoThirdsPowerW(3.7, discharge), 4);
        var drift = PulseResistance.OcvDriftV(-120, 10, 50, 9);
        Assert.Equal(6e-3, drift, 12);
        Assert.Equal(1.5166667e-3, PulseResistance.DriftCorrectedOhm(3.512 - 3.7, -120, drift), 10);
        Assert.Equal(-0.3333333, ChargeCounter.TrapezoidAh(-120, -120, 10), 7);
    }

    // battery-maths check 3.2.
    [Fact]
    public void Resistance_from_several_currents_is_the_slope_of_a_line()
    {
        var fit = LineFit.Through([-16.6667, -50, -100, -250], [3.683, 3.650, 3.601, 3.448])!.Value;
        Assert.Equal(1.0083661e-3, fit.Slope, 10);
        Assert.Equal(3.7005381, fit.Intercept, 7);
    }

    [Fact]
    public void Without_a_step_of_current_there_is_no_resistance() => Assert.True(double.IsNaN(PulseResistance.Ohm(3.7, 5, 3.6, 5)));

    // battery-maths check 4.1.
    [Fact]
    public void A_third_of_the_rating_and_state_of_health()
    {
        Close.Relative(16.666667, 50.0 / 3, 1e-7);
        Assert.Equal(86.40, 100 * 43.2 / 50, 9);
    }
}
