namespace CellWatch.Core.Assess;

/// <summary>
/// Looks for steps of voltage that no cell can make: a sense lead that carries current, or a poor clamp. A cell whose resistance times
/// its capacity passes 1 V would lose more than a volt at 1C: no usable cell does; sound ones lie at 0.05 to 0.2 V.
/// Source: own rule, from the cells measured in the reference data.
/// </summary>
internal static class SenseCheck
{
    private const double LargestLossAtOneC = 1.0, LongestBetweenRowsS = 5;

    /// <summary>The finding for the whole file; null where every step is believable or the capacity is not known.</summary>
    public static Unfit? Find(MeasuredRun run, double? capacityAh)
    {
        if (capacityAh is not > 0) return null;
        List<double> ohm = [];
        double firstS = 0, largestStepV = 0, itsCurrentA = 0;
        foreach (var record in run.Records)
        {
            var stretches = RunFinder.Stretches(record, run.RestA);
            for (var i = 1; i < stretches.Count; i++)
            {
                int a = stretches[i - 1].Last, b = stretches[i].First;
                if (record.TimeS[b] - record.TimeS[a] > LongestBetweenRowsS) continue;
                double dv = record.TotalV[b] - record.TotalV[a], di = record.CurrentA[b] - record.CurrentA[a];
                var r = dv / di / run.Cells;
                if (!(r * capacityAh > LargestLossAtOneC) || Math.Abs(dv) < 20 * run.ResolutionV) continue;
                if (ohm.Count == 0) firstS = record.TimeS[a];
                if (Math.Abs(dv) > largestStepV) (largestStepV, itsCurrentA) = (Math.Abs(dv), Math.Abs(di));
                ohm.Add(r);
            }
        }

        if (ohm.Count == 0) return null;
        return new Unfit("sense connection", firstS, FormattableString.Invariant(
            $"The voltage jumps by {largestStepV:F2} V when {itsCurrentA:F2} A starts or stops, an apparent {1000 * ohm.Min():F0} to {1000 * ohm.Max():F0} mOhm at {ohm.Count} step(s). That is not believable for a cell of {capacityAh:F1} Ah: check the sense connection (two wires, or a poor clamp). It is not printed as cell resistance, and voltages under current are off by as much."));
    }
}
