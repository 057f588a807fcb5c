using CellWatch.Core.Wording;

namespace CellWatch.Core.Bench;

/// <summary>A capacity of one cell with the conditions it was taken under.</summary>
/// <param name="Cell">Its name.</param>
/// <param name="CapacityAh">With one standard deviation.</param>
/// <param name="Conditions">How it was taken.</param>
public sealed record CapacityPoint(string Cell, Uncertain CapacityAh, TestConditions Conditions);

/// <summary>The conditions that must be alike for two tests to compare.</summary>
/// <param name="At">When.</param>
/// <param name="Method">Method in words: full discharge, partial between two rests.</param>
/// <param name="TemperatureDegC">Temperature.</param>
/// <param name="RateA">Discharge current.</param>
/// <param name="FromPercent">Charge window, upper end.</param>
/// <param name="ToPercent">Charge window, lower end.</param>
public sealed record TestConditions(DateTimeOffset At, string Method, double TemperatureDegC, double RateA, double FromPercent, double ToPercent);

/// <summary>Fade of one cell.</summary>
/// <param name="Cell">Its name.</param>
/// <param name="Points">Its own history, oldest first.</param>
/// <param name="FadeAh">First less last, with uncertainty.</param>
/// <param name="IsFact">Whether the fade is larger than its uncertainty.</param>
/// <param name="Sentence">In words.</param>
public sealed record CellFade(string Cell, IReadOnlyList<CapacityPoint> Points, Uncertain FadeAh, bool IsFact, string Sentence);

/// <summary>Outcome of a health check.</summary>
/// <param name="Refused">Why nothing is compared; empty when something is.</param>
/// <param name="Cells">Compared cells, most faded first.</param>
/// <param name="New">Cells of modules that came in since, kept apart: they have no fade yet.</param>
/// <param name="Sentence">In words.</param>
public sealed record HealthOutcome(IReadOnlyList<string> Refused, IReadOnlyList<CellFade> Cells, IReadOnlyList<string> New, string Sentence);

/// <summary>
/// Compares a test with the first of the same cell, like with like; a fade smaller than its uncertainty is never stated as a fact.
/// Bounds: own rules.
/// </summary>
public static class HealthCheck
{
    /// <summary>Tests compare within this, K.</summary>
    public const double AlikeK = 3;

    /// <summary>Charge windows compare within this, percentage points.</summary>
    public const double AlikePercent = 5;

    /// <summary>Currents compare within this share.</summary>
    public const double AlikeRate = 0.1;

    /// <summary>A partial test needs this swing, percentage points (common practice, no source).</summary>
    public const double LeastSwingPercent = 40;

    /// <summary>Why two tests may not be compared; empty when they may.</summary>
    public static IReadOnlyList<string> Unlike(TestConditions a, TestConditions b)
    {
        var why = new List<string>();
        if (!string.Equals(a.Method, b.Method, StringComparison.OrdinalIgnoreCase)) why.Add(T($"method '{b.Method}' against '{a.Method}'"));
        if (Math.Abs(a.TemperatureDegC - b.TemperatureDegC) > AlikeK) why.Add(T($"{b.TemperatureDegC:0} degC against {a.TemperatureDegC:0} degC"));
        if (Math.Abs(a.RateA - b.RateA) > AlikeRate * Math.Abs(a.RateA)) why.Add(T($"{b.RateA:0} A against {a.RateA:0} A"));
        if (Math.Abs(a.FromPercent - b.FromPercent) > AlikePercent || Math.Abs(a.ToPercent - b.ToPercent) > AlikePercent)
            why.Add(T($"window {b.FromPercent:0}-{b.ToPercent:0} % against {a.FromPercent:0}-{a.ToPercent:0} %"));
        if (Math.Min(a.FromPercent - a.ToPercent, b.FromPercent - b.ToPercent) < LeastSwingPercent) why.Add(T($"a swing below {LeastSwingPercent:0} %"));
        return why;
    }

    /// <summary>Judges all cells. Each list holds the points of one cell, oldest first; a cell with one point came in since.</summary>
    public static HealthOutcome Judge(IReadOnlyList<IReadOnlyList<CapacityPoint>> history)
    {
        var fades = new List<CellFade>();
        var fresh = new List<string>();
        var refused = new HashSet<string>(StringComparer.Ordinal);
        foreach (var points in history)
        {
            if (points.Count < 2)
            {
                if (points.Count == 1) fresh.Add(points[0].Cell);
                continue;
            }

            // The last is compared with the first one like it; unlike ones stay in the history but give no figure.
            var last = points[^1];
            var first = points.FirstOrDefault(p => p != last && Unlike(p.Conditions, last.Conditions).Count == 0);
            if (first is null) refused.Add(T($"unlike tests are not compared: {string.Join(", ", Unlike(points[0].Conditions, last.Conditions))}"));
            else fades.Add(Fade(points, first, last));
        }

        var faded = fades.Where(f => f.IsFact).OrderByDescending(f => f.FadeAh.Value).ToList();
        var text = fades.Count == 0
            ? T($"Nothing is compared: {(refused.Count > 0 ? string.Join("; ", refused) : T("each cell has one test only"))}.")
            : faded.Count == 0 ? T($"{fades.Count} cells compared: no fade larger than its uncertainty.")
            : T($"{fades.Count} cells compared, {faded.Count} faded by more than their uncertainty; most: {faded[0].Sentence}");
        if (fresh.Count > 0) text += T($" Came in since, kept apart: {Figures.List([.. fresh.Select(f => f.Split('.')[0]).Distinct(StringComparer.Ordinal)])}.");
        return new HealthOutcome([.. refused], [.. fades.OrderByDescending(f => f.FadeAh.Value)], fresh, text);
    }

    private static CellFade Fade(IReadOnlyList<CapacityPoint> points, CapacityPoint first, CapacityPoint last)
    {
        var fade = new Uncertain(first.CapacityAh.Value - last.CapacityAh.Value, Math.Sqrt(Math.Pow(first.CapacityAh.Sigma, 2) + Math.Pow(last.CapacityAh.Sigma, 2)));
        var isFact = Math.Abs(fade.Value) > fade.HalfWidth95;
        var months = (last.Conditions.At - first.Conditions.At).TotalDays / 30.44;
        return new CellFade(points[0].Cell, points, fade, isFact, isFact
            ? T($"{first.Cell} {(fade.Value > 0 ? T("lost") : T("gained"))} {Math.Abs(fade.Value):0.0} +-{fade.HalfWidth95:0.0} Ah in {months:0} months.")
            : T($"{first.Cell}: no fade found; it would have to exceed {fade.HalfWidth95:0.0} Ah to show."));
    }
}
