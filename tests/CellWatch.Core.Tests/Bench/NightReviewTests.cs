using CellWatch.Core.Bench;
using CellWatch.Core.Tests.Proofs;

namespace CellWatch.Core.Tests.Bench;

public class NightReviewTests
{
    private const int Offset = 3, Weak = 20, Leaking = 40, Stuck = 60;
    private static readonly NightRules Rules = new();
    private static readonly string[] Names = [.. Enumerable.Range(0, 108).Select(SomePack.Map.NameOf)];

    [Fact]
    public void Seven_nights_and_one_discharge_tell_four_causes_apart()
    {
        var (nights, low) = Week(seed: 4);
        var review = NightReview.Of(Names, nights, low, Rules);
        NightCell Cell(int c) => review.Cells.Single(x => x.Cell == Names[c]);
        Assert.Equal(NightCause.ChargeOffset, Cell(Offset).Cause);
        Assert.Equal(NightCause.LowCapacity, Cell(Weak).Cause);
        Assert.Equal(NightCause.Leak, Cell(Leaking).Cause);
        Assert.Equal(NightCause.BleedStuckOn, Cell(Stuck).Cause);
        Assert.Equal(4, review.Cells.Count);
        Assert.NotNull(Cell(Offset).NightsLeft);
        Assert.All(review.Cells.Where(c => c.Cell != Names[Offset]), c => Assert.Null(c.NightsLeft));
        Assert.All(review.Cells, c => Assert.NotEmpty(c.Evidence));
        Assert.Contains("101", Cell(Weak).Evidence, StringComparison.Ordinal);
        Assert.Contains("lead-drop test", Cell(Stuck).DecidingTest, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(5)]
    [InlineData(6)]
    public void The_causes_hold_under_other_noise(int seed)
    {
        var (nights, low) = Week(seed);
        var review = NightReview.Of(Names, nights, low, Rules);
        Assert.Equal(NightCause.Leak, review.Cells.Single(x => x.Cell == Names[Leaking]).Cause);
        Assert.Equal(NightCause.BleedStuckOn, review.Cells.Single(x => x.Cell == Names[Stuck]).Cause);
        Assert.DoesNotContain(review.Cells, c => c.Cause == NightCause.Leak && c.Cell != Names[Leaking]);
    }

    [Fact]
    public void One_night_leaves_leak_and_low_capacity_undecided_with_the_deciding_test()
    {
        var (nights, _) = Week(seed: 4);
        var review = NightReview.Of(Names, [nights[0]], null, Rules);
        var weak = review.Cells.Single(c => c.Cell == Names[Weak]);
        Assert.Equal(NightCause.Undecided, weak.Cause);
        Assert.Contains("one rest below 50 %", weak.DecidingTest, StringComparison.Ordinal);
        var leaking = review.Cells.Single(c => c.Cell == Names[Leaking]);
        Assert.Equal(NightCause.Undecided, leaking.Cause);
        Assert.Contains("5 mA in one night is 0.05 Ah, below the noise", leaking.DecidingTest, StringComparison.Ordinal);
    }

    [Fact]
    public void Figures_are_withheld_when_the_temperature_differs_or_the_pack_was_not_at_rest()
    {
        var (nights, low) = Week(seed: 4);
        var warm = nights[^1] with { After = new RestConditions(true, 60, 26) };
        Assert.Contains("withheld", NightReview.Of(Names, [.. nights[..^1], warm], low, Rules).Sentence, StringComparison.Ordinal);
        Assert.Empty(NightReview.Of(Names, [.. nights[..^1], nights[^1] with { Before = new RestConditions(false, 60, 20) }], low, Rules).Cells);
    }

    [Fact]
    public void A_hole_in_the_record_is_named_and_widens_the_doubt()
    {
        var (nights, low) = Week(seed: 4);
        var holed = nights[^1] with { IntegratedAh = [.. nights[^1].IntegratedAh.Select(_ => double.NaN)], Gaps = ["02:00-05:00, host asleep"] };
        var review = NightReview.Of(Names, [.. nights[..^1], holed], low, Rules);
        Assert.Contains("02:00-05:00, host asleep; charge removed in them is not known", review.Sentence, StringComparison.Ordinal);
        Assert.DoesNotContain(review.Cells, c => c.Cause == NightCause.Leak);
    }

    /// <summary>
    /// Seven nights of 8.5 h, a day apart, from charge balances: one cell 8 Ah too full, one with 8 % less capacity, one that leaks 5 mA all day,
    /// one whose bleed stays on. The weak cell starts 0.3 Ah low, the leaking one 0.25 Ah.
    /// </summary>
    private static (NightRecord[] Nights, LowReading Low) Week(int seed)
    {
        var noise = new Noise(seed);
        var rules = new NightRules();
        var trueAh = new double[108];
        trueAh[Offset] = 8;
        trueAh[Weak] = -0.3;
        trueAh[Leaking] = -0.25;
        var nights = new NightRecord[7];
        double[] Read() => [.. trueAh.Select(a => a + 0.02 * noise.Next())];
        for (var n = 0; n < 7; n++)
        {
            var before = Read();
            var planned = new double[108];
            planned[Offset] = Math.Min(1.02, Math.Max(0, trueAh[Offset]));
            for (var c = 0; c < 108; c++) trueAh[c] -= planned[c];
            trueAh[Leaking] -= 0.005 * 8.5;
            trueAh[Stuck] -= 0.122 * 8.5;
            var after = Read();
            nights[n] = new NightRecord(
                8.5, 24 * n + 8.5, before, after, planned, [.. planned.Select(p => 0.98 * p)], new RestConditions(true, 60, 19.8), new RestConditions(true, 60, 18.9), [], 45);
            trueAh[Leaking] -= 0.005 * 15.5;
            trueAh[Stuck] -= 0.122 * 15.5;
        }

        // Down by 66 Ah: usual cells at 40 %, the weak one (101.2 Ah) lower by 66/101.2 - 66/110.
        var low = (double[])[.. nights[^1].AfterAh.Select((a, c) => a + (c == Weak ? -(66 / 101.2 - 66.0 / 110) * 110 : 0) + 0.02 * noise.Next())];
        return (nights, new LowReading(low, 66, 110, 40));
    }
}
