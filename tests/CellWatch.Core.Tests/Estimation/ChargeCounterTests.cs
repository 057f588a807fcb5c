using CellWatch.Core.Estimation;
using Xunit;

namespace CellWatch.Core.Tests.Estimation;

/// <summary>battery-maths 5: integrals with exact answers.</summary>
public class ChargeCounterTests
{
    private static double CountAh(Func<double, double> currentA, double untilS, double stepS)
    {
        var counter = new ChargeCounter(double.PositiveInfinity, 0.1);
        for (var i = 0; i * stepS <= untilS + 1e-9; i++) counter.Add(i * stepS, currentA(i * stepS), 3.7);
        return counter.NetAh;
    }

    [Fact]
    public void A_ramp_counts_exactly() => Assert.Equal(0.5, CountAh(t => t, 60, 10), 10);

    [Fact]
    public void A_quarter_of_a_sine_in_five_steps() => Assert.Equal(0.4384549663, CountAh(t => 100 * Math.Sin(2 * Math.PI * t / 100), 25, 5), 10);

    // Checks 5.1 and 5.2, right columns: what counting by the value before would give, and the exact integral.
    [Fact]
    public void Counting_by_the_value_before_would_lose_a_sixth()
    {
        static double Left(Func<double, double> a, double untilS, double stepS) => Enumerable.Range(0, (int)(untilS / stepS)).Sum(i => a(i * stepS)) * stepS / 3600;
        Assert.Equal(0.4166666667, Left(t => t, 60, 10), 10);
        Assert.Equal(-16.67, 100 * (Left(t => t, 60, 10) / CountAh(t => t, 60, 10) - 1), 2);
        static double Sine(double t) => 100 * Math.Sin(2 * Math.PI * t / 100);
        Assert.Equal(0.3690105219, Left(Sine, 25, 5), 10);
        var exact = 100 * 100 / (2 * Math.PI) / 3600;
        Assert.Equal(0.4420970641, exact, 10);
        Assert.Equal(-0.8238, 100 * (CountAh(Sine, 25, 5) / exact - 1), 4);
        Assert.Equal(0.4420970641, CountAh(Sine, 25, 0.001), 7);
    }

    // Check 5.4: a sensor whose gain is half a percent high counts 0.22 Ah too much over 44 Ah.
    [Fact]
    public void A_gain_error_is_counted_in_full() =>
        Assert.Equal(0.2200, CountAh(_ => 44 * 1.005, 3600, 10) - CountAh(_ => 44, 3600, 10), 10);

    [Fact]
    public void Errors_of_a_sensor()
    {
        Assert.Equal(1.2, ChargeCounter.OffsetErrorAh(0.05, 24), 10);
        Assert.Equal(2.4, 100 * ChargeCounter.OffsetErrorAh(0.05, 24) / 50, 10);
        Assert.Equal(0.0163299, ChargeCounter.NoiseErrorAh(0.2, 86400, 1), 7);
        Assert.Equal(49.96, ChargeCounter.SocPercent(30, 20, 10, 50, 0.999), 10);
    }

    [Fact]
    public void A_gap_under_current_is_not_counted_and_a_gap_at_rest_is_bridged()
    {
        var counter = new ChargeCounter(longestStepS: 2, restA: 0.5);
        Assert.Equal(CountOutcome.First, counter.Add(0, -10, 3.7));
        Assert.Equal(CountOutcome.UnknownGap, counter.Add(100, -10, 3.6));
        Assert.Equal(0, counter.OutAh);
        Assert.Equal(1, counter.UnknownGaps);
        Assert.Equal(CountOutcome.Counted, counter.Add(101, 0, 3.6));
        Assert.Equal(CountOutcome.BridgedGap, counter.Add(200, 0, 3.6));
        Assert.Equal(1, counter.UnknownGaps);
    }

    [Fact]
    public void A_clock_that_goes_back_is_refused_and_the_count_goes_on_from_before()
    {
        var counter = new ChargeCounter(double.PositiveInfinity, 0.5);
        counter.Add(0, -36, 3.7);
        counter.Add(100, -36, 3.7);
        Assert.Equal(CountOutcome.ClockNotForward, counter.Add(0, -36, 3.7));
        counter.Add(200, -36, 3.7);
        Assert.Equal(2, counter.OutAh, 12);
        Assert.Equal(-2 * 3.7, counter.NetWh, 12);
        Assert.Equal(2 * 3.7, counter.OutWh, 12);
    }
}
