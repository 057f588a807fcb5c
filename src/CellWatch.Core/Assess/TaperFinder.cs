using CellWatch.Core.Estimation;

namespace CellWatch.Core.Assess;

/// <summary>Finds the constant-voltage end of charges and fits its falling current. Source: see <see cref="Taper"/>.</summary>
internal static class TaperFinder
{
    /// <summary>Within this of the highest voltage of the charge the voltage is held, V; testers hold within a few millivolts.</summary>
    private const double HeldWithinV = 0.005;

    /// <summary>A shorter stretch at the limit is a pulse that was cut, s.</summary>
    private const double ShortestS = 60;

    public static List<TaperEntry> Find(MeasuredRun run, (double FromA, double ToA)? between)
    {
        List<TaperEntry> found = [];
        foreach (var record in run.Records)
            foreach (var s in RunFinder.Stretches(record, run.RestA))
                if (s.Direction > 0 && s.Rows >= 5 && Measure(record, s, between) is { } taper) found.Add(taper);
        return found;
    }

    private static TaperEntry? Measure(MeasuredRecord record, Stretch s, (double FromA, double ToA)? between)
    {
        var chargeA = Statistics.Robust.Median(record.CurrentA.AsSpan(s.First, s.Rows));
        var top = s.First;
        for (var r = s.First; r <= s.Last; r++)
            if (Highest(record, r) > Highest(record, top)) top = r;
        var first = s.Last;
        while (first > s.First && Highest(record, first - 1) >= Highest(record, top) - HeldWithinV) first--;
        // The current at the start of constant voltage is that of the charge, also where most rows lie in the taper.
        chargeA = Math.Max(chargeA, record.CurrentA[first]);
        var endA = record.CurrentA[s.Last];
        if (s.Last - first < 3 || record.TimeS[s.Last] - record.TimeS[first] < ShortestS || endA > 0.8 * chargeA) return null;
        var (fromA, toA) = between ?? (0.1 * chargeA, 0.9 * chargeA);
        List<double> t = [], i = [];
        for (var r = first; r <= s.Last; r++)
        {
            if (record.CurrentA[r] < fromA || record.CurrentA[r] > toA) continue;
            t.Add(record.TimeS[r] - record.TimeS[first]);
            i.Add(record.CurrentA[r]);
        }

        var fit = Taper.Fit(t.ToArray(), i.ToArray());
        return new TaperEntry(
            record.Name, record.TimeS[first], record.TimeS[s.Last], fit?.TimeConstantS, endA, fromA, toA, fit?.RSquared, t.Count,
            fit is null ? FormattableString.Invariant($"{t.Count} row(s) lie between {fromA:G3} and {toA:G3} A at constant voltage: at least 3 falling ones are needed") : null);
    }

    private static double Highest(MeasuredRecord record, int row)
    {
        var v = record.CellV[0][row];
        for (var k = 1; k < record.CellV.Length; k++) v = Math.Max(v, record.CellV[k][row]);
        return v;
    }
}
