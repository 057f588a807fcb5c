using CellWatch.Core.Statistics;

namespace CellWatch.Core.Estimation;

/// <summary>What a rest test says about one cell.</summary>
public enum LeakVerdict
{
    /// <summary>Cannot be told: see the reason.</summary>
    NotTold,

    /// <summary>Not to be distinguished from its siblings.</summary>
    LikeSiblings,

    /// <summary>Leaks more than its siblings, at most the limit.</summary>
    AboveSiblings,

    /// <summary>Leaks more than the limit: reject.</summary>
    Reject,
}

/// <summary>Excess leak of one cell against the median of its module.</summary>
/// <param name="SlopeMvPerDay">Of the difference to the median; negative = falls.</param>
/// <param name="SlopeHalfWidthMvPerDay">Half width of its interval.</param>
/// <param name="LeakMilliampere">Excess leak; null where the curve slope is not known or too flat.</param>
/// <param name="LeakHalfWidthMilliampere">Half width of its interval.</param>
/// <param name="SmallestDetectableMilliampere">Smallest leak this test could have found: show it beside the verdict.</param>
/// <param name="Verdict">With every cell of the test counted, so that the chance to accuse any healthy one stays at 5 %.</param>
/// <param name="Why">Reason where nothing is told; empty else.</param>
public sealed record CellLeak(
    double SlopeMvPerDay, double SlopeHalfWidthMvPerDay, double? LeakMilliampere, double? LeakHalfWidthMilliampere, double? SmallestDetectableMilliampere,
    LeakVerdict Verdict, string Why);

/// <summary>
/// Self-discharge at rest: each cell against the median of its own module, so that temperature and relaxation common to all cancel.
/// The first two days are dropped; readings are averaged in blocks (an hour at first; blocks are joined in pairs when there are many),
/// and the interval is widened where neighbouring blocks are alike.
/// <para>Source: least squares with Student's t, shared out over all cells (Bonferroni); widening for autocorrelation by
/// (1 + r) / (1 - r) (textbook, from memory); 48 h and the limit of 5 mA are common practice. A healthy cell leaks far less than a
/// week can measure: the test finds outliers.</para>
/// </summary>
public sealed class SelfDischargeBank
{
    /// <summary>Hours dropped at the start: a cell still moved by 10 mV between 12 and 48 h after a charge.</summary>
    public const double SettlingH = 48;

    /// <summary>More than this rejects a group, mA (common practice).</summary>
    public const double RejectAboveMilliampere = 5;

    private const int MostBlocks = 1024;
    private const double ShortestTestH = 72;
    private readonly int[] moduleOf;
    private readonly int cells, modules;
    private readonly List<double> blockHours = [];
    private readonly List<double[]> blocks = [];
    private readonly double[] sum, scratch, lowV, highV;
    private readonly int[] count;
    private double blockLengthH = 1, blockStartH = double.NaN, sumHours;
    private int samples;

    /// <param name="moduleOf">For each cell the index of its module, from 0.</param>
    public SelfDischargeBank(ReadOnlySpan<int> moduleOf)
    {
        this.moduleOf = moduleOf.ToArray();
        cells = moduleOf.Length;
        foreach (var m in moduleOf) modules = Math.Max(modules, m + 1);
        (sum, scratch, count) = (new double[cells], new double[cells], new int[cells]);
        (lowV, highV) = (new double[cells], new double[cells]);
        Array.Fill(lowV, double.PositiveInfinity);
        Array.Fill(highV, double.NegativeInfinity);
    }

    /// <summary>
    /// Takes one snapshot at rest in; <paramref name="hours"/> since the rest began, on a clock that only goes forward. Cells that are
    /// not usable, and modules with fewer than three usable cells, are left out of it. A gap stays a gap.
    /// </summary>
    public void Add(double hours, ReadOnlySpan<double> cellVoltageV, ReadOnlySpan<bool> usable)
    {
        if (hours < SettlingH) return;
        if (double.IsNaN(blockStartH)) blockStartH = hours;
        if (hours - blockStartH >= blockLengthH)
        {
            CloseBlock();
            blockStartH = hours;
        }

        for (var m = 0; m < modules; m++)
        {
            var n = 0;
            for (var k = 0; k < cells; k++)
                if (moduleOf[k] == m && usable[k]) scratch[n++] = cellVoltageV[k];
            if (n < 3) continue;
            var median = Robust.MedianInPlace(scratch.AsSpan(0, n));
            for (var k = 0; k < cells; k++)
            {
                if (moduleOf[k] != m || !usable[k]) continue;
                sum[k] += cellVoltageV[k] - median;
                count[k]++;
                lowV[k] = Math.Min(lowV[k], cellVoltageV[k]);
                highV[k] = Math.Max(highV[k], cellVoltageV[k]);
            }
        }

        sumHours += hours;
        samples++;
    }

    /// <summary>
    /// The result for every cell. <paramref name="curveMvPerPercent"/>: slope of the curve at the level of the test (NaN = not known);
    /// <paramref name="capacityAh"/>: of a cell. Allocates: for a report, not for every snapshot.
    /// </summary>
    public IReadOnlyList<CellLeak> Evaluate(double curveMvPerPercent, double capacityAh, double confidence = 0.95)
    {
        var milliamperePerMvPerDay = curveMvPerPercent >= Ocv.OcvCurve.FlatMvPerPercent ? 1000 * Balancing.LeakA(-1, curveMvPerPercent, capacityAh) : double.NaN;
        var all = new CellLeak[cells];
        for (var k = 0; k < cells; k++) all[k] = Evaluate(k, milliamperePerMvPerDay, 1 - (1 - confidence) / cells);
        return all;
    }

    private CellLeak Evaluate(int k, double perMv, double confidence)
    {
        List<double> days = [], mV = [];
        for (var b = 0; b < blocks.Count; b++)
        {
            if (double.IsNaN(blocks[b][k])) continue;
            days.Add(blockHours[b] / 24);
            mV.Add(blocks[b][k] * 1000);
        }

        var spanH = days.Count == 0 ? 0 : 24 * (days[^1] - days[0]);
        if (spanH < ShortestTestH || days.Count < 10)
            return NotTold(T($"only {spanH:F0} h of usable readings with siblings after the first {SettlingH:F0} h: at least {ShortestTestH:F0} h are needed"));
        var x = days.ToArray();
        var y = mV.ToArray();
        var line = LineFit.Through(x, y)!.Value;
        if (IsStuck(k)) return NotTold(T("the channel shows one value all through while its siblings move: stuck"));
        // Quiet readings with coarse steps could fit too well; one tenth of a millivolt over root 12 is the least scatter a block can have.
        var widening = Math.Sqrt(Widening(x, y, line));
        var sigma = Math.Max(line.SlopeSigma * widening, 0.1 / Math.Sqrt(12) / (spanH / 24) / Math.Sqrt(days.Count));
        var effective = Math.Max(2, (days.Count - 2) / (widening * widening));
        var half = StudentT.IntervalFactor(confidence, effective) * sigma;
        var power = StudentT.UpperPoint(0.05, effective) * sigma;
        if (double.IsNaN(perMv))
            return new CellLeak(line.Slope, half, null, null, null, LeakVerdict.NotTold, T("the slope of the curve here is not known or too flat to turn millivolts into charge"));
        double leak = -line.Slope * perMv, leakHalf = half * perMv;
        var verdict = leak - leakHalf <= 0 ? LeakVerdict.LikeSiblings : leak > RejectAboveMilliampere ? LeakVerdict.Reject : LeakVerdict.AboveSiblings;
        return new CellLeak(line.Slope, half, leak, leakHalf, (half + power) * perMv, verdict, "");
    }

    /// <summary>One value all through while a sibling moved.</summary>
    private bool IsStuck(int k)
    {
        if (highV[k] > lowV[k]) return false;
        for (var j = 0; j < cells; j++)
            if (moduleOf[j] == moduleOf[k] && highV[j] > lowV[j]) return true;
        return false;
    }

    private static double Widening(double[] x, double[] y, LineFit line)
    {
        double product = 0, square = 0, last = 0;
        for (var i = 0; i < x.Length; i++)
        {
            var r = y[i] - line.At(x[i]);
            if (i > 0) product += r * last;
            square += r * r;
            last = r;
        }

        var alike = square > 0 ? Math.Clamp(product / square, 0, 0.95) : 0;
        return (1 + alike) / (1 - alike);
    }

    private static CellLeak NotTold(string why) => new(double.NaN, double.NaN, null, null, null, LeakVerdict.NotTold, why);

    private void CloseBlock()
    {
        if (samples == 0) return;
        var block = new double[cells];
        for (var k = 0; k < cells; k++) block[k] = count[k] * 2 >= samples ? sum[k] / count[k] : double.NaN;
        blocks.Add(block);
        blockHours.Add(sumHours / samples);
        Array.Clear(sum);
        Array.Clear(count);
        (sumHours, samples) = (0, 0);
        if (blocks.Count < MostBlocks) return;
        for (var b = 0; b < MostBlocks / 2; b++)
        {
            for (var k = 0; k < cells; k++) blocks[b][k] = MeanOfKnown(blocks[2 * b][k], blocks[2 * b + 1][k]);
            blockHours[b] = (blockHours[2 * b] + blockHours[2 * b + 1]) / 2;
        }

        blocks.RemoveRange(MostBlocks / 2, blocks.Count - MostBlocks / 2);
        blockHours.RemoveRange(MostBlocks / 2, blockHours.Count - MostBlocks / 2);
        blockLengthH *= 2;
    }

    private static double MeanOfKnown(double a, double b) => double.IsNaN(a) ? b : double.IsNaN(b) ? a : (a + b) / 2;
}
