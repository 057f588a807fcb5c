using CellWatch.Core.Estimation;

namespace CellWatch.Core.Assess;

/// <summary>
/// Finds pulses: 1 to 180 s of current that start from rest (|I| at most C/50, held at least 10 s, or the record begins there). A
/// longer stretch is none. Source: the form of the vehicle-battery pulse manuals; bounds are own rules.
/// </summary>
internal static class PulseFinder
{
    private const double ShortestS = 1, LongestS = 180, RestBeforeS = 10, Flatness = 0.02;

    /// <summary>A row of rest whose voltage has moved by this share of the whole step was read after the step began.</summary>
    private const double MovedShare = 0.05;

    public static List<Pulse> Find(MeasuredRun run, double restA)
    {
        List<Pulse> found = [];
        foreach (var record in run.Records)
        {
            var stretches = RunFinder.Stretches(record, restA);
            for (var i = 1; i < stretches.Count; i++)
            {
                Stretch rest = stretches[i - 1], load = stretches[i];
                if (rest.Direction != 0 || load.Direction == 0) continue;
                var restS = record.TimeS[rest.Last] - record.TimeS[rest.First];
                if (restS < RestBeforeS - 1e-6 && rest.First > 0) continue;
                if (Measure(run, record, rest, load) is { } pulse) found.Add(pulse);
            }
        }

        return found;
    }

    /// <summary>
    /// Resistance at a time after the last row before the step: V and I interpolated. Null where the load ended earlier than that by
    /// more than half a sampling interval.
    /// </summary>
    public static double? OhmAt(MeasuredRecord record, double[] v, int before, int last, double afterS)
    {
        var at = record.TimeS[before] + afterS;
        var interval = record.TimeS[last] - record.TimeS[last - 1];
        if (at > record.TimeS[last] + interval / 2 + 1e-9) return null;
        var r = before + 1;
        while (r < last && record.TimeS[r] < at - 1e-9) r++;
        // The step itself lies between the row before and the first loaded row: nothing is interpolated across it.
        if (r == before + 1) return record.TimeS[r] - at <= 1e-9 ? Ohm(r, r, 1) : null;
        var share = Math.Clamp((at - record.TimeS[r - 1]) / (record.TimeS[r] - record.TimeS[r - 1]), 0, 1);
        return Ohm(r - 1, r, share);

        double Ohm(int a, int b, double share) =>
            PulseResistance.Ohm(v[before], record.CurrentA[before], v[a] + share * (v[b] - v[a]), record.CurrentA[a] + share * (record.CurrentA[b] - record.CurrentA[a]));
    }

    /// <summary>Last row of rest whose voltage has not moved yet: readings of one row are not taken at one instant.</summary>
    public static int LastRowBefore(MeasuredRecord record, double[] v, Stretch rest, Stretch load)
    {
        var before = rest.Last;
        while (before > rest.First)
        {
            var whole = Math.Abs(v[load.First] - v[before - 1]);
            var moved = Math.Abs(v[before] - v[before - 1]);
            if (moved < MovedShare * whole || record.TimeS[before] - record.TimeS[before - 1] > 1 || whole < 0.002) break;
            before--;
        }

        return before;
    }

    private static Pulse? Measure(MeasuredRun run, MeasuredRecord record, Stretch rest, Stretch load)
    {
        var v = record.TotalV;
        var before = LastRowBefore(record, v, rest, load);
        var duration = record.TimeS[load.Last] - record.TimeS[before];
        if (duration is < ShortestS or > LongestS || load.Rows < 3) return null;
        var (mean, flat) = Flat(record, load);
        // Cut back by a voltage limit: the voltage stands while the current falls.
        var cutShort = !flat && IsCutBack(record, v, load);
        if (!flat && !cutShort) return null;
        List<string> why = [];
        double? At(double s, string name)
        {
            if (OhmAt(record, v, before, load.Last, s) is { } ohm) return 1000 * ohm;
            why.Add(duration < s ? $"the load lasted {duration:F2} s: no value at {name}" : $"no row between the step and {name}");
            return null;
        }

        double? two = At(2, "2 s"), ten = At(10, "10 s");
        var end = 1000 * PulseResistance.Ohm(v[before], record.CurrentA[before], v[load.Last], record.CurrentA[load.Last]);
        if (rest.Rows == 1 || record.TimeS[rest.Last] - record.TimeS[rest.First] < RestBeforeS) why.Add("rest before the pulse is not in the record");
        return new Pulse(
            record.Name, record.TimeS[before], mean, duration, v[before], two, ten, end, 1000 * run.ResolutionV / Math.Abs(mean), cutShort, why.Count == 0 ? null : string.Join("; ", why));
    }

    private static (double MeanA, bool Flat) Flat(MeasuredRecord record, Stretch load)
    {
        // The first second belongs to the rise of the source.
        var start = load.First;
        while (start < load.Last && record.TimeS[start] < record.TimeS[load.First] + 1) start++;
        var window = record.CurrentA.AsSpan(start, load.Last - start + 1);
        var median = Statistics.Robust.Median(window);
        var inside = 0;
        foreach (var i in window)
            if (Math.Abs(i - median) <= Flatness * Math.Abs(median)) inside++;
        return (median, inside >= 0.95 * window.Length);
    }

    private static bool IsCutBack(MeasuredRecord record, double[] v, Stretch load)
    {
        double highest = 0, limitV = v[load.Last];
        var peak = load.First;
        for (var r = load.First; r <= load.Last; r++)
        {
            if (Math.Abs(record.CurrentA[r]) > highest) (highest, peak) = (Math.Abs(record.CurrentA[r]), r);
        }

        return Math.Abs(record.CurrentA[load.Last]) < 0.98 * highest && Math.Abs(v[(peak + load.Last) / 2] - limitV) <= 0.003;
    }
}
