using CellWatch.Core.Estimation;
using CellWatch.Core.Tests.Statistics;
using Xunit;

namespace CellWatch.Core.Tests.Estimation;

/// <summary>battery-maths 7; the recursion after Plett, J. Power Sources 196 (2011) 2319, checked there against a public implementation.</summary>
public class CapacityFitTests
{
    private static readonly double[] X = [0.40, -0.30, 0.55, -0.62, 0.25];
    private static readonly double[] Y = [19.5, -14.4, 26.2, -30.4, 12.2];

    // Check 7.1.
    [Fact]
    public void With_a_constant_ratio_the_recursion_equals_total_least_squares()
    {
        double[] sigmaY = [0.2, 0.2, 0.2, 0.2, 0.2];
        var weighted = CapacityFit.Weighted(X, Y, sigmaY);
        Close.Relative(48.4570742445, weighted.CapacityAh, 1e-11);
        Assert.Equal(0.20006003, weighted.SigmaAh, 8);
        Close.Relative(48.4636167697, CapacityFit.Total(X, Y, sigmaY, 0.05).CapacityAh, 1e-11);

        var recursive = new RecursiveCapacity();
        for (var i = 0; i < X.Length; i++) recursive.Add(X[i], Y[i], 0.01, 0.2);
        var estimate = recursive.Estimate()!.Value;
        Close.Relative(48.4636167697, estimate.CapacityAh, 1e-11);
        Assert.Equal(0.52447533, estimate.SigmaAh, 8);
        var c = recursive.Sums;
        double[] sums = [c.C1, c.C2, c.C3, c.C4, c.C5, c.C6];
        double[] expected = [9994, 24214, 58676.25, 9994, 24214, 58676.25];
        for (var i = 0; i < 6; i++) Close.Relative(expected[i], sums[i]);
    }

    // Check 7.2.
    [Fact]
    public void With_deviations_that_differ_it_gives_the_approximate_answer()
    {
        double[] sigmaX = [0.010, 0.012, 0.008, 0.010, 0.020], sigmaY = [0.20, 0.15, 0.30, 0.35, 0.10];
        var recursive = new RecursiveCapacity();
        for (var i = 0; i < X.Length; i++) recursive.Add(X[i], Y[i], sigmaX[i], sigmaY[i]);
        var estimate = recursive.Estimate()!.Value;
        Close.Relative(48.3507979120, estimate.CapacityAh, 1e-11);
        Assert.Equal(0.50877869, estimate.SigmaAh, 8);
        var c = recursive.Sums;
        double[] sums = [c.C1, c.C2, c.C3, c.C4, c.C5, c.C6];
        double[] expected = [8299.628118, 20119.44671, 48777.52438, 10951.8125, 26463.0625, 63954.5625];
        for (var i = 0; i < 6; i++) Close.Relative(expected[i], sums[i], 1e-9);
        Close.Relative(48.4827667606, CapacityFit.Weighted(X, Y, sigmaY).CapacityAh, 1e-11);
    }

    // Check 7.2, last figures: the exact answer by direct minimisation, from which the recursion differs a little.
    [Fact]
    public void The_exact_weighted_answer_lies_within_a_hundredth_of_the_recursion()
    {
        double[] sigmaX = [0.010, 0.012, 0.008, 0.010, 0.020], sigmaY = [0.20, 0.15, 0.30, 0.35, 0.10];
        double Cost(double q) => Enumerable.Range(0, 5).Sum(i => (Y[i] - q * X[i]) * (Y[i] - q * X[i]) / (q * q * sigmaX[i] * sigmaX[i] + sigmaY[i] * sigmaY[i]));
        double low = 40, high = 60;
        while (high - low > 1e-9)
        {
            double a = low + (high - low) / 3, b = high - (high - low) / 3;
            if (Cost(a) < Cost(b)) high = b;
            else low = a;
        }

        Assert.Equal(48.358823, low, 5);
        var recursive = new RecursiveCapacity();
        for (var i = 0; i < X.Length; i++) recursive.Add(X[i], Y[i], sigmaX[i], sigmaY[i]);
        Assert.Equal(low, recursive.Estimate()!.Value.CapacityAh, 0.01);
    }

    // Check 7.1, first row: the sums without scale.
    [Fact]
    public void Sums_without_scale()
    {
        Assert.Equal(24.985, X.Sum(x => x * x) / 0.04, 9);
        Assert.Equal(1210.7, X.Zip(Y, (x, y) => x * y).Sum() / 0.04, 9);
        Assert.Equal(58676.25, Y.Sum(y => y * y) / 0.04, 9);
    }

    [Fact]
    public void A_nominal_start_is_the_answer_until_pairs_come()
    {
        var recursive = RecursiveCapacity.FromNominal(110, 0.02, 1);
        Close.Relative(110, recursive.Estimate()!.Value.CapacityAh, 1e-12);
        Assert.Equal(0, recursive.Count);
        for (var i = 0; i < 50; i++) recursive.Add(0.5, 50, 0.01, 0.2);
        Assert.InRange(recursive.Estimate()!.Value.CapacityAh, 100, 101);
        Assert.Null(new RecursiveCapacity().Estimate());
    }
}
