using CellWatch.Core.Bench;
using CellWatch.Testing;

namespace CellWatch.Core.Tests.Bench;

public class GradingTests
{
    private static readonly EvidenceLink Link = new("run 1", new DateTimeOffset(2026, 2, 1, 0, 0, 0, TimeSpan.Zero));

    [Fact]
    public void The_sheet_says_what_it_is_not() => Assert.Equal(
        "Method and limits: own, listed below. Not an evaluation to UL 1974 or IEC 63330. Grades describe used modules; A = no limits found.",
        Grading.Judge([Good("B01")], new GradeLimits(), "0.1.0").Statement);

    [Fact]
    public void A_weak_group_makes_a_B_decided_by_capacity_with_its_limit_named()
    {
        var modules = Enumerable.Range(1, 18).Select(i => Good($"B{i:00}")).ToList();
        modules[6] = Good("B07") with { Capacity = new CapacityEvidence([new(103.6, 0.6), new(103.1, 0.6), new(96.1, 0.6), new(103.8, 0.6), new(103.2, 0.6), new(103.9, 0.6)], 24, true, Link) };
        var card = Grading.Judge(modules, new GradeLimits(), "0.1.0").Cards[6];
        Assert.Equal((Grade.B, "capacity"), (card.Grade, card.DecidedBy));
        var line = card.Lines.Single(l => l.Criterion == "capacity");
        Assert.Equal("siblingScore", line.Setting);
        Assert.Contains("7 % below siblings", line.Remark, StringComparison.Ordinal);
        Assert.True(card.LimitingProbability > 0.999);
    }

    [Fact]
    public void A_leak_rejects_however_good_the_rest_is()
    {
        var bad = Good("B02") with { Rest = new RestEvidence(3, 5.7, 0.2, 0.4, false, false, Link) };
        var card = Grading.Judge([Good("B01"), bad, Good("B03")], new GradeLimits(), "0.1.0").Cards[1];
        Assert.Equal((Grade.R, "rest test"), (card.Grade, card.DecidedBy));
    }

    [Theory]
    [InlineData("rest test")]
    [InlineData("capacity")]
    [InlineData("resistance")]
    [InlineData("isolation")]
    [InlineData("inspection")]
    public void A_missing_test_gives_no_grade(string criterion)
    {
        var m = Good("B01");
        m = criterion switch
        {
            "rest test" => m with { Rest = null },
            "capacity" => m with { Capacity = null },
            "resistance" => m with { Resistance = null },
            "isolation" => m with { Isolation = null },
            _ => m with { Inspection = null },
        };
        var card = Grading.Judge([m, Good("B02"), Good("B03")], new GradeLimits(), "0.1.0").Cards[0];
        Assert.Equal((Grade.None, criterion), (card.Grade, card.DecidedBy));
    }

    [Theory]
    [InlineData(87.9, Grade.B)]
    [InlineData(88.1, Grade.A)]
    [InlineData(77.1, Grade.B)]
    [InlineData(76.9, Grade.R)]
    public void Health_limits_of_80_and_70_percent_of_110_decide(double ah, Grade grade)
    {
        var modules = new[] { "B01", "B02", "B03" }.Select(id => Good(id) with { Capacity = new CapacityEvidence([.. Enumerable.Repeat(new Uncertain(ah, 0.5), 6)], 24, true, Link) }).ToList();
        Assert.All(Grading.Judge(modules, new GradeLimits(), "0.1.0").Cards, c => Assert.Equal(grade, c.Grade));
    }

    [Theory]
    [InlineData(1.24, Grade.A)]
    [InlineData(1.30, Grade.B)]
    [InlineData(1.55, Grade.C)]
    public void Resistance_is_judged_against_the_sibling_median(double ratio, Grade grade)
    {
        var modules = Enumerable.Range(1, 9).Select(i => Good($"B{i:00}")).ToList();
        modules[4] = Good("B05") with { Resistance = new ResistanceEvidence([1.07, 1.07, 1.07 * ratio, 1.07, 1.07, 1.07], [.75, .75, .75 * ratio, .75, .75, .75], 24, 50, Link) };
        Assert.Equal(grade, Grading.Judge(modules, new GradeLimits(), "0.1.0").Cards[4].Grade);
    }

    [Fact]
    public void A_dropped_parallel_cell_is_rejected()
    {
        var modules = Enumerable.Range(1, 9).Select(i => Good($"B{i:00}")).ToList();
        modules[4] = Good("B05") with
        {
            Capacity = new CapacityEvidence([.. Enumerable.Range(0, 6).Select(g => new Uncertain(g == 2 ? 80 : 103.4, 0.5))], 24, true, Link),
            Resistance = new ResistanceEvidence([1.07, 1.07, 2.2, 1.07, 1.07, 1.07], [.75, .75, 1.55, .75, .75, .75], 24, 50, Link),
        };
        // 80 of 103 Ah is not half: the resistance alone makes it C, not R.
        Assert.Equal(Grade.C, Grading.Judge(modules, new GradeLimits(), "0.1.0").Cards[4].Grade);
        modules[4] = modules[4] with { Capacity = new CapacityEvidence([.. Enumerable.Range(0, 6).Select(g => new Uncertain(g == 2 ? 53 : 103.4, 0.5))], 24, true, Link) };
        Assert.Equal(Grade.R, Grading.Judge(modules, new GradeLimits(), "0.1.0").Cards[4].Grade);
    }

    [Fact]
    public void A_test_at_another_temperature_is_not_compared()
    {
        var modules = Enumerable.Range(1, 9).Select(i => Good($"B{i:00}")).ToList();
        modules[4] = modules[4] with { Capacity = modules[4].Capacity! with { TemperatureDegC = 12 } };
        Assert.Equal(Grade.None, Grading.Judge(modules, new GradeLimits(), "0.1.0").Cards[4].Grade);
    }

    [Fact]
    public void A_regrade_shows_what_changed_and_the_old_sheet_keeps_its_limits()
    {
        var modules = new[] { "B01", "B02", "B03" }.Select(id => Good(id) with { Capacity = new CapacityEvidence([.. Enumerable.Repeat(new Uncertain(90, 0.5), 6)], 24, true, Link) }).ToList();
        var before = Grading.Judge(modules, new GradeLimits(), "0.1.0");
        var after = Grading.Judge(modules, new GradeLimits { HealthAcceptPercent = 85 }, "0.1.0");
        var difference = GradeDifference.Between(before, after);
        Assert.Equal("healthAcceptPercent", Assert.Single(difference.Limits).Before.Name);
        Assert.Equal(3, difference.Modules.Count);
        Assert.All(difference.Modules, m => Assert.Equal((Grade.A, Grade.B), (m.Before, m.After)));
        Assert.NotEqual(before.Fingerprint, after.Fingerprint);
        Assert.Equal(80, before.Limits.Single(l => l.Name == "healthAcceptPercent").Value);
    }

    [Fact]
    public void A_spare_cannot_limit_the_pack()
    {
        var weak = Good("B19") with { Capacity = new CapacityEvidence([.. Enumerable.Repeat(new Uncertain(90, 0.5), 6)], 24, true, Link) };
        var sheet = Grading.Judge([Good("B01"), Good("B02"), weak], new GradeLimits(), "0.1.0", inPack: new HashSet<string> { "B01", "B02" });
        Assert.True(double.IsNaN(sheet.Cards[2].LimitingProbability));
        Assert.Equal(1, sheet.Cards[0].LimitingProbability + sheet.Cards[1].LimitingProbability, 12);
    }

    [Fact]
    public void Equal_modules_are_equally_likely_to_limit_and_the_seed_repeats_the_sheet()
    {
        var modules = Enumerable.Range(0, 4).Select(_ => (IReadOnlyList<Uncertain>)[.. Enumerable.Repeat(new Uncertain(100, 0.5), 6)]).ToList();
        var chance = LimitingModule.Probabilities(modules, 10_000, 3);
        // Binomial: one standard deviation of 1/4 in 10,000 draws is 0.43 %; five are allowed.
        Assert.All(chance, p => Assert.InRange(p, 0.25 - 0.0217, 0.25 + 0.0217));
        Assert.Equal(chance, LimitingModule.Probabilities(modules, 10_000, 3));
        Assert.Equal(1, chance.Sum(), 12);
    }

    [Fact]
    public void Two_groups_one_sigma_apart_limit_as_the_normal_distribution_says()
    {
        // P(X1 < X2) with means 100 and 101, sigma 1 each: Phi(1/sqrt(2)) = 0.7602 (standard normal table).
        var chance = LimitingModule.Probabilities([[new Uncertain(100, 1)], [new Uncertain(101, 1)]], 40_000, 11);
        Assert.Equal(0.7602, chance[0], 0.011);
    }

    [Fact]
    public void Normal_draws_have_mean_0_and_deviation_1()
    {
        var draws = new SeededDraws(42);
        var values = Enumerable.Range(0, 100_000).Select(_ => draws.Normal()).ToList();
        Assert.Equal(0, values.Average(), 0.016);
        Assert.Equal(1, Math.Sqrt(values.Average(v => v * v)), 0.012);
    }

    // Retired cells of a public set: order of capacity is recovered, and the counts below 80 and 70 % agree with the source's.
    [SharedTheory("data/retired_cells_pulse_LMO10Ah.csv")]
    [InlineData("retired_cells_pulse_LMO10Ah.csv", 3, 83, 30, 25)]
    [InlineData("retired_cells_pulse_NMC21Ah.csv", 2, 11, 1, 0)]
    public void Retired_cells_are_graded_in_the_order_of_their_capacity(string file, int weakest, int strongest, int below80, int below70)
    {
        var csv = new MeasuredCsv(file);
        var cells = csv["cell_no"].Zip(csv["measured_Ah"], csv["nominal_Ah"]).DistinctBy(c => c.First).ToList();
        var modules = cells.Select(c => Good($"C{c.First:000}") with { Capacity = new CapacityEvidence([new Uncertain(c.Second, 0.005 * c.Second)], 25, true, Link) }).ToList();
        var limits = new GradeLimits { RatedGroupAh = cells[0].Third, SiblingScore = 1e9, CapacityResolutionAh = 0.05 };
        var sheet = Grading.Judge(modules, limits, "0.1.0");
        Assert.Equal($"C{weakest:000}", sheet.Cards.MaxBy(c => c.LimitingProbability)!.Identity);
        Assert.Equal(below70, sheet.Cards.Count(c => c.Grade == Grade.R));
        Assert.Equal(below80 - below70, sheet.Cards.Count(c => c.Grade == Grade.B));
        var best = modules.MaxBy(m => m.Capacity!.GroupAh[0].Value)!.Identity;
        Assert.Equal($"C{strongest:000}", best);
    }

    private static ModuleEvidence Good(string identity) => new(
        identity, "", new InspectionEvidence(Verdict.Accept, "no marks", Link), new RestEvidence(1, 0.1, 0.4, 0.8, false, false, Link),
        new CapacityEvidence([.. Enumerable.Repeat(new Uncertain(103.4, 0.6), 6)], 24, true, Link),
        new ResistanceEvidence([.. Enumerable.Repeat(1.07, 6)], [.. Enumerable.Repeat(0.75, 6)], 24, 50, Link), new IsolationEvidence(50, Link));
}
