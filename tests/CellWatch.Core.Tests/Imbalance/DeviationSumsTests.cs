using CellWatch.Core.Imbalance;

namespace CellWatch.Core.Tests.Imbalance;

public sealed class DeviationSumsTests
{
    /// <summary>Check 9.1 of the battery-maths reference: made with A = -0.30 Ah, B = 0.04, D = -0.002 A, dR = 0.15 mOhm.</summary>
    [Fact]
    public void The_four_signatures_come_back_as_they_were_put_in()
    {
        (double Q, double T, double I, double G, double Dv)[] rows =
        [
            (0, 0, 0, 0.018, -0.005400000), (5, 1, 25, 0.014, 0.002322000), (12, 2, 25, 0.01, 0.005510000), (20, 4, -20, 0.009, 0.001428000),
            (28, 8, 50, 0.012, 0.017148000), (33, 30, 0, 0.016, 0.015360000), (40, 40, -40, 0.022, 0.020840000), (45, 60, 10, 0.03, 0.042900000),
        ];
        var sums = default(DeviationSums);
        foreach (var r in rows) sums.Add(r.Q, r.T, r.I / r.G, r.Dv / r.G, r.G * r.G);
        Span<double> value = stackalloc double[4];
        Span<double> sigma = stackalloc double[4];
        Assert.True(sums.TrySolve(true, true, value, sigma));
        Assert.Equal(-0.30, value[0], 6);
        Assert.Equal(0.04, value[1], 6);
        Assert.Equal(-0.002, value[2], 6);
        Assert.Equal(0.00015, value[3], 6);
        Assert.Equal(48.076923, 50 / (1 + value[1]), 5);
    }

    [Fact]
    public void Columns_that_cannot_be_told_apart_are_refused()
    {
        var sums = default(DeviationSums);
        for (var i = 0; i < 20; i++) sums.Add(i, 2 * i, 0.1 * i, 0.01 * i, 1);
        Assert.False(sums.TrySolve(true, true, stackalloc double[4], stackalloc double[4]));
    }
}
