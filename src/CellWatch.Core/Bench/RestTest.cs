using CellWatch.Core.Statistics;

namespace CellWatch.Core.Bench;

/// <summary>Limits and rules of the rest test; every one is a setting (common practice, no source, except where said).</summary>
public sealed record RestTestSettings
{
    /// <summary>Dropped at the start, h: after 48 h a measured cell still fell by 6.8 mV a day (public test file of a 33 Ah cell).</summary>
    public double DropFirstHours { get; init; } = 48;

    /// <summary>Shortest stretch after that, h.</summary>
    public double LeastHours { get; init; } = 5 * 24;

    /// <summary>The module's median may move by this and still count as relaxed, mV a day (own rule).</summary>
    public double RelaxedMvPerDay { get; init; } = 1.0;

    /// <summary>Excess leak from which limits apply, mA.</summary>
    public double LimitMilliampere { get; init; } = 1;

    /// <summary>Excess leak above which the module is rejected, mA.</summary>
    public double RejectMilliampere { get; init; } = 5;

    /// <summary>Confidence of the intervals.</summary>
    public double Confidence { get; init; } = 0.95;

    /// <summary>Samples are averaged over this, h, before the fit; neighbouring samples are not independent.</summary>
    public double AverageHours { get; init; } = 1;

    /// <summary>
    /// Slow drift of one channel against another that no averaging takes out, one standard deviation, mV a day (own rule; half a millivolt in
    /// ten days is a good front end). Without it a quiet converter would claim to see leaks that it cannot.
    /// </summary>
    public double ChannelDriftMvPerDay { get; init; } = 0.03;
}

/// <summary>What a rest test is judged by.</summary>
/// <param name="TimeS">Monotonic seconds, rising; no wall clock.</param>
/// <param name="CellV">One array a group, as long as the times; NaN where a sample is missing.</param>
/// <param name="TemperatureDegC">As long as the times; null when it was not recorded.</param>
/// <param name="CurveMvPerPercent">Slope of the cell's own curve at this level.</param>
/// <param name="CapacityAh">Capacity of a group.</param>
public sealed record RestRecording(double[] TimeS, double[][] CellV, double[]? TemperatureDegC, double CurveMvPerPercent, double CapacityAh);

/// <summary>One group in a rest test.</summary>
/// <param name="Cell">Counted from the negative end, from 1.</param>
/// <param name="SlopeMvPerDay">Against the median of its module; falling is negative.</param>
/// <param name="LeakMilliampere">Excess leak; positive loses charge.</param>
/// <param name="HalfWidthMilliampere">Half width of its interval.</param>
/// <param name="Steepens">Whether the second half falls clearly faster than the first.</param>
/// <param name="Verdict">What it says.</param>
/// <param name="Sentence">In words.</param>
public sealed record RestGroup(int Cell, double SlopeMvPerDay, double LeakMilliampere, double HalfWidthMilliampere, bool Steepens, Verdict Verdict, string Sentence);

/// <summary>Outcome of a rest test.</summary>
/// <param name="Refused">Why no leak is stated; empty when one is.</param>
/// <param name="Groups">All groups; empty when refused.</param>
/// <param name="SmallestLeakFoundMilliampere">The smallest leak this test could have found.</param>
/// <param name="Verdict">The worst of its groups; undecided when refused.</param>
/// <param name="Sentence">The finding.</param>
public sealed record RestOutcome(
    IReadOnlyList<string> Refused, IReadOnlyList<RestGroup> Groups, double SmallestLeakFoundMilliampere, Verdict Verdict, string Sentence);

/// <summary>
/// Finds the leaking group: each group's voltage against the median of its module, so that temperature and relaxation common to all
/// cancel; slope by least squares after the first days. It finds outliers, not the healthy level, which a week can hardly measure.
/// <para>Source: leak = slope / (mV per %) x capacity / 100 (circuit arithmetic); intervals by Student t.</para>
/// </summary>
public static class RestTest
{
    /// <summary>Judges a recording.</summary>
    public static RestOutcome Judge(RestRecording r, RestTestSettings settings)
    {
        var refused = Refusals(r, settings, out var bins);
        if (refused.Count > 0)
            return new RestOutcome(refused, [], double.NaN, Verdict.Undecided, T($"No leak is stated: {string.Join(", ", refused)}."));

        var deviations = Deviations(bins);
        var milliamperePerMvDay = r.CapacityAh / 100 / r.CurveMvPerPercent / 24 * 1000;
        var fits = deviations.Select(d => LineFit.Through(bins.Days, d)!.Value).ToList();
        // Half of the groups at least are taken for healthy, so the median scatter is that of a quiet channel.
        var quietHalfWidth = Robust.Median(fits.Select(f => HalfWidth(f, settings)).ToArray());
        var smallest = 2 * quietHalfWidth * milliamperePerMvDay;
        var groups = fits.Select((f, i) => Group(i + 1, f, Steepens(bins.Days, deviations[i]), milliamperePerMvDay, smallest, settings)).ToList();
        var worst = groups.MaxBy(g => (g.Verdict == Verdict.Undecided ? -1 : (int)g.Verdict, g.LeakMilliampere))!;
        var verdict = worst.Verdict == Verdict.Accept && smallest > settings.RejectMilliampere ? Verdict.Undecided : worst.Verdict;
        var sentence = verdict switch
        {
            Verdict.Undecided => T($"This test could only have found leaks above {smallest:0.0} mA, more than the {settings.RejectMilliampere:0.#} mA it must exclude: rest longer, or steadier."),
            Verdict.Accept => T($"No group is distinguishable from its siblings. Smallest leak this test could have found: {smallest:0.0} mA."),
            _ => T($"{worst.Sentence} Smallest leak this test could have found: {smallest:0.0} mA."),
        };
        return new RestOutcome([], groups, smallest, verdict, sentence);
    }

    private static RestGroup Group(int cell, LineFit fit, bool steepens, double milliamperePerMvDay, double smallest, RestTestSettings s)
    {
        var leak = -fit.Slope * milliamperePerMvDay;
        var half = HalfWidth(fit, s) * milliamperePerMvDay;
        // A slope within its own interval, or below what the test can find, accuses no one: with six groups tried one 95 % interval is too little.
        var distinguishable = leak > half && leak > smallest;
        var verdict = !distinguishable ? Verdict.Accept
            : steepens || leak > s.RejectMilliampere ? Verdict.Reject
            : leak > s.LimitMilliampere ? Verdict.AcceptWithLimits : Verdict.Accept;
        var sentence = verdict switch
        {
            Verdict.Reject when steepens && leak <= s.RejectMilliampere => T($"Group {cell} loses {leak:0.0} +-{half:0.0} mA more than its siblings and falls faster from day to day: reject."),
            Verdict.Reject => T($"Group {cell} loses {leak:0.0} +-{half:0.0} mA more than its siblings (limit {s.RejectMilliampere:0.#} mA): reject."),
            Verdict.AcceptWithLimits => T($"Group {cell} loses {leak:0.0} +-{half:0.0} mA more than its siblings: accept with limits, look again in storage."),
            _ => T($"Group {cell}: {leak:0.0} +-{half:0.0} mA, not distinguishable from its siblings."),
        };
        return new RestGroup(cell, fit.Slope, leak, half, steepens, verdict, sentence);
    }

    /// <summary>Half width of the interval of a slope, mV a day: scatter of the samples and drift of the channel together.</summary>
    private static double HalfWidth(LineFit fit, RestTestSettings s)
    {
        double scatter = fit.SlopeHalfWidth(s.Confidence), drift = StudentT.IntervalFactor(s.Confidence, 1000) * s.ChannelDriftMvPerDay;
        return Math.Sqrt(scatter * scatter + drift * drift);
    }

    private static List<string> Refusals(RestRecording r, RestTestSettings s, out RestBins bins)
    {
        var refused = new List<string>();
        bins = RestBins.Of(r, s);
        var hours = r.TimeS.Length < 2 ? 0 : (r.TimeS[^1] - r.TimeS[0]) / 3600;
        var kept = hours - s.DropFirstHours;
        for (var i = 1; i < r.TimeS.Length; i++)
            if (!(r.TimeS[i] > r.TimeS[i - 1]))
            {
                refused.Add(T("the clock went back: use monotonic time"));
                break;
            }

        if (kept < s.LeastHours || (bins.MedianFit is { } median && Math.Abs(median.Slope) > s.RelaxedMvPerDay))
            refused.Add(bins.MedianFit is { } m && kept >= s.LeastHours
                ? T($"still relaxing ({m.Slope:+0.0;-0.0} mV a day in the median of all groups)")
                : T($"still relaxing ({hours:0} h of rest; the first {s.DropFirstHours:0} h do not count and {s.LeastHours / 24:0} days are needed after them)"));
        if (r.CellV.Length < 3) refused.Add(r.CellV.Length == 1 ? T("no sibling to compare") : T($"{r.CellV.Length} groups only: three are needed to tell which one differs"));
        if (r.TemperatureDegC is null) refused.Add(T("temperature not recorded"));
        if (!(r.CurveMvPerPercent >= Estimation.Ocv.OcvCurve.FlatMvPerPercent)) refused.Add(T($"the curve is too flat here ({r.CurveMvPerPercent:0.0} mV per %): cannot tell here, go to a steeper level"));
        if (!(r.CapacityAh > 0)) refused.Add(T("the capacity is not stated"));
        for (var g = 0; g < r.CellV.Length; g++)
            if (bins.IsFrozen(r.CellV[g])) refused.Add(T($"group {g + 1} repeats one value to the last digit: the channel is stuck"));
        return refused;
    }

    private static double[][] Deviations(RestBins bins)
    {
        var deviations = bins.CellMv.Select(c => new double[c.Length]).ToArray();
        var others = new double[bins.CellMv.Length];
        for (var i = 0; i < bins.Days.Length; i++)
        {
            for (var g = 0; g < others.Length; g++) others[g] = bins.CellMv[g][i];
            var median = Robust.Median(others);
            for (var g = 0; g < others.Length; g++) deviations[g][i] = others[g] - median;
        }

        return deviations;
    }

    private static bool Steepens(double[] days, double[] deviationMv)
    {
        var half = days.Length / 2;
        if (half < 6) return false;
        var first = LineFit.Through(days.AsSpan(0, half), deviationMv.AsSpan(0, half))!.Value;
        var second = LineFit.Through(days.AsSpan(half), deviationMv.AsSpan(half))!.Value;
        var sigma = Math.Sqrt(first.SlopeSigma * first.SlopeSigma + second.SlopeSigma * second.SlopeSigma);
        return second.Slope < 0 && second.Slope - first.Slope < -4 * sigma && second.Slope < 1.5 * Math.Min(first.Slope, 0) - 0.1;
    }
}
