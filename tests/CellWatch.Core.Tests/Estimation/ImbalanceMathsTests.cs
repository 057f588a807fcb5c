using CellWatch.Core.Estimation;
using Xunit;

namespace CellWatch.Core.Tests.Estimation;

/// <summary>battery-maths 9, 10 and 13.</summary>
public class ImbalanceMathsTests
{
    private static readonly double[] ChargeAh = [0, 5, 12, 20, 28, 33, 40, 45];
    private static readonly double[] Hours = [0, 1, 2, 4, 8, 30, 40, 60];
    private static readonly double[] CurrentA = [0, 25, 25, -20, 50, 0, -40, 10];
    private static readonly double[] Slope = [0.018, 0.014, 0.010, 0.009, 0.012, 0.016, 0.022, 0.030];
    private static readonly double[] Deviation = [-0.0054, 0.002322, 0.00551, 0.001428, 0.017148, 0.01536, 0.02084, 0.0429];

    // Check 9.1.
    [Fact]
    public void Four_causes_that_were_put_in_come_out()
    {
        var s = FourSignatures.Fit(ChargeAh, Hours, CurrentA, Slope, Deviation, out var condition)!;
        Assert.Equal(-0.30, s.OffsetAh, 6);
        Assert.Equal(0.04, s.CapacityTerm, 6);
        Assert.Equal(-0.002, s.LeakA, 6);
        Assert.Equal(0.15e-3, s.ExtraResistanceOhm, 9);
        Assert.Equal(48.076923, s.CapacityAh(50), 5);
        Assert.InRange(condition, 1, 100);
        Assert.All(s.Sigmas, sigma => Assert.InRange(sigma, 0, 1e-6));
    }

    [Fact]
    public void Rows_of_one_state_of_the_pack_cannot_tell_causes_apart()
    {
        // At rest and at one level all day: offset, capacity and resistance all look alike.
        Assert.Null(FourSignatures.Fit([5, 5, 5, 5, 5], [0, 1, 2, 3, 4], [0, 0, 0, 0, 0], [0.01, 0.01, 0.01, 0.01, 0.01], [1, 1, 1, 1, 1], out var empty));
        Assert.Equal(double.PositiveInfinity, empty);
        Assert.Null(FourSignatures.Fit([5, 5, 5, 5, 5], [0, 1, 2, 3, 4], [9, 9, -9, 9, 9], [0.01, 0.01, 0.01, 0.01, 0.01], [1, 1, 1, 1, 1], out var alike));
        Assert.True(alike > 1e6);
    }

    // Checks 9.2 to 9.5.
    [Fact]
    public void Bleeding_takes_this_long()
    {
        var q = Balancing.ChargeAh(50, 2.4);
        Assert.Equal(1.2, q, 12);
        Assert.Equal(124.242424e-3, Balancing.CurrentA(4.1, 33), 9);
        Assert.Equal(0.509394, Balancing.PowerW(4.1, 33), 6);
        Assert.Equal(9.658537, Balancing.Hours(q, 4.1, 33), 6);
        Assert.Equal(19.317073, Balancing.Hours(q, 4.1, 33, 0.5), 6);
        Assert.Equal(4.92, Balancing.HeatWh(q, 4.1), 9);
        Assert.Equal(9.682171, Balancing.HoursWhileFalling(q, 4.10, 4.08, 33), 6);

        double[] above = [0.00, 0.10, 0.25, 0.05, 0.60, 0.15, 0.00, 0.30, 0.20, 0.90, 0.12, 0.08];
        Assert.Equal(7.243902, above.Max(ah => Balancing.Hours(ah, 4.1, 33)), 6);
        Assert.Equal(11.275, above.Sum(ah => Balancing.HeatWh(ah, 4.1)), 9);
        Assert.Equal(2.9761905e-3, Balancing.LeakA(-1, 7, 50), 10);
        Assert.Equal(0.071428571, 24 * Balancing.LeakA(-1, 7, 50), 9);
        Assert.Equal(0.142857143, 100 * 24 * Balancing.LeakA(-1, 7, 50) / 50, 9);
        Assert.Equal(2.75, above.Sum(), 12);
    }

    // Checks 10.1 to 10.3.
    [Fact]
    public void Tapers_end_when_the_fit_says()
    {
        Assert.Equal(5392.318092, Taper.SecondsToEnd(50, 2.5, 1800), 6);
        Assert.Equal(23.75, Taper.ChargeToEndAh(50, 2.5, 1800), 9);
        var fit = Taper.Fit([0, 300, 600, 900, 1200], [50.0, 42.5, 35.8, 30.4, 25.6])!.Value;
        Assert.Equal(1792.197373, fit.TimeConstantS, 6);
        Assert.Equal(50.1032834, fit.StartA, 7);
        Assert.Equal(5372.6418, fit.EndsAtS(2.5), 4);
        Assert.True(fit.IsFitToPredict);
        Assert.Equal(360, Taper.ExpectedTimeConstantS(50, 2e-3, 1.0), 9);
        Assert.Null(Taper.Fit([0, 1, 2], [5, 5, 5]));
        Assert.Null(Taper.Fit([0, 1], [5, 4]));
        Assert.Throws<ArgumentException>(() => Taper.Fit([0, 1, 2], [5, 0, 4]));
    }

    // Check 10.4.
    [Fact]
    public void The_charge_current_is_set_by_the_cell_that_reaches_the_limit_first()
    {
        var (current, cell) = AllowedCurrent.Charge([4.05, 4.11, 4.02], [1.8e-3, 2.0e-3, 3.2e-3], 4.20);
        Assert.Equal(45, current, 9);
        Assert.Equal(1, cell);
        (current, cell) = AllowedCurrent.Charge([4.05, 4.11, 4.02], [1.8e-3, 2.0e-3, 3.2e-3], 4.20, [true, false, true]);
        Assert.Equal(56.25, current, 9);
        Assert.Equal(2, cell);
        Assert.Equal((0, 0), AllowedCurrent.Charge([4.25], [1e-3], 4.2));
        Assert.Equal((0, -1), AllowedCurrent.Charge([4.05], [1e-3], 4.2, [false]));
    }

    // Check 10.5: zones of the JEITA guideline as drawn in SLUSB10.
    [Theory]
    [InlineData(-0.1, 0, double.NaN)]
    [InlineData(0.0, 0.5, 4.20)]
    [InlineData(9.9, 0.5, 4.20)]
    [InlineData(10.0, 1, 4.20)]
    [InlineData(44.9, 1, 4.20)]
    [InlineData(45.0, 1, 4.15)]
    [InlineData(50.0, 1, 4.10)]
    [InlineData(60.0, 1, 4.10)]
    [InlineData(60.1, 0, double.NaN)]
    [InlineData(double.NaN, 0, double.NaN)]
    public void Zones_of_the_guideline(double degC, double factor, double highestV) =>
        Assert.Equal(new ChargeAllowance(factor, highestV), ChargeTemperatureProfile.Jeita.At(degC));

    [Theory]
    [InlineData(-0.1, 0)]
    [InlineData(0, 0)]
    [InlineData(7.5, 0.5)]
    [InlineData(15, 1)]
    [InlineData(40, 1)]
    [InlineData(42.5, 0.5)]
    [InlineData(45, 0)]
    [InlineData(double.NaN, 0)]
    public void The_default_profile_ramps(double degC, double factor) => Assert.Equal(factor, ChargeTemperatureProfile.Ramp.At(degC).CurrentFactor, 12);

    [Fact]
    public void The_coldest_and_the_hottest_cell_both_count()
    {
        Assert.Equal(0.5, ChargeTemperatureProfile.Ramp.For(7.5, 30).CurrentFactor, 12);
        Assert.Equal(new ChargeAllowance(0.5, 4.15), ChargeTemperatureProfile.Jeita.For(5, 46));
    }

    // Check 13.1.
    [Fact]
    public void A_string_gives_what_its_cells_allow()
    {
        var s = PackArithmetic.UsableCharge([50.2, 49.8, 50.5, 48.9, 50.1, 49.6], [0.62, 0.60, 0.615, 0.61, 0.59, 0.605]);
        Assert.Equal(29.5590, s.DischargeAh, 9);
        Assert.Equal(19.0710, s.ChargeAh, 9);
        Assert.Equal(48.6300, s.UsableAh, 9);
        Assert.Equal(48.9, s.BalancedAh, 9);
        Assert.Equal(0.27, s.BalancingGainAh, 9);
        Assert.Equal(3, s.SmallestCell);
    }

    // Checks 13.2 and 13.3, and the short-circuit and joint figures of 12.2.
    [Fact]
    public void Parallel_joining_axles_and_joints()
    {
        var j = PackArithmetic.Join(3.95, 3.85, 2e-3, 50, 1, 50, 1);
        Assert.Equal(50, j.FirstCurrentA, 9);
        Assert.Equal(450, j.HeatJ, 9);
        Assert.Equal(2.5, j.ChargeAh, 9);
        Assert.Equal(180, j.TimeConstantS, 9);

        var rear = PackArithmetic.RearAxleKg(2.70, [1140, 120, 90], [2.70 * 0.45, 0.90, 2.40]);
        Assert.Equal(633, rear, 9);
        Assert.Equal(717, 1350 - rear, 9);
        Assert.Equal(53.111111, 100 * (1350 - rear) / 1350, 6);

        Assert.Equal(5600, PackArithmetic.ShortCircuitA(25.2, 6 * 0.75e-3), 9);
        Assert.Equal(4491.0891, PackArithmetic.ShortCircuitA(453.6, 108 * 0.75e-3 + 0.020), 4);
        Assert.Equal(2, PackArithmetic.JointHeatW(100, 0.2e-3), 9);
        Assert.Equal(18, PackArithmetic.JointHeatW(600, 0.05e-3), 9);
        Assert.Equal(2.337662, ThermalModel.AdiabaticKPerMin(300, 0.2e-3, 0.020, 385) / 60, 6);
    }
}
