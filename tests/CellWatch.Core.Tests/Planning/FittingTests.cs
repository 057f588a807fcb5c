using CellWatch.Core.Planning;

namespace CellWatch.Core.Tests.Planning;

public class FittingTests
{
    // battery-maths check 13.3: wheelbase 2.70 m, base 1140 kg with 55 % front, 120 kg at 0.90 m and 90 kg at 2.40 m.
    [Fact]
    public void Support_loads_by_moments_agree_with_the_worked_case()
    {
        PointMass[] modules = [new(120, 0.9, 0, 0), new(90, 2.4, 0, 0)];
        Assert.Equal(1.542857, CentreOfGravity.Of(modules).X, 6);
        var loads = new SupportLoads(0.55 * 1140, 0.45 * 1140).With(2.70, modules);
        Assert.Equal(633, loads.RearKg, 9);
        Assert.Equal(717, loads.FrontKg, 9);
        Assert.Equal(0.53111111, loads.FrontShare, 8);
    }

    // the-job section 8: a 0.5 kg swap over 2 m moves a 225 kg pack's centre by 4.4 mm.
    [Fact]
    public void A_swap_of_half_a_kilogram_over_two_metres_moves_the_centre_by_4_4_mm()
    {
        var before = CentreOfGravity.Of([new(12.5, 0, 0, 0), new(13.0, 2, 0, 0), new(199.5, 1, 0, 0)]);
        var after = CentreOfGravity.Of([new(13.0, 0, 0, 0), new(12.5, 2, 0, 0), new(199.5, 1, 0, 0)]);
        Assert.Equal(4.44, 1000 * (before.X - after.X), 2);
    }

    [Fact]
    public void Trim_and_list_follow_the_moments()
    {
        var boat = new BoatStability(3000, 25, 0.6, 3.0);
        var result = TrimAndList.From(boat, [new PointMass(100, 4, 0.5, 0), new PointMass(50, 2, -0.4, 0)]);
        Assert.Equal((100 * 1.0 - 50 * 1.0) / 25, result.TrimCm, 9);
        Assert.Equal(Math.Atan((50.0 - 20) / 1800) * 180 / Math.PI, result.ListDeg, 9);
    }

    [Fact]
    public void Before_and_after_a_plan_are_told_for_supports_and_for_a_boat()
    {
        // battery-maths check 13.3 again, with the front axle 0.5 m aft of the datum and nothing taken out.
        var view = BalanceView.Of(new Supports(0.5, 2.70, 0.55 * 1140, 0.45 * 1140), new BoatStability(3000, 25, 0.6, 3.0), [], [new(120, 1.4, 0, 0), new(90, 2.9, 0, 0)])!;
        Assert.Equal((627, 717), (view.Before!.Value.FrontKg, Math.Round(view.After!.Value.FrontKg, 9)));
        Assert.Equal("Front support 627 kg before, 717 kg after; rear 513 kg before, 633 kg after; front share 55.0 to 53.1 %.", view.Sentences[0]);
        // 120 kg 1.6 m and 90 kg 0.1 m forward of the centre of flotation: 201 kg m over 25 kg m a centimetre.
        Assert.StartsWith("Trim 0 cm before, 8.0 cm by the bow after; list 0 deg before, 0 deg after.", view.Sentences[1], StringComparison.Ordinal);
        Assert.Null(BalanceView.Of(null, null, [], []));
    }

    [Fact]
    public void What_is_taken_out_counts_before_and_after()
    {
        var boat = new BoatStability(3000, 25, 0.6, 3.0);
        var view = BalanceView.Of(null, boat, [new PointMass(100, 2, 0.1, 0)], [new PointMass(100, 2, 0.1, 0)])!;
        Assert.Equal(4, view.TrimBefore!.Value.TrimCm, 9);
        Assert.Equal((0, 0), (Math.Round(view.TrimAfter!.Value.TrimCm, 9), Math.Round(view.TrimAfter!.Value.ListDeg, 9)));
    }

    [Theory]
    [InlineData(2.7, 0, 0.2, null)]
    [InlineData(2.9, 0, 0.2, "2.900 m aft, is outside its permitted 2.60 to 2.80 m")]
    [InlineData(2.7, -0.05, 0.2, "50 mm to starboard, is outside its permitted 30 mm starboard to 30 mm port")]
    [InlineData(2.7, 0, 0.5, "0.500 m up, is outside its permitted 0.10 to 0.40 m")]
    public void A_centre_outside_its_permitted_box_is_a_conflict_in_words(double x, double y, double z, string? expected)
    {
        var outside = new CentreBox(2.60, 2.80, -0.03, 0.03, 0.10, 0.40).Outside(x, y, z);
        if (expected is null) Assert.Null(outside);
        else Assert.Contains(expected, outside, StringComparison.Ordinal);
    }

    [Fact]
    public void A_plan_whose_centre_is_not_permitted_has_that_conflict_and_the_target_is_the_middle_of_the_box()
    {
        var slots = new[] { new Slot(1, "fore", 1, 0, 0.2, 1, 0, true), new Slot(2, "aft", 3, 0, 0.2, 2, 1, true) };
        var candidates = new[] { new Candidate("B01", Core.Bench.Grade.A, 100, 6, 12, false), new Candidate("B02", Core.Bench.Grade.A, 100, 6, 14, false) };
        var task = new PlanTask(slots, candidates, new PlanWeights(), Permitted: new CentreBox(1.0, 2.0, -0.1, 0.1));
        Assert.Equal((1.5, 0), task.Target);
        Assert.Contains("2.077 m aft, is outside its permitted 1.00 to 2.00 m", Assert.Single(PlanScoring.Score(task, [0, 1]).Conflicts), StringComparison.Ordinal);
        Assert.Empty(PlanScoring.Score(task, [1, 0]).Conflicts);
        // The heavier one goes forward: the suggestion is the one that is permitted.
        Assert.Equal([1, 0], FittingSolver.Suggest(task).CandidateOfSlot);
    }

    [Fact]
    public void The_best_swap_of_two_is_the_permitted_one_with_the_lowest_score()
    {
        // The weak module sits in the warm slot, and two of three places are cool: it goes to the coolest, and the heavy one is not asked to move.
        var slots = new[] { new Slot(1, "fore", 1, 0, 0.2, 3, 6, true), new Slot(2, "fore", 1, 0, 0.2, 1, 0, true), new Slot(3, "fore", 1, 0, 0.2, 2, 2, true) };
        Candidate[] candidates = [new("B01", Core.Bench.Grade.A, 92, 7, 12, false), new("B02", Core.Bench.Grade.A, 100, 6, 12, false), new("B03", Core.Bench.Grade.A, 100, 6, 12, false)];
        var task = new PlanTask(slots, candidates, new PlanWeights());
        var swap = PlanScoring.BestSwap(task, [0, 1, 2])!.Value;
        Assert.Equal((0, 1), (swap.First, swap.Second));
        Assert.Equal(PlanScoring.Score(task, [1, 0, 2]).Total, swap.Score.Total, 12);
        Assert.True(swap.Score.Total < PlanScoring.Score(task, [2, 1, 0]).Total);
        // Where every exchange breaks a constraint there is none to offer, and none with one slot filled.
        var bound = candidates.Select(c => c.Identity == "B01" ? c with { Grade = Core.Bench.Grade.B } : c).ToArray();
        Assert.Null(PlanScoring.BestSwap(task with { Candidates = bound, Slots = [slots[0], slots[1] with { Reachable = false }] }, [0, 1]));
        Assert.Null(PlanScoring.BestSwap(task, [0, -1, -1]));
    }

    [Fact]
    public void The_third_module_is_the_step_over_60_V_and_modules_alternate()
    {
        var slots = Enumerable.Range(1, 6).Select(i => new Slot(i, "fore", 0.3 * i, 0, 0, i, i, true)).ToList();
        var chain = PolarityChain.Of(slots, 0.2, 25.2, 0.35);
        Assert.Equal(2, chain.Over60VAtJoint);
        Assert.Contains(chain.Cautions, c => c.Contains("75.6 V, over 60 V DC", StringComparison.Ordinal));
        for (var i = 1; i < 6; i++) Assert.NotEqual(chain.Turned[i - 1], chain.Turned[i]);
        Assert.All(chain.Links, l => Assert.Equal(0.3, l.LengthM, 9));
        Assert.Equal(50.4, chain.Neighbours[0].HighestV, 9);
        Assert.Contains(chain.Cautions, c => c.Contains("mirror", StringComparison.Ordinal));
    }

    [Fact]
    public void The_jump_between_the_boxes_is_the_longest_link()
    {
        Slot[] slots = [.. Enumerable.Range(1, 12).Select(i => new Slot(i, "fore", 0.3 * i, 0, 0, i, i, true)), .. Enumerable.Range(13, 6).Select(i => new Slot(i, "aft", 6 + 0.3 * (i - 13), 0, 0, i, i, true))];
        var chain = PolarityChain.Of(slots, 0.2, 25.2, 0.35);
        var jump = Assert.Single(chain.Links, l => l.IsJump);
        Assert.Equal((12, 13), (jump.FromSlot, jump.ToSlot));
        Assert.Equal(jump.LengthM, chain.LongestM);
    }

    [Fact]
    public void A_joint_more_than_half_above_the_lowest_like_it_is_redone()
    {
        Joint[] joints = [Done(1, 8.0), Done(2, 11.9), Done(3, 12.1), Done(4, 9) with { RiseK = null }];
        var states = JointSheet.Judge(joints);
        Assert.Equal([true, true, false, false], states.Select(s => s.Done));
        Assert.True(states[2].Redo);
        Assert.Contains("51 % above the lowest", states[2].Sentence, StringComparison.Ordinal);
        Assert.Contains("thermal picture", states[3].Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Pre_balance_starts_with_the_longest_job()
    {
        // 2 % of 110 Ah at 2 A: 1.1 h.
        var plan = PreBalancePlan.Of([new("B01.1", 95, 110), new("B01.2", 93, 110), new("B01.3", 94, 110), new("B01.4", 94.8, 110)], null, 2, 0.124, 1);
        Assert.Equal(["B01.2", "B01.3"], plan.Jobs.Select(j => j.Cell));
        Assert.Equal(1.1, plan.Jobs[0].Hours, 9);
        Assert.Equal(1.65, plan.DoneAfterHours, 9);
    }

    [Fact]
    public void One_percent_bled_through_33_ohm_takes_nine_hours()
    {
        // the-job 0.8: 1.1 Ah at 124 mA takes 8.9 h.
        var plan = PreBalancePlan.Of([new("B01.1", 96, 110), new("B01.2", 95, 110)], 95, 2, 0.1242, 1);
        Assert.Equal(-1.1, plan.Jobs[0].ChargeAh, 9);
        Assert.Equal(8.86, plan.Jobs[0].Hours, 2);
    }

    [Fact]
    public void A_supply_on_the_wrong_cell_or_left_on_raises_an_alarm()
    {
        var job = new PreBalanceJob("B01.2", 1.0);
        Assert.Null(job.Alarm(0.5, new Dictionary<string, double> { ["B01.2"] = 0.006, ["B01.3"] = 0.001 }));
        Assert.Contains("B01.3 moves", job.Alarm(0.5, new Dictionary<string, double> { ["B01.2"] = 0.006, ["B01.3"] = 0.008 })!, StringComparison.Ordinal);
        Assert.Contains("does not move", job.Alarm(0.5, new Dictionary<string, double> { ["B01.2"] = 0 })!, StringComparison.Ordinal);
        Assert.Contains("switch the supply off", job.Alarm(1.3, new Dictionary<string, double> { ["B01.2"] = 0.006 })!, StringComparison.Ordinal);
        Assert.Equal(0.5, job.HoursLeft(2, 1.0, 0.5), 9);
    }

    private static Joint Done(int number, double microOhm) => new(number, $"joint {number}", "M8", 12, true, true, true, microOhm, 1, "L1");
}
