using CellWatch.Core.Bench;
using CellWatch.Core.Planning;
using CellWatch.Core.Register;

namespace CellWatch.Core.Tests.Planning;

public class FittingSolverTests
{
    [Theory]
    [InlineData(1UL)]
    [InlineData(2UL)]
    [InlineData(3UL)]
    [InlineData(4UL)]
    [InlineData(5UL)]
    public void Eighteen_from_twenty_four_lie_within_one_percent_of_a_proven_bound(ulong seed)
    {
        var task = Large(seed);
        var suggestion = FittingSolver.Suggest(task);
        Assert.Empty(suggestion.Score.Conflicts);
        Assert.Equal(18, suggestion.CandidateOfSlot.Distinct().Count());
        Assert.True(suggestion.LowerBound <= suggestion.Score.Total + 1e-9);
        Assert.True(suggestion.GapPercent <= 1, $"gap {suggestion.GapPercent:0.000} %");
    }

    [Theory]
    [InlineData(11UL)]
    [InlineData(12UL)]
    [InlineData(13UL)]
    public void The_bound_never_lies_above_the_exact_optimum_of_a_small_set(ulong seed)
    {
        // Seven slots go through the bound; brute force over all plans is the independent answer.
        var large = Large(seed);
        var task = large with { Slots = [.. large.Slots.Take(7)], Candidates = [.. large.Candidates.Where(c => c.Grade != Grade.R).Take(8)] };
        var suggestion = FittingSolver.Suggest(task);
        var best = Brute(task);
        Assert.False(suggestion.Exact);
        Assert.True(suggestion.LowerBound <= best + 1e-6, $"bound {suggestion.LowerBound} optimum {best}");
        Assert.InRange(suggestion.Score.Total, best - 1e-9, best * 1.01);
    }

    [Fact]
    public void A_small_set_is_solved_exactly()
    {
        var large = Large(21);
        var task = large with { Slots = [.. large.Slots.Take(5)], Candidates = [.. large.Candidates.Where(c => c.Grade != Grade.R).Take(7)] };
        var suggestion = FittingSolver.Suggest(task);
        Assert.True(suggestion.Exact);
        Assert.Equal(Brute(task), suggestion.Score.Total, 9);
        Assert.Equal(0, suggestion.GapPercent);
    }

    [Fact]
    public void The_suggestion_is_never_worse_than_a_manual_plan_in_order()
    {
        var task = Large(6);
        var manual = task.Slots.Select((_, i) => i).ToArray();
        var score = PlanScoring.Score(task, manual);
        Assert.True(FittingSolver.Suggest(task).Score.Total <= score.Total);
    }

    [Fact]
    public void Broken_constraints_of_a_manual_plan_are_said_in_words()
    {
        Slot[] slots = [new(1, "fore", 0, 0, 0, 1, 0, true), new(2, "fore", 0.3, 0, 0, 9, 5, false), new(3, "fore", 0.6, 0, 0, 2, 1, true)];
        Candidate[] candidates = [new("B07", Grade.B, 96, 6.5, 12.5, true), new("B08", Grade.R, 60, 12, 12.4, false), new("B09", Grade.A, 103, 6.4, 12.6, false)];
        var conflicts = PlanScoring.Score(new PlanTask(slots, candidates, new PlanWeights()), [1, 0, -1]).Conflicts;
        Assert.Contains("B08 is grade R and is never placed", conflicts);
        Assert.Contains(conflicts, c => c.Contains("B07 is grade B and must be reachable", StringComparison.Ordinal));
        Assert.Contains("slot 3 is empty", conflicts);
    }

    [Fact]
    public void Too_few_usable_modules_are_refused_with_the_count()
    {
        var task = Large(1);
        var refused = Assert.Throws<RefusedException>(() => FittingSolver.Suggest(task with { Candidates = [.. task.Candidates.Take(15)] }));
        Assert.Contains("18 slots need as many modules of grade A or B", refused.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void The_weakest_module_goes_into_a_cool_slot()
    {
        var task = Large(1);
        var suggestion = FittingSolver.Suggest(task);
        var slotOfCool = suggestion.CandidateOfSlot.Select((c, s) => (task.Candidates[c], task.Slots[s])).Where(p => p.Item1.CoolestOnly).ToList();
        Assert.All(slotOfCool, p => Assert.True(p.Item2.CoolingRank <= task.Weights.CoolestRanks));
    }

    internal static PlanTask Large(ulong seed)
    {
        var draw = new SeededDraws(seed);
        var slots = Enumerable.Range(0, 18).Select(i =>
        {
            var fore = i < 12;
            int row = (fore ? i : i - 12) / 3, column = (fore ? i : i - 12) % 3;
            return new Slot(i + 1, fore ? "fore" : "aft", (fore ? 1.0 : 4.0) + 0.3 * row, 0.35 * (column - 1), 0.2, i * 7 % 18 + 1, i * 7 % 18 * 0.4, column != 1 || row == 0);
        });
        var candidates = Enumerable.Range(1, 24).Select(i => new Candidate(
            $"B{i:00}", i % 11 == 0 ? Grade.R : i % 4 == 0 ? Grade.B : Grade.A, 103 + 1.5 * draw.Normal() - (i == 8 ? 5 : 0), 6.4 + 0.15 * draw.Normal(), 12.5 + 0.2 * draw.Normal(), i is 8 or 16));
        return new PlanTask([.. slots], [.. candidates], new PlanWeights());
    }

    private static double Brute(PlanTask task)
    {
        var best = double.PositiveInfinity;
        var plan = new int[task.Slots.Count];
        void Try(int slot, int used)
        {
            if (slot == plan.Length)
            {
                best = Math.Min(best, PlanScoring.Score(task, plan).Total);
                return;
            }

            for (var c = 0; c < task.Candidates.Count; c++)
            {
                if ((used >> c & 1) != 0 || PlanScoring.Conflict(task.Candidates[c], task.Slots[slot], task.Weights) is not null) continue;
                plan[slot] = c;
                Try(slot + 1, used | 1 << c);
            }
        }

        Try(0, 0);
        return best;
    }
}
