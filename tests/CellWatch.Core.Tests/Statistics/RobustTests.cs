using CellWatch.Core.Statistics;
using CsCheck;
using Xunit;

namespace CellWatch.Core.Tests.Statistics;

public class RobustTests
{
    // NIST/SEMATECH e-Handbook 1.3.5.17, data of Tietjen and Moore; battery-maths check 8.1.
    [Fact]
    public void Modified_scores_of_the_handbook_data_flag_the_last_value_only()
    {
        double[] values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];
        double[] expected = [-1.3965, -1.2473, -0.7999, -0.3728, 0.3728, 0.3932, 0.5491, 29.9627];
        var scores = new double[8];
        Robust.ModifiedZ(values, 0, scores);
        for (var i = 0; i < 8; i++) Assert.Equal(expected[i], scores[i], 4);
        Assert.Equal(201.37, Robust.Median(values), 10);
        Assert.Equal(0.995, Robust.Mad(values, 201.37, scores), 10);
        Assert.Equal([7], Enumerable.Range(0, 8).Where(i => Math.Abs(expected[i]) > Robust.OutlierScore));
    }

    // battery-maths check 8.2: twelve cells; the plain score of cell 8 is -3.165, next to its ceiling 3.175.
    [Fact]
    public void One_cell_of_twelve_stands_out_by_its_modified_score_but_not_by_three_sigma()
    {
        double[] cells = [3.7012, 3.7008, 3.7015, 3.7010, 3.7011, 3.7009, 3.7013, 3.6921, 3.7012, 3.7010, 3.7014, 3.7009];
        double[] expected = [0.674, -1.124, 2.023, -0.225, 0.225, -0.674, 1.124, -40.245, 0.674, -0.225, 1.574, -0.674];
        var scores = new double[12];
        Robust.ModifiedZ(cells, 1e-6, scores);
        for (var i = 0; i < 12; i++) Assert.Equal(expected[i], scores[i], 3);
        Assert.Equal(3.70105, Robust.Median(cells), 12);
        var moments = new RunningMoments();
        foreach (var c in cells) moments.Add(c);
        Assert.Equal(3.70036667, moments.Mean, 8);
        Assert.Equal(0.00261198, moments.Sigma, 8);
        Assert.Equal(0.000150, Robust.Mad(cells, 3.70105, scores), 9);
        Assert.Equal(-3.164908, (cells[7] - moments.Mean) / moments.Sigma, 6);
        Assert.Equal(3.175, 11 / Math.Sqrt(12), 3);
    }

    [Fact]
    public void The_resolution_is_the_floor_of_the_scale()
    {
        var scores = new double[4];
        Robust.ModifiedZ([3.7, 3.7, 3.7, 3.701], 0.001, scores);
        Assert.Equal(0.6745, scores[3], 9);
        Assert.Throws<ArgumentOutOfRangeException>(() => Robust.ModifiedZ(3.7, 3.7, 0, 0));
    }

    // Definition of the Hampel filter, defaults k = 3, n = 3; battery-maths check 8.3.
    [Fact]
    public void Hampel_replaces_the_centre_that_stands_out()
    {
        double[] values = [3.7010, 3.7012, 3.7011, 3.7150, 3.7013, 3.7012, 3.7011];
        var filtered = new double[7];
        Assert.Equal(1, Hampel.Filter(values, filtered));
        Assert.Equal(3.7012, filtered[3], 12);
        var (median, threshold) = Hampel.Threshold(values, 3, new double[7]);
        Assert.Equal(3.7012, median, 12);
        Assert.Equal(0.0004448, threshold, 7);
        Assert.Equal(0.000100, Robust.Mad(values, median, new double[7]), 9);
    }

    [Fact]
    public void The_median_equals_the_middle_of_the_sorted_values_for_any_set() =>
        Gen.Double[-1e3, 1e3].Array[1, 60].Sample(values =>
        {
            var sorted = values.Order().ToArray();
            var expected = (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]) / 2;
            return Math.Abs(Robust.Median(values) - expected) <= 1e-12 * Math.Max(1, Math.Abs(expected));
        }, iter: 2000, threads: 1);

    [Fact]
    public void A_constant_added_to_all_cells_leaves_the_scores() =>
        Gen.Select(Gen.Int[3000, 4200].Array[3, 30], Gen.Int[-500, 500]).Sample((mV, shift) =>
        {
            double[] before = new double[mV.Length], after = new double[mV.Length];
            Robust.ModifiedZ(Array.ConvertAll(mV, v => (double)v), 1, before);
            Robust.ModifiedZ(Array.ConvertAll(mV, v => (double)(v + shift)), 1, after);
            return before.SequenceEqual(after);
        }, iter: 1000, threads: 1);

    [Fact]
    public void An_empty_set_has_no_median() => Assert.True(double.IsNaN(Robust.Median([])));

    [Fact]
    public void Quantiles_interpolate_between_order_statistics()
    {
        Assert.Equal(2.5, Quantiles.Of([4, 1, 3, 2], 0.5));
        Assert.Equal(1.75, Quantiles.Of([4, 1, 3, 2], 0.25));
        Assert.Equal(4, Quantiles.Of([4, 1, 3, 2], 1));
    }
}
