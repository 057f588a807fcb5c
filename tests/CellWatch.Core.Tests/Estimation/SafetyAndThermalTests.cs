using CellWatch.Core.Estimation;
using Xunit;

namespace CellWatch.Core.Tests.Estimation;

/// <summary>battery-maths 12 and 14; the isolation method after UN R100 revision 2, points 1.2.3.</summary>
public class SafetyAndThermalTests
{
    // Check 12.1: leaks of 2 Mohm at plus and 3 Mohm at minus.
    [Fact]
    public void The_weaker_pole_comes_out()
    {
        var r = IsolationTest.Evaluate(new IsolationReadings(400, 240, 160, 200e3, true, 34.285714286), out var refusal)!.Value;
        Assert.Null(refusal);
        Assert.Equal(2e6, r.Ohm, 0.1);
        Assert.Equal(5000, r.OhmPerVolt(400), 3);
        Assert.Equal(200e3, IsolationTest.SuitableKnownOhm(500, 400));
    }

    // Check 12.2: the same with a real 10 Mohm meter.
    [Fact]
    public void The_meter_does_not_spoil_it() =>
        Assert.Equal(2e6, IsolationTest.Evaluate(new IsolationReadings(400, 214.285714, 142.857143, 200e3, true, 33.707865), out _)!.Value.Ohm, 1.0);

    // Worked example of the isolation test: 267 kohm by the formula, a single leak of 200 kohm at 25 %, group 27 of 108.
    [Fact]
    public void One_leak_part_way_up_is_placed_and_its_own_resistance_is_smaller()
    {
        var r = IsolationTest.Evaluate(new IsolationReadings(400, 100, 300, 200e3, false, 150), out _)!.Value;
        Assert.Equal(266666.667, r.Ohm, 3);
        Assert.Equal(666.667, r.OhmPerVolt(400), 3);
        Assert.Equal(200e3, r.SingleLeakOhm, 6);
        Assert.Equal(27, r.NearestGroup(108));
    }

    [Theory]
    [InlineData(400, 100, 300, true, 150, "larger reading")]
    [InlineData(400, 300, 300, false, 150, "add up to more")]
    [InlineData(400, 100, 300, false, 350, "rose")]
    [InlineData(400, -100, 300, false, 150, "without sign")]
    [InlineData(0, 0, 0, false, 0, "above 0")]
    public void Impossible_readings_are_refused_in_words(double packV, double v1, double v2, bool atMinus, double with, string words)
    {
        Assert.Null(IsolationTest.Evaluate(new IsolationReadings(packV, v1, v2, 200e3, atMinus, with), out var refusal));
        Assert.Contains(words, refusal, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(400, 100, 300, true, 150, nameof(IsolationReadings.KnownAtMinus))]
    [InlineData(400, 300, 300, false, 150, nameof(IsolationReadings.PlusToBodyV))]
    [InlineData(400, 100, 300, false, 350, nameof(IsolationReadings.WithKnownV))]
    [InlineData(400, -100, 300, false, 150, nameof(IsolationReadings.MinusToBodyV))]
    [InlineData(0, 0, 0, false, 0, nameof(IsolationReadings.PackV))]
    public void A_refusal_names_the_reading_to_look_at(double packV, double v1, double v2, bool atMinus, double with, string field) =>
        Assert.Equal(field, IsolationTest.Fault(new IsolationReadings(packV, v1, v2, 200e3, atMinus, with))!.Value.Field);

    [Fact]
    public void The_known_resistor_belongs_on_the_side_with_the_larger_reading()
    {
        Assert.False(IsolationTest.KnownBelongsAtMinus(100, 300));
        Assert.True(IsolationTest.KnownBelongsAtMinus(300, 100));
        Assert.Null(IsolationTest.KnownBelongsAtMinus(200, 200));
    }

    [Fact]
    public void A_dead_short_is_zero_and_not_a_division_by_it() =>
        Assert.Equal(0, IsolationTest.Evaluate(new IsolationReadings(400, 400, 0, 200e3, true, 0), out _)!.Value.Ohm);

    // Check 12.3: published worked default of a resistor maker.
    [Fact]
    public void Precharge_of_a_published_example()
    {
        var p = new Precharge(800, 47, 1000e-6);
        Assert.Equal(47.0e-3, p.TimeConstantS, 12);
        Assert.Equal(216.4e-3, p.TimeToS(0.99), 4);
        Assert.Equal(17.0, p.PeakA, 1);
        Assert.Equal(13617, p.PeakW, 0);
        Assert.Equal(320, p.EnergyJ, 9);
    }

    // Check 12.4.
    [Fact]
    public void Precharge_of_a_400_V_pack()
    {
        var p = new Precharge(400, 100, 1e-3);
        Assert.Equal(0.2995732, p.TimeToS(0.95), 7);
        Assert.Equal(0.4605170, p.TimeToS(0.99), 7);
        Assert.Equal(95.021293, 100 * p.ShareAfter(0.3), 6);
        Assert.Equal(4, p.PeakA, 12);
        Assert.Equal(1600, p.PeakW, 9);
        Assert.Equal(80, p.EnergyJ, 9);
        Assert.Equal(20, 400 * (1 - p.ShareAfter(p.TimeToS(0.95))), 9);
    }

    // Checks 14.1 and 14.2; entropy of graphite after Thomas and Newman 2003.
    [Fact]
    public void Heat_of_a_cell()
    {
        Assert.Equal(-2.981500, ThermalModel.ReversibleHeatW(100, 25, -0.1), 9);
        Assert.Equal(10 - 2.9815, ThermalModel.HeatW(100, 3.8, 3.7, 25, -0.1), 9);
        Assert.Equal(0.081820, ThermalModel.GraphiteEntropyMvPerK(0.10), 6);
        Assert.Equal(-0.142160, ThermalModel.GraphiteEntropyMvPerK(0.30), 6);
        Assert.Equal(-0.086875, ThermalModel.GraphiteEntropyMvPerK(0.50), 6);
        Assert.Equal(-0.118735, ThermalModel.GraphiteEntropyMvPerK(0.80), 6);
        Assert.Equal(30.6693738, ThermalModel.LumpDegC(10, 0.9, 1000, 0.5, 25, 25, 600), 7);
        Assert.Equal(45, ThermalModel.LumpDegC(10, 0.9, 1000, 0.5, 25, 25, 1e6), 9);
        Assert.Equal(0.6666667, ThermalModel.AdiabaticKPerMin(100, 1e-3, 0.9, 1000), 7);
        Assert.Equal(25.6666667, ThermalModel.LumpDegC(10, 0.9, 1000, 0, 25, 25, 60), 7);
    }

    // Section 14: rule of thumb, and a cell measured at 142 uA (20 degC) and 620 uA (50 degC).
    [Fact]
    public void Rates_against_temperature()
    {
        Assert.Equal(2.8284271, ThermalModel.DoublingFactor(40), 7);
        Assert.Equal(52.948862, ThermalModel.ActivationKjPerMol(2, 25, 35), 4);
        Assert.Equal(1.634435, Math.Pow(620.0 / 142, 1.0 / 3), 6);
        Assert.Equal(38.69660, ThermalModel.ActivationKjPerMol(620.0 / 142, 20, 50), 4);
    }
}
