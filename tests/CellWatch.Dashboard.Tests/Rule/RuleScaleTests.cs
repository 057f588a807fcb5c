using CellWatch.Dashboard.Rule;
using Xunit;

namespace CellWatch.Dashboard.Tests.Rule;

public sealed class RuleScaleTests
{
    private static readonly RuleScale Scale = RuleScale.Voltage;

    private static double Reach(params double[] deviations) => Scale.Steps[Scale.Fit(deviations)];

    [Fact]
    public void A_level_pack_takes_the_finest_step() => Assert.Equal(5, Reach(0.4, 1.2, 4.9, 3.1));

    [Fact]
    public void A_deviation_on_the_step_still_fits_it() => Assert.Equal(10, Reach(10, 2, 1, 0.5));

    [Fact]
    public void Nothing_known_takes_the_finest_step() => Assert.Equal(0, Scale.Fit([]));

    [Fact]
    public void One_cell_some_way_out_is_kept_on_the_scale() => Assert.Equal(25, Reach(18, 3, 2, 1, 4));

    [Fact]
    public void One_cell_far_out_does_not_flatten_the_rest() => Assert.Equal(25, Reach(212, 3, 2, 1, 4));

    [Fact]
    public void Three_cells_far_out_are_not_an_exception_any_more() => Assert.Equal(250, Reach(212, 210, 190, 1, 4));

    [Fact]
    public void A_deviation_beyond_the_last_step_takes_the_last_one() => Assert.Equal(250, Reach(900, 800, 700, 650));

    [Fact]
    public void The_scale_grows_at_once()
    {
        double? since = null;
        Assert.Equal(2, Scale.Next(0, [18, 16, 17, 4], ref since, 100));
    }

    [Fact]
    public void The_scale_shrinks_only_after_ten_seconds_in_which_the_smaller_one_was_enough()
    {
        double? since = null;
        Assert.Equal(2, Scale.Next(2, [4, 3, 2], ref since, 100));
        Assert.Equal(2, Scale.Next(2, [4, 3, 2], ref since, 109.9));
        Assert.Equal(0, Scale.Next(2, [4, 3, 2], ref since, 110));
    }

    [Fact]
    public void A_mark_near_the_smaller_edge_keeps_the_larger_scale()
    {
        double? since = null;
        Assert.Equal(2, Scale.Next(2, [9.5, 9.2, 9.4], ref since, 0));
        Assert.Equal(2, Scale.Next(2, [9.5, 9.2, 9.4], ref since, 60));
        Assert.Null(since);
    }

    [Fact]
    public void A_return_to_the_larger_range_starts_the_ten_seconds_anew()
    {
        double? since = null;
        Scale.Next(2, [4, 3, 2], ref since, 100);
        Scale.Next(2, [20, 21, 19], ref since, 105);
        Assert.Equal(2, Scale.Next(2, [4, 3, 2], ref since, 111));
        Assert.Equal(0, Scale.Next(2, [4, 3, 2], ref since, 121));
    }
}
