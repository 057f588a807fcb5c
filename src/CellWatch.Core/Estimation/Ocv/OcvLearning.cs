namespace CellWatch.Core.Estimation.Ocv;

/// <summary>A cell at rest, for learning its curve.</summary>
/// <param name="FromFullAh">Charge counted since the cell was full: 0 at full, negative below.</param>
/// <param name="VoltageV">At the end of the rest.</param>
/// <param name="SigmaV">Doubt of that voltage as an open-circuit voltage: resolution and what the rest had still to settle.</param>
public readonly record struct RestPoint(double FromFullAh, double VoltageV, double SigmaV);

/// <summary>A curve learned from one run.</summary>
/// <param name="Curve">With the standard deviation of each point.</param>
/// <param name="CapacityAh">From full to the end of discharge: the charge that 0 to 100 % stand for.</param>
/// <param name="Rests">What it was learned from, full first.</param>
public sealed record LearnedCurve(OcvCurve Curve, double CapacityAh, IReadOnlyList<RestPoint> Rests);

/// <summary>
/// Learns the open-circuit voltage of your own cell from its rests and the charge counted between them, with an interval. Prefer
/// such a curve to any published one.
/// <para>Source: common laboratory practice. The doubt of a straight piece between two rests is taken as an eighth of the second
/// difference of its neighbours (the error bound of linear interpolation).</para>
/// </summary>
public static class OcvLearning
{
    /// <summary>A shorter rest does not tell an open-circuit voltage, s (own rule; longer is better).</summary>
    public const double ShortestRestS = 1800;

    /// <summary>Resolution of common cell testers, V: one millivolt, taken as a uniform step.</summary>
    private const double StepSigmaV = 0.001 / 3.46;

    /// <summary>
    /// Curve from rests. 100 % is full, 0 % is <paramref name="capacityAh"/> below it. Rests closer than half a percent are
    /// averaged.
    /// </summary>
    /// <exception cref="ArgumentException">Fewer than three rests, or a rest at more charge has the lower voltage: the message says which.</exception>
    public static OcvCurve FromRests(string name, string source, ReadOnlySpan<RestPoint> rests, double capacityAh)
    {
        if (!(capacityAh > 0)) throw new ArgumentOutOfRangeException(nameof(capacityAh), capacityAh, "Capacity must be above 0.");
        var sorted = rests.ToArray();
        Array.Sort(sorted, (a, b) => a.FromFullAh.CompareTo(b.FromFullAh));
        List<double> soc = [], voltage = [], sigma = [];
        foreach (var r in sorted)
        {
            var at = Math.Clamp(100 * (1 + r.FromFullAh / capacityAh), 0, 100);
            if (soc.Count > 0 && at - soc[^1] < 0.5)
            {
                voltage[^1] = (voltage[^1] + r.VoltageV) / 2;
                sigma[^1] = Math.Max(sigma[^1], Math.Max(r.SigmaV, Math.Abs(voltage[^1] - r.VoltageV)));
                continue;
            }

            soc.Add(at);
            voltage.Add(r.VoltageV);
            sigma.Add(r.SigmaV);
        }

        if (soc.Count < 3) throw new ArgumentException("At least three rests at different charge are needed to learn a curve.", nameof(rests));
        return WithMiddles(name, source, soc, voltage, sigma);
    }

    /// <summary>
    /// Curve from one recorded run of a single cell: full charge (constant voltage at <paramref name="fullV"/> to a small current),
    /// then discharge in steps with rests, down to <paramref name="emptyV"/>. Time rises, s; current positive = charging, A.
    /// </summary>
    /// <exception cref="ArgumentException">No full charge, no end of discharge, or too few rests are in the run.</exception>
    public static LearnedCurve FromRun(
        string name, string source, ReadOnlySpan<double> timeS, ReadOnlySpan<double> currentA, ReadOnlySpan<double> voltageV, double fullV, double emptyV)
    {
        var largest = 0.0;
        foreach (var i in currentA) largest = Math.Max(largest, Math.Abs(i));
        var restA = largest / 100;
        var full = EndOfCharge(currentA, voltageV, fullV, restA);
        var counted = new double[timeS.Length];
        var empty = -1;
        for (var k = full + 1; k < timeS.Length; k++)
        {
            counted[k] = counted[k - 1] + ChargeCounter.TrapezoidAh(currentA[k - 1], currentA[k], timeS[k] - timeS[k - 1]);
            if (empty < 0 && currentA[k] < -restA && voltageV[k] <= emptyV + 0.0015) empty = k;
        }

        if (empty < 0) throw new ArgumentException($"The run does not reach {emptyV} V after the full charge: its capacity is not known.", nameof(voltageV));
        List<RestPoint> rests = [];
        var lastDropV = double.NaN;
        for (var k = full + 1; k < empty; k++)
        {
            if (Math.Abs(currentA[k]) > restA) continue;
            var start = k;
            while (k + 1 < empty && Math.Abs(currentA[k + 1]) <= restA) k++;
            if (timeS[k] - timeS[start] < ShortestRestS) continue;
            var half = start;
            while (timeS[half] < (timeS[start] + timeS[k]) / 2) half++;
            var settlingV = voltageV[k] - voltageV[half];
            rests.Add(new RestPoint(counted[k], voltageV[k], Math.Sqrt(StepSigmaV * StepSigmaV + settlingV * settlingV)));
            if (currentA[start - 1] < -restA) lastDropV = voltageV[k] - voltageV[start - 1];
        }

        // The end under load lies below the open-circuit voltage by about what the last rest recovered; half of that is its doubt.
        if (!double.IsNaN(lastDropV)) rests.Add(new RestPoint(counted[empty], voltageV[empty] + lastDropV, lastDropV / 2));
        var capacityAh = -counted[empty];
        return new LearnedCurve(FromRests(name, source, rests.ToArray(), capacityAh), capacityAh, rests);
    }

    private static int EndOfCharge(ReadOnlySpan<double> currentA, ReadOnlySpan<double> voltageV, double fullV, double restA)
    {
        for (var k = 0; k + 1 < currentA.Length; k++)
            if (currentA[k] > restA && voltageV[k] >= fullV - 0.002 && Math.Abs(currentA[k + 1]) <= restA) return k;
        throw new ArgumentException($"The run holds no full charge: no charge ends at {fullV} V with rest after it.", nameof(voltageV));
    }

    private static OcvCurve WithMiddles(string name, string source, List<double> soc, List<double> voltage, List<double> sigma)
    {
        List<double> s = [soc[0]], v = [voltage[0]], d = [sigma[0]];
        for (var i = 0; i + 1 < soc.Count; i++)
        {
            if (voltage[i + 1] <= voltage[i])
                throw new ArgumentException(FormattableString.Invariant($"The rest at {soc[i + 1]:F1} % lies at {voltage[i + 1]:F4} V, not above that at {soc[i]:F1} %: check the count and the rests."), nameof(voltage));
            var bend = Math.Max(Bend(soc, voltage, i), Bend(soc, voltage, i + 1)) / 8;
            var mean = (sigma[i] + sigma[i + 1]) / 2;
            s.AddRange([(soc[i] + soc[i + 1]) / 2, soc[i + 1]]);
            v.AddRange([(voltage[i] + voltage[i + 1]) / 2, voltage[i + 1]]);
            d.AddRange([Math.Sqrt(mean * mean + bend * bend), sigma[i + 1]]);
        }

        return new OcvCurve(name, "learned from its own rests", source, s.ToArray(), v.ToArray(), d.ToArray());
    }

    /// <summary>Change of voltage from one piece to the next at a point, V, scaled to the mean length of both.</summary>
    private static double Bend(List<double> soc, List<double> v, int i)
    {
        if (i == 0 || i == soc.Count - 1) return 0;
        double before = (v[i] - v[i - 1]) / (soc[i] - soc[i - 1]), after = (v[i + 1] - v[i]) / (soc[i + 1] - soc[i]);
        return Math.Abs(after - before) * (soc[i + 1] - soc[i - 1]) / 2;
    }
}
