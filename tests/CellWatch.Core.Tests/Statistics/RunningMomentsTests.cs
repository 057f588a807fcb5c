using CellWatch.Core.Statistics;
using Xunit;

namespace CellWatch.Core.Tests.Statistics;

// NIST StRD, univariate sets NumAcc1 to NumAcc4: certified mean and standard deviation.
public class RunningMomentsTests
{
    [Fact]
    public void NumAcc1() => Check([10000001, 10000003, 10000002], 10000002, 1, 1e-12);

    [Fact]
    public void NumAcc2() => Check(Alternating(1.2, 1.1, 1.3), 1.2, 0.1, 1e-12);

    [Fact]
    public void NumAcc3() => Check(Alternating(1000000.2, 1000000.1, 1000000.3), 1000000.2, 0.1, 1e-8);

    [Fact]
    public void NumAcc4() => Check(Alternating(10000000.2, 10000000.1, 10000000.3), 10000000.2, 0.1, 1e-7);

    [Fact]
    public void One_value_has_a_mean_and_no_spread()
    {
        var m = new RunningMoments();
        m.Add(5);
        Assert.Equal(5, m.Mean);
        Assert.True(double.IsNaN(m.Sigma));
    }

    private static IEnumerable<double> Alternating(double first, double low, double high) =>
        Enumerable.Repeat(new[] { low, high }, 500).SelectMany(p => p).Prepend(first);

    private static void Check(IEnumerable<double> values, double mean, double sigma, double tolerance)
    {
        var m = new RunningMoments();
        foreach (var v in values) m.Add(v);
        Assert.True(Math.Abs(m.Mean - mean) <= 1e-14 * mean, $"mean {m.Mean:R}");
        Assert.True(Math.Abs(m.Sigma - sigma) <= tolerance, $"sigma {m.Sigma:R}");
    }
}
