using CellWatch.Core.Bench;

namespace CellWatch.Core.Planning;

/// <summary>A suggested plan with what is known about how good it can be.</summary>
/// <param name="CandidateOfSlot">Candidate index of each slot.</param>
/// <param name="Score">Its score in parts.</param>
/// <param name="LowerBound">No plan can score below this.</param>
/// <param name="Exact">Whether every plan was looked at.</param>
public sealed record Suggestion(IReadOnlyList<int> CandidateOfSlot, PlanScore Score, double LowerBound, bool Exact)
{
    /// <summary>How far the suggestion may be from the best, % of its score.</summary>
    public double GapPercent => Exact || Score.Total <= 0 ? 0 : 100 * Math.Max(0, Score.Total - LowerBound) / Score.Total;
}

/// <summary>
/// Suggests a plan. Small sets are tried out whole. Larger ones: for every capacity the pack could be limited to, the thermal and electrical
/// parts are an assignment problem, solved exactly; the centre of gravity is brought in by multipliers between -1 and 1, whose best value gives
/// a proven lower bound (Lagrangian dual, textbook); its plans are then improved by swaps. Nothing is drawn at random.
/// </summary>
public static class FittingSolver
{
    /// <summary>Up to so many slots every plan is looked at (with up to two candidates more).</summary>
    public const int ExactSlots = 6;

    private const int DualSteps = 120;

    /// <summary>Suggests a plan.</summary>
    /// <exception cref="Register.RefusedException">No plan keeps the constraints; the message says which.</exception>
    public static Suggestion Suggest(PlanTask task)
    {
        Register.RefusedException.Unless(task.Slots.Count > 0, "The plan has no slots: enter them first.");
        var costs = new PlanCosts(task);
        var best = new Best(task, costs);
        if (task.Slots.Count <= ExactSlots && task.Candidates.Count <= ExactSlots + 2)
        {
            TryAll(task, costs, best, 0, new int[task.Slots.Count], 0);
            if (best.Plan is null) throw NoPlan(task);
            return new Suggestion(best.Plan, PlanScoring.Score(task, best.Plan), best.Total, Exact: true);
        }

        var bound = double.PositiveInfinity;
        foreach (var limitAh in costs.Limits) bound = Math.Min(bound, DualBound(task, costs, limitAh, best));

        if (best.Plan is null) throw NoPlan(task);
        return new Suggestion(best.Plan, PlanScoring.Score(task, best.Plan), Math.Min(bound, best.Total), Exact: false);
    }

    private static double DualBound(PlanTask task, PlanCosts costs, double limitAh, Best best)
    {
        int slots = task.Slots.Count, candidates = task.Candidates.Count;
        var cost = new double[slots * candidates];
        var plan = new int[slots];
        double lambdaX = 0, lambdaY = 0, lower = double.NegativeInfinity, step = 0.5;
        var loss = task.Weights.PerAhLost * (costs.BestAh - limitAh);
        for (var k = 0; k < DualSteps; k++)
        {
            costs.Fill(cost, limitAh, lambdaX, lambdaY);
            var value = Assignment.Solve(cost, slots, candidates, plan) + loss;
            if (double.IsPositiveInfinity(value)) return double.PositiveInfinity;
            if (value > lower) lower = value;
            else step *= 0.93;
            best.Offer(plan);
            var (mx, my) = costs.Moments(plan);
            if (mx == 0 && my == 0) break;
            var norm = Math.Sqrt(mx * mx + my * my);
            lambdaX = Math.Clamp(lambdaX + step * mx / norm, -1, 1);
            lambdaY = Math.Clamp(lambdaY + step * my / norm, -1, 1);
        }

        return lower;
    }

    private static void TryAll(PlanTask task, PlanCosts costs, Best best, int slot, int[] plan, ulong used)
    {
        if (slot == plan.Length)
        {
            best.Take(plan);
            return;
        }

        for (var c = 0; c < task.Candidates.Count; c++)
        {
            if ((used & (1UL << c)) != 0 || costs.IsForbidden(slot, c)) continue;
            plan[slot] = c;
            TryAll(task, costs, best, slot + 1, plan, used | (1UL << c));
        }
    }

    private static Register.RefusedException NoPlan(PlanTask task)
    {
        var usable = task.Candidates.Count(c => c.Grade is Grade.A or Grade.B);
        if (usable < task.Slots.Count) return new($"{task.Slots.Count} slots need as many modules of grade A or B; there are {usable}.");
        int reachable = task.Slots.Count(s => s.Reachable), b = task.Candidates.Count(c => c.Grade == Grade.B), a = usable - b;
        if (a + reachable < task.Slots.Count) return new($"{b} modules are grade B and must be reachable, but only {reachable} slots are: with {a} of grade A the {task.Slots.Count} slots cannot be filled.");
        return new("No plan keeps all constraints: 'coolest slots only' and 'reachable' together leave a module without a slot. Relax one limit or take another candidate.");
    }

    /// <summary>The best plan so far; every offer is first improved by swaps.</summary>
    private sealed class Best(PlanTask task, PlanCosts costs)
    {
        private readonly int[] work = new int[task.Slots.Count];
        private readonly HashSet<string> seen = new(StringComparer.Ordinal);

        public int[]? Plan { get; private set; }

        public double Total { get; private set; } = double.PositiveInfinity;

        public void Take(int[] plan)
        {
            var total = costs.Total(plan);
            if (total >= Total) return;
            (Plan, Total) = ([.. plan], total);
        }

        public void Offer(int[] plan)
        {
            if (!seen.Add(string.Join(',', plan))) return;
            plan.CopyTo(work, 0);
            Improve();
            Take(work);
        }

        private void Improve()
        {
            var total = costs.Total(work);
            for (var improved = true; improved;)
            {
                improved = false;
                for (var a = 0; a < work.Length; a++)
                    for (var b = a + 1; b < work.Length; b++)
                    {
                        if (costs.IsForbidden(a, work[b]) || costs.IsForbidden(b, work[a])) continue;
                        (work[a], work[b]) = (work[b], work[a]);
                        var swapped = costs.Total(work);
                        if (swapped < total - 1e-9) (total, improved) = (swapped, true);
                        else (work[a], work[b]) = (work[b], work[a]);
                    }

                for (var a = 0; a < work.Length; a++)
                    for (var c = 0; c < task.Candidates.Count; c++)
                    {
                        if (costs.IsForbidden(a, c) || work.Contains(c)) continue;
                        var was = work[a];
                        work[a] = c;
                        var exchanged = costs.Total(work);
                        if (exchanged < total - 1e-9) (total, improved) = (exchanged, true);
                        else work[a] = was;
                    }
            }
        }
    }
}
