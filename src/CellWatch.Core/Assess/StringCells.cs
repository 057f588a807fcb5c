using CellWatch.Core.Estimation;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Assess;

/// <summary>Reads a string's discharge cell by cell: who ended it and why, what the others had left, and the links between.</summary>
internal static class StringCells
{
    /// <summary>A resistance above this many times the median of its siblings is high (common practice).</summary>
    private const double HighResistance = 1.25;

    /// <summary>Rows this soon after a step of current are left out of the link fit: string and cells are not read at one instant, s.</summary>
    private const double SettleS = 10;

    public static (MeasuredRecord Record, Stretch Run, int Before)? LongestDischarge(MeasuredRun run)
    {
        (MeasuredRecord, Stretch, int)? longest = null;
        double most = 0;
        foreach (var record in run.Records)
        {
            var stretches = RunFinder.Stretches(record, run.RestA);
            for (var i = 0; i < stretches.Count; i++)
            {
                if (stretches[i].Direction >= 0 || stretches[i].Rows < 3) continue;
                var ah = RunFinder.Count(record, stretches[i], run.RestA).ChargeAh ?? 0;
                if (ah <= most) continue;
                most = ah;
                longest = (record, stretches[i], i > 0 && stretches[i - 1].Direction == 0 ? stretches[i - 1].Last : -1);
            }
        }

        return longest;
    }

    public static List<StringCell> Cells(MeasuredRecord record, Stretch s, int before)
    {
        var ended = RunFinder.EndingCell(record, s);
        var toCome = ChargeToCome(record, s);
        var tailV = record.CellV[ended].AsSpan(s.First, s.Rows);
        List<StringCell> cells = [];
        for (var k = 0; k < record.CellV.Length; k++)
        {
            List<string> why = [];
            double? tenMilliohm = before >= 0 ? 1000 * PulseFinder.OhmAt(record, record.CellV[k], before, s.Last, 10) : null;
            if (tenMilliohm is null) why.Add(before < 0 ? "no rest before the run: no resistance" : "no rows 10 s after the step");
            var endV = record.CellV[k][s.Last];
            (double Ah, double SigmaAh)? left = k == ended
                ? (0, 0)
                : RemainingCharge.FromTail(tailV, toCome, endV, record.CurrentA[s.Last], (tenMilliohm ?? 1) / 1000);
            if (left is null) why.Add($"cell {ended + 1} was never as high as this one under load: nothing to compare with");
            cells.Add(new StringCell(k + 1, endV, left?.Ah, left?.SigmaAh, tenMilliohm, before >= 0 ? record.CellV[k][before] : null, why.Count == 0 ? null : string.Join("; ", why)));
        }

        return cells;
    }

    /// <summary>
    /// Why the cell that ended the run is the weak one. High resistance would need a resistance above its siblings', and a shortfall no
    /// larger than that explains.
    /// </summary>
    public static (int? Weakest, string Because) Weakest(IReadOnlyList<StringCell> cells, double currentA)
    {
        var weak = cells.MinBy(c => c.EndV)!;
        var others = cells.Where(c => c.Index != weak.Index).ToArray();
        var left = others.Where(c => c.RemainingAh is not null).Select(c => c.RemainingAh!.Value).ToArray();
        if (weak.Resistance10sMilliohm is not { } own || others.Any(c => c.Resistance10sMilliohm is null) || left.Length == 0)
            return (weak.Index, "undecided: no step from rest at the start of the run, so resistance cannot be excluded; add one minute of rest before the next run");
        var sibling = Robust.Median(others.Select(c => c.Resistance10sMilliohm!.Value).ToArray());
        var figures = FormattableString.Invariant(
            $"its 10 s resistance is {own:F3} mOhm against {sibling:F3} mOhm of its siblings, and the others had {left.Min():F1} to {left.Max():F1} Ah left");
        if (own > HighResistance * sibling)
        {
            var explainedV = Math.Abs(currentA) * (own - sibling) / 1000;
            var missingV = Robust.Median(others.Select(c => c.EndV).ToArray()) - weak.EndV;
            return explainedV * RemainingCharge.NearEmptyFactor >= missingV
                ? (weak.Index, FormattableString.Invariant($"high resistance: {figures}; it explains {1000 * explainedV:F0} mV at {Math.Abs(currentA):F1} A"))
                : (weak.Index, FormattableString.Invariant($"undecided: {figures}; resistance explains only {1000 * explainedV:F0} of {1000 * missingV:F0} mV; a slower run decides"));
        }

        return (weak.Index, $"low capacity, not resistance: {figures}{StartNote(weak, others)}");
    }

    /// <summary>Sum of cells minus string voltage against current, settled rows only: slope = links, intercept = meter offset.</summary>
    public static (double? Milliohm, double? SigmaMilliohm, double? OffsetV) Links(MeasuredRun run)
    {
        if (!run.HasStringVoltage) return (null, null, null);
        var line = new RunningLine();
        foreach (var record in run.Records)
        {
            var changedS = double.NegativeInfinity;
            for (var r = 0; r < record.Rows; r++)
            {
                if (r > 0 && Math.Abs(record.CurrentA[r] - record.CurrentA[r - 1]) > Math.Max(run.RestA, 0.02 * Math.Abs(record.CurrentA[r]))) changedS = record.TimeS[r - 1];
                if (record.TimeS[r] - changedS < SettleS) continue;
                line.Add(-record.CurrentA[r], record.CellV.Sum(c => c[r]) - record.TotalV[r]);
            }
        }

        return line.Fit() is { } fit && line.SpreadX > run.RestA ? (1000 * fit.Slope, 1000 * fit.SlopeSigma, fit.Intercept) : (null, null, null);
    }

    private static string StartNote(StringCell weak, StringCell[] others)
    {
        if (weak.RestV is not { } own || others.Any(c => c.RestV is null)) return "";
        var below = 1000 * (Robust.Median(others.Select(c => c.RestV!.Value).ToArray()) - own);
        return below < 10
            ? ""
            : FormattableString.Invariant($". It also started {below:F0} mV below its siblings at rest: part of the shortfall may be charge it lacked at the start; a run after all cells were full decides");
    }

    private static double[] ChargeToCome(MeasuredRecord record, Stretch s)
    {
        var toCome = new double[s.Rows];
        for (var i = s.Rows - 2; i >= 0; i--)
        {
            var r = s.First + i;
            toCome[i] = toCome[i + 1] + Math.Abs(ChargeCounter.TrapezoidAh(record.CurrentA[r], record.CurrentA[r + 1], record.TimeS[r + 1] - record.TimeS[r]));
        }

        return toCome;
    }
}
