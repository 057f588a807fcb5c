using CellWatch.Core.Bench;

namespace CellWatch.Core.Planning;

/// <summary>The parts of the score as tables, so that a plan is priced in a few additions.</summary>
internal sealed class PlanCosts
{
    private readonly int candidates;
    private readonly double[] linear;
    private readonly double[] momentX;
    private readonly double[] momentY;
    private readonly double[] lowestAh;
    private readonly double perAhLost;

    public PlanCosts(PlanTask task)
    {
        candidates = task.Candidates.Count;
        var slots = task.Slots.Count;
        linear = new double[slots * candidates];
        momentX = new double[slots * candidates];
        momentY = new double[slots * candidates];
        lowestAh = [.. task.Candidates.Select(c => c.LowestAh)];
        perAhLost = task.Weights.PerAhLost;
        var usable = task.Candidates.Where(c => c.Grade is Grade.A or Grade.B).ToList();
        BestAh = usable.Count == 0 ? 0 : usable.Max(c => c.LowestAh);
        // The pack is limited by one of its own modules; no set of so many can have a smallest group above the n-th largest.
        Limits = [.. usable.Select(c => c.LowestAh).OrderDescending().Skip(slots - 1).Distinct()];
        var (targetX, targetY) = task.Target;
        var perMoment = task.Weights.PerMillimetre * 1000 / (PlanScoring.MeanKg(task) * slots);
        var weakness = task.Candidates.Select(c => PlanScoring.Weakness(c, task)).ToArray();
        for (var s = 0; s < slots; s++)
            for (var c = 0; c < candidates; c++)
            {
                var (slot, candidate, i) = (task.Slots[s], task.Candidates[c], s * candidates + c);
                linear[i] = PlanScoring.Conflict(candidate, slot, task.Weights) is not null
                    ? Assignment.Forbidden
                    : task.Weights.ThermalPerK * slot.WarmerK * (PlanScoring.HandShare + weakness[c]) + task.Weights.PerMilliohm * candidate.Milliohm;
                momentX[i] = perMoment * candidate.MassKg * (slot.X - targetX);
                momentY[i] = perMoment * candidate.MassKg * (slot.Y - targetY);
            }
    }

    /// <summary>Largest smallest group of any candidate.</summary>
    public double BestAh { get; }

    /// <summary>Capacities the pack can be limited to, largest first.</summary>
    public IReadOnlyList<double> Limits { get; }

    public bool IsForbidden(int slot, int candidate) => linear[slot * candidates + candidate] >= Assignment.Forbidden;

    /// <summary>Total score of a plan without conflicts.</summary>
    public double Total(ReadOnlySpan<int> plan)
    {
        double sum = 0, x = 0, y = 0, lowest = double.PositiveInfinity;
        for (var s = 0; s < plan.Length; s++)
        {
            var i = s * candidates + plan[s];
            sum += linear[i];
            x += momentX[i];
            y += momentY[i];
            lowest = Math.Min(lowest, lowestAh[plan[s]]);
        }

        return sum + Math.Abs(x) + Math.Abs(y) + perAhLost * (BestAh - lowest);
    }

    /// <summary>Signed moments of a plan, in points.</summary>
    public (double X, double Y) Moments(ReadOnlySpan<int> plan)
    {
        double x = 0, y = 0;
        for (var s = 0; s < plan.Length; s++)
        {
            x += momentX[s * candidates + plan[s]];
            y += momentY[s * candidates + plan[s]];
        }

        return (x, y);
    }

    /// <summary>Costs with multipliers on the moments; modules below a capacity are forbidden.</summary>
    public void Fill(Span<double> cost, double limitAh, double lambdaX, double lambdaY)
    {
        for (var i = 0; i < cost.Length; i++)
            cost[i] = lowestAh[i % candidates] < limitAh ? Assignment.Forbidden : linear[i] + lambdaX * momentX[i] + lambdaY * momentY[i];
    }

    /// <summary>Costs of nothing but what is not allowed.</summary>
    public void FillForbidden(Span<double> cost)
    {
        for (var i = 0; i < cost.Length; i++) cost[i] = linear[i] >= Assignment.Forbidden ? Assignment.Forbidden : 0;
    }
}
