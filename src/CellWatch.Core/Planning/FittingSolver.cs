using CellWatch.Core.Bench;

namespace CellWatch.Core.Planning;

/// <summary>A suggested plan with what is known about how good it can be.</summary>
/// <param name="CandidateOfSlot">Candidate index of each slot.</param>
/// <param name="Score">Its score in parts.</param>
/// <param name="LowerBound">No plan can score below this.</param>
/// <param name="Exact">Whether every plan was looked at.</param>
/// <param name="NotInside">Where no plan lies inside the permitted box: that, and how near this one comes, in words; empty otherwise.</param>
public sealed record Suggestion(IReadOnlyList<int> CandidateOfSlot, PlanScore Score, double LowerBound, bool Exact, string NotInside = "")
{
    /// <summary>How far the suggestion may be from the best that is permitted, % of its score; NaN where none is.</summary>
    public double GapPercent => NotInside.Length > 0 ? double.NaN : Exact || Score.Total <= 0 ? 0 : 100 * Math.Max(0, Score.Total - LowerBound) / Score.Total;
}

/// <summary>
/// Suggests a plan. Small sets are tried out whole. Larger ones: for every capacity the pack could be limited to, the thermal and electrical
/// parts are an assignment problem, solved exactly; the centre of gravity is brought in by multipliers between -1 and 1, the sides of its permitted
/// box by multipliers from 0 up, whose best value gives a proven lower bound for all plans inside (Lagrangian dual, textbook); its plans are then
/// improved by swaps. Where no plan can lie inside, the one that comes nearest is suggested and that is said. Nothing is drawn at random.
/// </summary>
public static class FittingSolver
{
    /// <summary>Up to so many slots every plan is looked at (with up to two candidates more).</summary>
    public const int ExactSlots = 6;

    private const int DualSteps = 120;

    /// <summary>Steps with a box: its multipliers have no natural size and take longer to find.</summary>
    private const int BoxSteps = 400;

    /// <summary>Points that a millimetre outside the box costs while a plan is improved; far above what a swap can gain in the other parts.</summary>
    private const double PerMmOutside = 100;

    /// <summary>The same where only the nearest is looked for.</summary>
    private const double PerMmNearest = 1e6;

    /// <summary>Suggests a plan.</summary>
    /// <exception cref="Register.RefusedException">No plan keeps the constraints; the message says which.</exception>
    public static Suggestion Suggest(PlanTask task)
    {
        Register.RefusedException.Unless(task.Slots.Count > 0, T("The plan has no slots: enter them first."));
        var (costs, box) = (new PlanCosts(task), new PlanBox(task));
        var best = new Best(task, costs, box);
        if (task.Slots.Count <= ExactSlots && task.Candidates.Count <= ExactSlots + 2)
        {
            TryAll(task, costs, best, 0, new int[task.Slots.Count], 0);
            if (best.Plan is null) throw NoPlan(task);
            return Found(task, best, best.Total, exact: true, provenOutside: true);
        }

        var bound = double.PositiveInfinity;
        foreach (var limitAh in costs.Limits) bound = Math.Min(bound, box.Sides == 0 ? DualBound(task, costs, limitAh, best) : BoxedBound(task, costs, box, limitAh, best));

        if (best.Plan is null) throw NoPlan(task);
        return Found(task, best, Math.Min(bound, best.Total), exact: false, best.OutsideMm > 0 && CannotBeInside(task, costs, box, best));
    }

    private static Suggestion Found(PlanTask task, Best best, double bound, bool exact, bool provenOutside)
    {
        var score = PlanScoring.Score(task, best.Plan);
        if (best.OutsideMm <= 0) return new Suggestion(best.Plan!, score, bound, exact);
        var words = T($"{(provenOutside ? T("No plan can bring") : T("No plan was found that brings"))} the centre of gravity inside its permitted box; the nearest{(exact ? "" : T(" found"))} comes to {best.OutsideMm:0.#} mm outside. Move a slot, take other modules, or ask whether the box may be wider.");
        return new Suggestion(best.Plan!, score, double.NaN, exact, words);
    }

    /// <summary>
    /// The bound with the box: steps of Polyak's length towards the best plan known, halved where they no longer help (textbook). Every value on the way
    /// is a bound by itself.
    /// </summary>
    private static double BoxedBound(PlanTask task, PlanCosts costs, PlanBox box, double limitAh, Best best)
    {
        int slots = task.Slots.Count, candidates = task.Candidates.Count;
        var (cost, plan, mu, beyond) = (new double[slots * candidates], new int[slots], new double[box.Sides], new double[box.Sides]);
        double lambdaX = 0, lambdaY = 0, lower = double.NegativeInfinity, share = 1;
        var (loss, since) = (task.Weights.PerAhLost * (costs.BestAh - limitAh), 0);
        for (var k = 0; k < BoxSteps; k++)
        {
            costs.Fill(cost, limitAh, lambdaX, lambdaY);
            box.AddTo(cost, mu);
            var value = Assignment.Solve(cost, slots, candidates, plan) + loss;
            if (double.IsPositiveInfinity(value)) return double.PositiveInfinity;
            since++;
            if (value > lower + 1e-9) (lower, since) = (value, 0);
            else if (since >= 8) (share, since) = (share / 2, 0);
            best.Offer(plan);
            // What cannot be better than the best plan known need not be followed further.
            if (best.OutsideMm <= 0 && lower >= best.Total - 1e-9 || share < 1e-4) break;
            var (mx, my) = costs.Moments(plan);
            box.Beyond(plan, beyond);
            // Only what can still move counts: a multiplier that is at its end stays there.
            if (lambdaX >= 1 && mx > 0 || lambdaX <= -1 && mx < 0) mx = 0;
            if (lambdaY >= 1 && my > 0 || lambdaY <= -1 && my < 0) my = 0;
            var norm = mx * mx + my * my;
            for (var j = 0; j < beyond.Length; j++)
            {
                if (mu[j] <= 0 && beyond[j] < 0) beyond[j] = 0;
                norm += beyond[j] * beyond[j];
            }

            if (norm < 1e-18) break;
            var towards = best.OutsideMm <= 0 ? best.Total : Math.Abs(value) * 1.05 + 10;
            var step = share * Math.Max(towards - value, 1e-6) / norm;
            lambdaX = Math.Clamp(lambdaX + step * mx, -1, 1);
            lambdaY = Math.Clamp(lambdaY + step * my, -1, 1);
            for (var j = 0; j < mu.Length; j++) mu[j] = Math.Max(0, mu[j] + step * beyond[j]);
        }

        return lower;
    }

    /// <summary>
    /// Proves that no plan lies inside: some sum of the sides, none of them negative, stays above zero for every plan (Farkas, textbook). Whatever it
    /// offers on the way may come nearer too. False says only that no such sum was found.
    /// </summary>
    private static bool CannotBeInside(PlanTask task, PlanCosts costs, PlanBox box, Best best)
    {
        int slots = task.Slots.Count, candidates = task.Candidates.Count;
        var (cost, plan, mu, beyond) = (new double[slots * candidates], new int[slots], new double[box.Sides], new double[box.Sides]);
        mu.AsSpan().Fill(1.0 / box.Sides);
        best.LookForNearest();
        for (var k = 1; k <= DualSteps; k++)
        {
            costs.FillForbidden(cost);
            box.AddTo(cost, mu);
            var value = Assignment.Solve(cost, slots, candidates, plan);
            best.Offer(plan);
            if (value > 1e-6 && !double.IsPositiveInfinity(value)) return true;
            box.Beyond(plan, beyond);
            var norm = Math.Sqrt(beyond.Sum(b => b * b));
            if (norm < 1e-12) return false;
            for (var j = 0; j < mu.Length; j++) mu[j] = Math.Max(0, mu[j] + beyond[j] / norm / Math.Sqrt(k));
            var sum = mu.Sum();
            if (sum < 1e-12) return false;
            for (var j = 0; j < mu.Length; j++) mu[j] /= sum;
        }

        return false;
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
        if (usable < task.Slots.Count) return new(T($"{task.Slots.Count} slots need as many modules of grade A or B; there are {usable}."));
        int reachable = task.Slots.Count(s => s.Reachable), b = task.Candidates.Count(c => c.Grade == Grade.B), a = usable - b;
        if (a + reachable < task.Slots.Count) return new(T($"{b} modules are grade B and must be reachable, but only {reachable} slots are: with {a} of grade A the {task.Slots.Count} slots cannot be filled."));
        return new(T("No plan keeps all constraints: 'coolest slots only' and 'reachable' together leave a module without a slot. Relax one limit or take another candidate."));
    }

    /// <summary>The best plan inside the box so far, or else the nearest to it; every offer is first improved by swaps.</summary>
    private sealed class Best(PlanTask task, PlanCosts costs, PlanBox box)
    {
        private readonly int[] work = new int[task.Slots.Count];
        private readonly HashSet<string> seen = new(StringComparer.Ordinal);
        private double perMm = PerMmOutside;

        public int[]? Plan { get; private set; }

        public double Total { get; private set; } = double.PositiveInfinity;

        /// <summary>How far outside the box it lies, mm; 0 inside.</summary>
        public double OutsideMm { get; private set; } = double.PositiveInfinity;

        public void Take(int[] plan)
        {
            var (outsideMm, total) = (box.OutsideMm(plan), costs.Total(plan));
            if (outsideMm > OutsideMm || outsideMm == OutsideMm && total >= Total) return;
            (Plan, Total, OutsideMm) = ([.. plan], total, outsideMm);
        }

        public void Offer(int[] plan)
        {
            if (!seen.Add(string.Join(',', plan))) return;
            plan.CopyTo(work, 0);
            Improve();
            Take(work);
        }

        /// <summary>From now on nothing but nearness counts.</summary>
        public void LookForNearest()
        {
            perMm = PerMmNearest;
            seen.Clear();
            if (Plan is { } plan) Offer([.. plan]);
        }

        private double Price() => costs.Total(work) + perMm * box.OutsideMm(work);

        private void Improve()
        {
            var total = Price();
            for (var improved = true; improved;)
            {
                improved = false;
                for (var a = 0; a < work.Length; a++)
                    for (var b = a + 1; b < work.Length; b++)
                    {
                        if (costs.IsForbidden(a, work[b]) || costs.IsForbidden(b, work[a])) continue;
                        (work[a], work[b]) = (work[b], work[a]);
                        var swapped = Price();
                        if (swapped < total - 1e-9) (total, improved) = (swapped, true);
                        else (work[a], work[b]) = (work[b], work[a]);
                    }

                for (var a = 0; a < work.Length; a++)
                    for (var c = 0; c < task.Candidates.Count; c++)
                    {
                        if (costs.IsForbidden(a, c) || work.Contains(c)) continue;
                        var was = work[a];
                        work[a] = c;
                        var exchanged = Price();
                        if (exchanged < total - 1e-9) (total, improved) = (exchanged, true);
                        else work[a] = was;
                    }
            }
        }
    }
}
