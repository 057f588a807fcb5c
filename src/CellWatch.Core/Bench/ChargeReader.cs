using CellWatch.Core.Charging;
using CellWatch.Core.Estimation;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Bench;

/// <summary>A stretch of a charge without data.</summary>
/// <param name="At">When it began.</param>
/// <param name="LengthS">How long, s.</param>
public sealed record ChargeGap(DateTimeOffset At, double LengthS);

/// <summary>What the scans of a charge say.</summary>
/// <param name="FromUnixMs">First scan, ms since 1970.</param>
/// <param name="ToUnixMs">Last scan.</param>
/// <param name="Curve">Its course: greatest and least of each stretch, broken at gaps.</param>
/// <param name="LimitedBy">Cell that was first at its target; -1 for none.</param>
/// <param name="LimitedAtUnixMs">When; null for never.</param>
/// <param name="LimitedAtV">Its voltage then, V.</param>
/// <param name="LimitedAtA">Current then, A.</param>
/// <param name="LimitedAtDegC">Its module's warmest sensor then; NaN where not known.</param>
/// <param name="HighestCell">Cell with the highest voltage of all; -1 where none was known.</param>
/// <param name="HighestV">That voltage, V.</param>
/// <param name="HighestAtUnixMs">When.</param>
/// <param name="LongestAtTargetS">Longest time at the target without the current falling, s.</param>
/// <param name="TaperS">Fitted time constant of the taper, s; NaN where none fits.</param>
/// <param name="TaperRSquared">How well it fits; NaN where none does.</param>
/// <param name="InAh">Charge counted, Ah; nothing across gaps.</param>
/// <param name="PackWh">Energy counted, Wh; nothing across gaps.</param>
/// <param name="NotCountedS">Time for which charge or energy was not known, s.</param>
/// <param name="LongestSilenceS">Longest time for which a cell or the current was not known, s, gaps included.</param>
/// <param name="UnprovenScans">Scans in which a cell that was read was not proven.</param>
/// <param name="Gaps">Gaps, in order.</param>
/// <param name="ColdestAtStartDegC">Coldest sensor at the beginning.</param>
/// <param name="HottestAtStartDegC">Hottest sensor at the beginning.</param>
/// <param name="HottestDegC">Hottest of all.</param>
/// <param name="HottestSensor">Its channel; -1 where none was known.</param>
/// <param name="EndA">Current of the last scan; NaN where not known.</param>
/// <param name="FirstStepS">Longest step between the scans of the first minute: how old data were at most.</param>
/// <param name="AnySimulated">Whether any value came from a model.</param>
/// <param name="ZeroUnixMs">Instants at which the current had just fallen to zero from a charge.</param>
public sealed record ChargeReading(
    long FromUnixMs, long ToUnixMs, ChargeCurve Curve, int LimitedBy, long? LimitedAtUnixMs, double LimitedAtV, double LimitedAtA, double LimitedAtDegC,
    int HighestCell, double HighestV, long HighestAtUnixMs, double LongestAtTargetS, double TaperS, double TaperRSquared, double InAh, double PackWh, double NotCountedS,
    double LongestSilenceS, int UnprovenScans, IReadOnlyList<ChargeGap> Gaps, double ColdestAtStartDegC, double HottestAtStartDegC, double HottestDegC, int HottestSensor,
    double EndA, double FirstStepS, bool AnySimulated, IReadOnlyList<long> ZeroUnixMs);

/// <summary>
/// Reads a charge scan by scan out of the record: course, charge and energy by the trapezoid rule, who was first at the target, whether the current
/// obeyed (the same judge as beside a live charge), the taper. What is not known is said and counted, never filled. Not safe for several threads.
/// </summary>
/// <param name="map">Channels.</param>
/// <param name="limits">Limits of the cell type.</param>
public sealed class ChargeReader(ChannelMap map, CellLimits limits)
{
    /// <summary>A cell counts as at its target from so much below it, V: the resolution asked of a channel.</summary>
    public const double AtTargetWithinV = 0.001;

    /// <summary>Time at the target after which a current that does not fall does not obey, s; as live.</summary>
    public const double ObeysWithinS = 10;

    /// <summary>A current below this is zero, A: more than the usual offset of a sensor; as for recognised runs.</summary>
    public const double ZeroA = 0.5;

    /// <summary>Two scans further apart than this are a gap, s; as for recognised runs. A log that keeps a scan every ten seconds has none, but its data were old.</summary>
    public const double LongestStepS = 15;

    private const double SmoothS = 4;

    private readonly CurrentAtTarget atTarget = new();
    private readonly TaperFollower taper = new();
    private readonly ChargeCourse course = new();
    private readonly double[] smoothV = NaNs(map.CellCount);
    private readonly double[] silentS = new double[map.CellCount + 1];
    private readonly List<ChargeGap> gaps = [];
    private readonly List<long> zeros = [];
    private (long Us, long Ms, double A, double W) last = (0, 0, double.NaN, double.NaN);
    private long fromMs;
    private int scans, limitedBy = -1, highestCell = -1, hottestSensor = -1, unproven;
    private long? limitedAtMs;
    private long highestAtMs;
    private double limitedV = double.NaN, limitedA = double.NaN, limitedDegC = double.NaN, highestV = double.NegativeInfinity, hottestDegC = double.NaN;
    private double coldStart = double.NaN, hotStart = double.NaN, ah, wh, notCountedS, longestAtTargetS, longestSilenceS, firstStepS;
    private bool simulated;

    /// <summary>Scans taken.</summary>
    public int Scans => scans;

    /// <summary>Takes a scan; in the order recorded.</summary>
    public void Add(Snapshot scan)
    {
        var (us, ms) = (scan.Time.ElapsedUs, scan.Time.WallUnixMs);
        if (scans++ == 0)
        {
            fromMs = ms;
            atTarget.Begin();
        }

        // The elapsed clock begins anew with the program: then only the wall tells how long nothing was recorded.
        var dtS = scans == 1 ? 0 : us > last.Us ? (us - last.Us) * 1e-6 : Math.Max(0, ms - last.Ms) / 1000.0;
        var gap = scans > 1 && (dtS > LongestStepS || us <= last.Us);
        if (gap) Gap(dtS);
        if (ms - fromMs < 60_000) firstStepS = Math.Max(firstStepS, dtS);
        simulated |= scan.AnySimulated;
        var currentA = scan.TryGetPackCurrentA(out var a) ? a : double.NaN;
        Silence(scan, dtS, currentA);
        var (top, sumV, lowestV, rawTopV, rawTop) = Cells(scan, gap ? 0 : dtS);
        if (double.IsNaN(sumV) && scan.TryGetStringVoltageV(out var stringV)) sumV = stringV;
        Temperatures(scan);
        Count(dtS, gap, currentA, currentA * sumV);
        if (last.A > ZeroA && currentA <= ZeroA) zeros.Add(ms);
        if (rawTopV > highestV) (highestV, highestAtMs, highestCell) = (rawTopV, ms, rawTop);
        if (top >= 0 && double.IsFinite(currentA)) Target(scan, us, ms, top, currentA);
        course.Add((ms - fromMs) / 1000.0, currentA, rawTopV, lowestV);
        last = (us, ms, currentA, currentA * sumV);
    }

    /// <summary>What they come to.</summary>
    public ChargeReading Finish() => new(
        fromMs, last.Ms, course.Curve(), limitedBy, limitedAtMs, limitedV, limitedA, limitedDegC, highestCell, highestCell < 0 ? double.NaN : highestV, highestAtMs, longestAtTargetS,
        taper.TimeConstantS, taper.RSquared, ah, wh, notCountedS, longestSilenceS, unproven, gaps, coldStart, hotStart, hottestDegC, hottestSensor, last.A, firstStepS, simulated, zeros);

    private void Gap(double lengthS)
    {
        gaps.Add(new ChargeGap(DateTimeOffset.FromUnixTimeMilliseconds(last.Ms), lengthS));
        course.Break();
        smoothV.AsSpan().Fill(double.NaN);
    }

    private void Silence(Snapshot scan, double dtS, double currentA)
    {
        var isUnproven = false;
        for (var c = 0; c <= map.CellCount; c++)
        {
            // A cell known in this scan was unknown for the step before it at most: only what stays unknown adds up.
            var known = c < map.CellCount ? scan.TryGet(c, out _) : double.IsFinite(currentA);
            silentS[c] += dtS;
            longestSilenceS = Math.Max(longestSilenceS, silentS[c]);
            if (known) silentS[c] = 0;
            isUnproven |= known && c < map.CellCount && !scan.Proven[c];
        }

        if (isUnproven) unproven++;
    }

    private (int SteadyTop, double SumV, double LowestV, double TopV, int Top) Cells(Snapshot scan, double dtS)
    {
        var share = 1 - Math.Exp(-dtS / SmoothS);
        var (top, rawTop, sum, lowest, topV) = (-1, -1, 0.0, double.PositiveInfinity, double.NegativeInfinity);
        for (var c = 0; c < map.CellCount; c++)
        {
            if (!scan.TryGet(c, out var v))
            {
                (smoothV[c], sum) = (double.NaN, double.NaN);
                continue;
            }

            smoothV[c] = double.IsNaN(smoothV[c]) || dtS <= 0 ? v : smoothV[c] + share * (v - smoothV[c]);
            sum += v;
            lowest = Math.Min(lowest, v);
            if (v > topV) (topV, rawTop) = (v, c);
            if (top < 0 || smoothV[c] > smoothV[top]) top = c;
        }

        return rawTop < 0 ? (-1, double.NaN, double.NaN, double.NaN, -1) : (top, sum, lowest, topV, rawTop);
    }

    private void Temperatures(Snapshot scan)
    {
        for (var s = 0; s < map.TemperatureCount; s++)
        {
            if (!scan.TryGet(map.FirstTemperature + s, out var degC)) continue;
            if (!(degC <= hottestDegC)) (hottestDegC, hottestSensor) = (degC, map.FirstTemperature + s);
            if (scans > 1) continue;
            coldStart = double.IsNaN(coldStart) ? degC : Math.Min(coldStart, degC);
            hotStart = double.IsNaN(hotStart) ? degC : Math.Max(hotStart, degC);
        }
    }

    private void Count(double dtS, bool gap, double currentA, double powerW)
    {
        if (scans == 1) return;
        var known = !gap && double.IsFinite(currentA) && double.IsFinite(last.A);
        if (known) ah += ChargeCounter.TrapezoidAh(last.A, currentA, dtS);
        if (known && double.IsFinite(powerW) && double.IsFinite(last.W)) wh += (last.W + powerW) / 2 * dtS / 3600;
        else notCountedS += dtS;
    }

    private void Target(Snapshot scan, long us, long ms, int top, double currentA)
    {
        var targetV = limits.ChargeTargetV - AtTargetWithinV;
        // A rest within the charge, a cut-off that is tried say, is no current that should fall.
        if (currentA > ZeroA) longestAtTargetS = Math.Max(longestAtTargetS, atTarget.Step(us, smoothV[top], targetV, currentA));
        if (limitedAtMs is null && currentA > ZeroA && smoothV[top] >= targetV - 1e-7)
        {
            (limitedAtMs, limitedBy, limitedV, limitedA, limitedDegC) = (ms, top, smoothV[top], currentA, WarmestOf(scan, map.Layout.ModuleOfCell(top)));
            taper.Begin(us);
        }
        else if (limitedAtMs is not null && currentA > ZeroA) taper.Step(us, currentA);
    }

    private double WarmestOf(Snapshot scan, int module)
    {
        var warmest = double.NaN;
        for (var s = map.Layout.FirstTemperature(module); s < map.Layout.FirstTemperature(module + 1); s++)
            if (scan.TryGet(map.FirstTemperature + s, out var degC) && !(degC <= warmest)) warmest = degC;
        return warmest;
    }

    private static double[] NaNs(int count)
    {
        var a = new double[count];
        a.AsSpan().Fill(double.NaN);
        return a;
    }
}
