using CellWatch.Core.Bench;

namespace CellWatch.Core.Planning;

/// <summary>The score of a plan in parts; lower is better.</summary>
/// <param name="Thermal">Weak modules in warm slots.</param>
/// <param name="Electrical">Charge given away by the choice, and resistance.</param>
/// <param name="Mass">Centre of gravity off its target.</param>
/// <param name="UsableAh">Smallest placed group.</param>
/// <param name="LimitedBy">Module that holds it.</param>
/// <param name="CentreX">Centre of gravity, m.</param>
/// <param name="CentreY">Centre of gravity, m.</param>
/// <param name="TotalKg">Mass.</param>
/// <param name="Conflicts">Constraints it breaks, in words; empty for a plan that may be frozen.</param>
public sealed record PlanScore(
    double Thermal, double Electrical, double Mass, double UsableAh, string LimitedBy, double CentreX, double CentreY, double TotalKg, IReadOnlyList<string> Conflicts)
{
    /// <summary>Sum of the parts.</summary>
    public double Total => Thermal + Electrical + Mass;
}

/// <summary>Scores plans. A plan is a candidate index for each slot, in slot order.</summary>
public static class PlanScoring
{
    /// <summary>How little a module has in hand, 0 (the best candidate) upward: its shortfall in capacity and excess in resistance against the best of
    /// the candidates, as shares, added. Ageing roughly doubles per 10 K (from memory), so it belongs into a cool slot.</summary>
    public static double Weakness(Candidate c, PlanTask task)
    {
        double best = 0, least = double.PositiveInfinity;
        foreach (var other in task.Candidates)
        {
            if (other.Grade is not (Grade.A or Grade.B)) continue;
            best = Math.Max(best, other.LowestAh);
            least = Math.Min(least, other.Milliohm);
        }

        return Math.Max(0, 1 - c.LowestAh / best) + Math.Max(0, c.Milliohm / least - 1);
    }

    /// <summary>Why a module may not sit in a slot, in words; null when it may.</summary>
    public static string? Conflict(Candidate c, Slot s, PlanWeights weights)
    {
        if (c.Grade == Grade.R) return T($"{c.Identity} is grade R and is never placed");
        if (c.Grade == Grade.None) return T($"{c.Identity} has no grade yet");
        if (c.Grade == Grade.C) return T($"{c.Identity} is grade C: a spare or low power only");
        if (c.Grade == Grade.B && !s.Reachable) return T($"{c.Identity} is grade B and must be reachable; slot {s.Number} is not");
        return c.CoolestOnly && s.CoolingRank > weights.CoolestRanks ? T($"{c.Identity} has the limit 'coolest slots only'; slot {s.Number} has cooling rank {s.CoolingRank}") : null;
    }

    /// <summary>Scores a plan.</summary>
    public static PlanScore Score(PlanTask task, ReadOnlySpan<int> plan)
    {
        double thermal = 0, milliohm = 0, kg = 0, momentX = 0, momentY = 0, momentZ = 0, bestAh = 0;
        var weakest = -1;
        var conflicts = new List<string>();
        foreach (var c in task.Candidates) if (c.Grade is Grade.A or Grade.B) bestAh = Math.Max(bestAh, c.LowestAh);
        for (var s = 0; s < plan.Length; s++)
        {
            var slot = task.Slots[s];
            if (plan[s] < 0)
            {
                conflicts.Add(T($"slot {slot.Number} is empty"));
                continue;
            }

            var c = task.Candidates[plan[s]];
            if (plan[..s].Contains(plan[s])) conflicts.Add(T($"{c.Identity} is placed twice"));
            if (Conflict(c, slot, task.Weights) is { } conflict) conflicts.Add(conflict);
            thermal += slot.WarmerK * (HandShare + Weakness(c, task));
            milliohm += c.Milliohm;
            kg += c.MassKg;
            momentX += c.MassKg * slot.X;
            momentY += c.MassKg * slot.Y;
            momentZ += c.MassKg * slot.Z;
            if (weakest < 0 || c.LowestAh < task.Candidates[weakest].LowestAh) weakest = plan[s];
        }

        if (weakest < 0) return new PlanScore(0, 0, 0, 0, "", double.NaN, double.NaN, 0, conflicts);
        double x = momentX / kg, y = momentY / kg, usable = task.Candidates[weakest].LowestAh;
        if (task.Permitted?.Outside(x, y, momentZ / kg) is { } outside) conflicts.Add(outside);
        var (targetX, targetY) = task.Target;
        // The mass term uses moments over the mean mass, so that it is the same for every plan and its bound is exact.
        var meanKg = MeanKg(task) * plan.Length;
        var offMm = 1000 * (Math.Abs(momentX - targetX * kg) + Math.Abs(momentY - targetY * kg)) / meanKg;
        var w = task.Weights;
        return new PlanScore(
            w.ThermalPerK * thermal, w.PerAhLost * (bestAh - usable) + w.PerMilliohm * milliohm, w.PerMillimetre * offMm, usable, task.Candidates[weakest].Identity, x, y, kg, conflicts);
    }

    /// <summary>The exchange of two slots that leaves the lowest score and breaks no constraint; null with fewer than two filled slots, or where every exchange breaks one.</summary>
    public static (int First, int Second, PlanScore Score)? BestSwap(PlanTask task, ReadOnlySpan<int> plan)
    {
        (int First, int Second, PlanScore Score)? best = null;
        var tried = plan.ToArray();
        for (var a = 0; a < tried.Length; a++)
            for (var b = a + 1; b < tried.Length; b++)
            {
                if (tried[a] < 0 || tried[b] < 0) continue;
                (tried[a], tried[b]) = (tried[b], tried[a]);
                var score = Score(task, tried);
                if (score.Conflicts.Count == 0 && (best is not { } known || score.Total < known.Score.Total)) best = (a, b, score);
                (tried[a], tried[b]) = (tried[b], tried[a]);
            }

        return best;
    }

    /// <summary>Every module in a warm slot costs a little, the best one too.</summary>
    internal const double HandShare = 0.05;

    internal static double MeanKg(PlanTask task) => task.Candidates.Where(c => c.Grade is Grade.A or Grade.B).Select(c => c.MassKg).DefaultIfEmpty(1).Average();
}
