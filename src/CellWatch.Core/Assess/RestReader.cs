using CellWatch.Core.Estimation;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Assess;

/// <summary>
/// Reads the longest rest of a file. A voltage that still settles is not a leak: a leak is only told for cells beside siblings, after
/// two days. Source: see <see cref="SelfDischargeBank"/>.
/// </summary>
internal static class RestReader
{
    private const double ShortestRestS = 3600, DayS = 86400;

    public static RestReport Read(MeasuredRun run, string file, AssessOptions options, string definition)
    {
        var (record, rest, afterCurrent) = Longest(run);
        if (record is null || record.TimeS[rest.Last] - record.TimeS[rest.First] < ShortestRestS)
        {
            run.Unfit.Add(new Unfit("no rest", null, "No rest of at least an hour is in the file."));
            return Report(null, null, null, null, null, null, "no rest of at least an hour is in the file", false);
        }

        double startS = record.TimeS[rest.First], endS = record.TimeS[rest.Last], lengthS = endS - startS;
        var mean = new double[record.Rows];
        for (var r = rest.First; r <= rest.Last; r++) mean[r] = record.CellV.Average(c => c[r]);
        // Two days are dropped from a long rest; of a shorter one the first day, or half of it.
        var isLong = lengthS >= 4 * DayS;
        var settleS = isLong ? 2 * DayS : Math.Min(DayS, lengthS / 2);
        var halfS = (startS + settleS + endS) / 2;
        var whole = Fit(record, mean, rest, startS + settleS, endS);
        var early = isLong ? Fit(record, mean, rest, startS + settleS, halfS) : Fit(record, mean, rest, startS + settleS / 2, startS + settleS);
        var late = isLong ? Fit(record, mean, rest, halfS, endS) : whole;
        // A leak falls in a straight line; relaxation gets slower. Within two days of current nothing is told either way.
        var isSlowing = early is { } e && late is { } l && Math.Abs(e.Slope) > 1.25 * Math.Abs(l.Slope) && Math.Abs(e.Slope - l.Slope) > 3 * (e.SlopeSigma + l.SlopeSigma);
        var relaxing = isSlowing || (afterCurrent && lengthS < 3600 * SelfDischargeBank.SettlingH);
        List<string> why = [];
        if (relaxing) why.Add("still relaxing");
        if (run.Cells < 3) why.Add("no sibling to compare");
        if (!run.HasTemperature) why.Add("temperature not recorded");
        double? leak = null;
        if (!relaxing && run.Cells >= 3)
        {
            leak = LeakAgainstSiblings(record, rest, options, out var reason);
            if (reason is not null) why.Add(reason);
        }

        if (relaxing) run.Unfit.Add(new Unfit("still relaxing", startS, "The voltage still settles after current: its slope is not a self-discharge rate. Rest for days beside sibling cells at steady temperature."));
        if (run.Cells < 3) run.Unfit.Add(new Unfit("no sibling", null, "A single cell has no siblings in which temperature and relaxation would cancel."));
        if (!run.HasTemperature) run.Unfit.Add(new Unfit("temperature not recorded", null, "Ten kelvin of room swing hide or fake about 1 mV."));
        return Report(startS, endS, relaxing, whole?.Slope * 1000 * DayS, whole?.SlopeSigma * 1000 * DayS, leak, leak is null ? string.Join(", ", why) : null, leak is not null);

        RestReport Report(double? from, double? to, bool? isRelaxing, double? slope, double? sigma, double? leakMilliampere, string? reason, bool fit) => new()
        {
            Kind = "rest",
            File = file,
            Fit = fit,
            Unfit = run.Unfit,
            Rows = run.Rows,
            Definition = definition,
            StartS = from,
            EndS = to,
            Relaxing = isRelaxing,
            SlopeMvPerDay = slope,
            SlopeSigmaMvPerDay = sigma,
            LeakMilliampere = leakMilliampere,
            Why = reason,
        };
    }

    private static (MeasuredRecord? Record, Stretch Still, bool AfterCurrent) Longest(MeasuredRun run)
    {
        MeasuredRecord? best = null;
        Stretch rest = default;
        var afterCurrent = false;
        double longest = 0;
        foreach (var record in run.Records)
        {
            var stretches = RunFinder.Stretches(record, run.RestA);
            for (var i = 0; i < stretches.Count; i++)
            {
                var length = record.TimeS[stretches[i].Last] - record.TimeS[stretches[i].First];
                if (stretches[i].Direction != 0 || length <= longest) continue;
                (best, rest, afterCurrent, longest) = (record, stretches[i], i > 0, length);
            }
        }

        return (best, rest, afterCurrent);
    }

    private static LineFit? Fit(MeasuredRecord record, double[] v, Stretch rest, double fromS, double toS)
    {
        var line = new RunningLine();
        for (var r = rest.First; r <= rest.Last; r++)
            if (record.TimeS[r] >= fromS && record.TimeS[r] <= toS) line.Add(record.TimeS[r] - fromS, v[r]);
        return line.Fit();
    }

    private static double? LeakAgainstSiblings(MeasuredRecord record, Stretch rest, AssessOptions options, out string? reason)
    {
        reason = null;
        if (options.CapacityAh is not { } capacity || options.CurveMvPerPercent is not { } slope)
        {
            reason = "capacity and slope of the curve are not given";
            return null;
        }

        var bank = new SelfDischargeBank(new int[record.CellV.Length]);
        var v = new double[record.CellV.Length];
        var usable = Enumerable.Repeat(true, v.Length).ToArray();
        for (var r = rest.First; r <= rest.Last; r++)
        {
            for (var k = 0; k < v.Length; k++) v[k] = record.CellV[k][r];
            bank.Add((record.TimeS[r] - record.TimeS[rest.First]) / 3600, v, usable);
        }

        var leaks = bank.Evaluate(slope, capacity);
        if (leaks.All(l => l.LeakMilliampere is null))
        {
            reason = leaks[0].Why;
            return null;
        }

        return leaks.Max(l => l.LeakMilliampere);
    }
}
