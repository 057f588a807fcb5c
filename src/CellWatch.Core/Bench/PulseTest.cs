using CellWatch.Core.Estimation;

namespace CellWatch.Core.Bench;

/// <summary>A discharge pulse on a module, from a second before it to its end.</summary>
/// <param name="TimeS">Rising; the same instants for voltage and current.</param>
/// <param name="CurrentA">Positive charges.</param>
/// <param name="CellV">One array a group.</param>
/// <param name="StartDegC">Temperature at its start.</param>
/// <param name="EndDegC">At its end.</param>
/// <param name="ChargePercent">Charge level it was taken at.</param>
/// <param name="LowestV">Voltage limit of the load or charger; a pulse that reached it was cut.</param>
public sealed record PulseRecording(double[] TimeS, double[] CurrentA, double[][] CellV, double StartDegC, double EndDegC, double ChargePercent, double LowestV);

/// <summary>Resistance of one group.</summary>
/// <param name="Cell">From 1.</param>
/// <param name="OhmicMilliohm">0.5 s after the step: cell and joints.</param>
/// <param name="TenSecondMilliohm">10 s after the step.</param>
public sealed record GroupResistance(int Cell, double OhmicMilliohm, double TenSecondMilliohm)
{
    /// <summary>The slow part: diffusion inside the cell, which a joint does not have.</summary>
    public double SlowMilliohm => TenSecondMilliohm - OhmicMilliohm;
}

/// <summary>Outcome of a pulse test. Values hold only with the time, charge level, temperature and current beside them.</summary>
/// <param name="Comparable">False: the values are withheld.</param>
/// <param name="Fitness">Why.</param>
/// <param name="Groups">Empty when not comparable.</param>
/// <param name="CurrentA">Step of current.</param>
/// <param name="Sentence">The finding.</param>
public sealed record PulseOutcome(bool Comparable, IReadOnlyList<FitnessPoint> Fitness, IReadOnlyList<GroupResistance> Groups, double CurrentA, string Sentence);

/// <summary>
/// 10 s pulse resistance of each group. A pulse whose current was not flat within 2 %, whose temperature moved or which hit a limit gives
/// "not comparable" and no number. Source: form of the vehicle-battery pulse manuals (from memory); limits are own rules.
/// </summary>
public static class PulseTest
{
    /// <summary>Allowed change of current within the pulse.</summary>
    public const double FlatShare = 0.02;

    /// <summary>Allowed change of temperature, K.</summary>
    public const double SteadyK = 2;

    /// <summary>Least current, A, for a group of about 100 Ah (common practice, no source).</summary>
    public const double LeastA = 30;

    /// <summary>The first loaded sample is never used: readings of one row are not taken at one instant.</summary>
    public const double OhmicAfterS = 0.5;

    /// <summary>Judges a pulse.</summary>
    public static PulseOutcome Judge(PulseRecording r, double leastA = LeastA)
    {
        var used = CapacityTest.ForwardRows(r.TimeS, out var back);
        var peakA = used.Count == 0 ? 0 : used.Max(i => Math.Abs(r.CurrentA[i]));
        var pulse = used.Where(i => Math.Abs(r.CurrentA[i]) > 0.5 * peakA && peakA > 0).ToList();
        var lengthS = pulse.Count < 2 ? 0 : r.TimeS[pulse[^1]] - r.TimeS[pulse[0]];
        var middle = pulse.Skip(2).SkipLast(1).Select(i => Math.Abs(r.CurrentA[i])).ToList();
        var unflat = middle.Count == 0 ? 1 : (middle.Max() - middle.Min()) / middle.Average();
        var lowestV = pulse.Count == 0 ? double.NaN : pulse.Min(i => r.CellV.Min(c => c[i]));
        var fitness = new List<FitnessPoint>
        {
            new(T("time forward"), back.Count == 0, back.Count == 0 ? T("no step back") : T($"{back.Count} rows step back")),
            new(T("current flat"), unflat <= FlatShare, T($"moved by {100 * unflat:0.0} %")),
            new(T("current large enough"), peakA >= leastA, $"{peakA:0.0} A"),
            new(T("long enough"), lengthS >= 9.5, $"{lengthS:0.0} s"),
            new(T("temperature steady"), Math.Abs(r.EndDegC - r.StartDegC) <= SteadyK, T($"{r.StartDegC:0.0} to {r.EndDegC:0.0} degC")),
            new(T("not cut by a limit"), lowestV > r.LowestV, T($"lowest {lowestV:0.000} V, limit {r.LowestV:0.00} V")),
        };
        if (fitness.Find(f => !f.Fit) is { } fault)
            return new PulseOutcome(false, fitness, [], peakA, T($"Not comparable: {fault.Name}: {fault.Sentence}. No resistance is stated."));

        var groups = r.CellV.Select((c, g) => new GroupResistance(
            g + 1, CapacityTest.ResistanceAt(OhmicAfterS, r.TimeS, r.CurrentA, c, used), CapacityTest.ResistanceAt(10, r.TimeS, r.CurrentA, c, used))).ToList();
        var worst = groups.MaxBy(g => g.TenSecondMilliohm)!;
        return new PulseOutcome(true, fitness, groups, peakA,
            T($"10 s resistance {groups.Min(g => g.TenSecondMilliohm):0.00}-{worst.TenSecondMilliohm:0.00} mOhm, highest group {worst.Cell}, at {peakA:0} A, {r.ChargePercent:0} % and {r.StartDegC:0} degC."));
    }

    /// <summary>The cause that rejects a module.</summary>
    internal static string LostParallelCell => T("about twice the resistance with about half the capacity: a parallel cell has dropped out");

    /// <summary>
    /// Whether a raised resistance sits in the cell or in a joint: the ohmic part alone raised is a joint or tab, both raised is the cell, about
    /// twice with about half the capacity is a dropped parallel cell. Ratios are against the sibling median; the bounds are own rules.
    /// </summary>
    public static string Cause(double ohmicRatio, double slowRatio, double capacityRatio)
    {
        if (ohmicRatio > 1.6 && slowRatio > 1.5 && capacityRatio < 0.65)
            return LostParallelCell;
        if (ohmicRatio > 1.25 && slowRatio < 1.15) return T("the ohmic part alone is raised: a joint or tab; clean, torque and measure again");
        return ohmicRatio > 1.25 && slowRatio > 1.25 ? T("both parts are raised: the cell itself") : T("not clearly one or the other: repeat at 20 % and 80 % charge");
    }
}
