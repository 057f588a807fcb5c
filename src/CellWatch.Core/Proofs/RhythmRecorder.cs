using CellWatch.Core.Statistics;

namespace CellWatch.Core.Proofs;

/// <summary>How one channel followed a rhythm.</summary>
/// <param name="DipV">Fall of the voltage with the load on, V; positive = it fell.</param>
/// <param name="SigmaV">Standard deviation of the dip.</param>
/// <param name="Samples">Samples used.</param>
public readonly record struct RhythmAnswer(double DipV, double SigmaV, int Samples)
{
    /// <summary>Dip in standard deviations; 0 where nothing can be said.</summary>
    public double Score => SigmaV > 0 ? DipV / SigmaV : 0;
}

/// <summary>
/// Correlates channels with the rhythm of a load while the samples come in: least squares of v = a + b t + c load, so that a slow drift
/// (relaxation, a warming board) is not taken for a dip. Nine sums a channel, nothing kept, no allocation a sample.
/// <para>Source: textbook least squares; with equal counts each way and no drift the deviation of the dip is noise x sqrt(2/n).</para>
/// </summary>
public sealed class RhythmRecorder
{
    private const int Sums = 9;
    private readonly LoadRhythm rhythm;
    private readonly double[] sums;
    private readonly double[] originV;
    private readonly double[] common;

    /// <summary>Starts empty.</summary>
    /// <param name="rhythm">When the load is on.</param>
    /// <param name="channels">How many channels.</param>
    /// <param name="takeCommonOut">
    /// Whether the median change of all channels is taken out of each scan: relaxation after a charge or a wandering reference moves all of them.
    /// Only where fewer than half of the channels can sit on the load.
    /// </param>
    public RhythmRecorder(LoadRhythm rhythm, int channels, bool takeCommonOut = false)
    {
        common = takeCommonOut ? new double[channels] : [];
        this.rhythm = rhythm;
        Channels = channels;
        sums = new double[channels * Sums];
        originV = new double[channels];
        originV.AsSpan().Fill(double.NaN);
    }

    /// <summary>How many channels.</summary>
    public int Channels { get; }

    /// <summary>Takes one scan: seconds since the rhythm began, and a voltage a channel; NaN where a channel gave no good value.</summary>
    public void Add(double timeS, ReadOnlySpan<double> voltageV)
    {
        if (rhythm.LoadAt(timeS) is not { } load) return;
        var t = timeS - rhythm.LengthS / 2;
        for (var c = 0; c < Channels; c++)
            if (double.IsNaN(originV[c])) originV[c] = voltageV[c];
        var commonV = CommonChangeV(voltageV);
        for (var c = 0; c < Channels; c++)
        {
            if (!double.IsFinite(voltageV[c])) continue;
            // Voltages are taken from the first sample, else millivolts drown in the rounding of squared volts.
            var y = voltageV[c] - originV[c] - commonV;
            var s = sums.AsSpan(c * Sums, Sums);
            s[0]++;
            s[1] += t;
            s[2] += t * t;
            s[3] += load;
            s[4] += load * t;
            s[5] += y;
            s[6] += t * y;
            s[7] += load * y;
            s[8] += y * y;
        }
    }

    /// <summary>How a channel followed. <see cref="RhythmAnswer.Samples"/> says whether it was seen enough; the dip is NaN below four samples.</summary>
    public RhythmAnswer AnswerOf(int channel)
    {
        var s = sums.AsSpan(channel * Sums, Sums);
        var n = s[0];
        if (n < 4) return new RhythmAnswer(double.NaN, double.NaN, (int)n);
        // Centred sums of t, load (u) and y.
        double tt = s[2] - s[1] * s[1] / n, tu = s[4] - s[1] * s[3] / n, uu = s[3] - s[3] * s[3] / n;
        double ty = s[6] - s[1] * s[5] / n, uy = s[7] - s[3] * s[5] / n, yy = s[8] - s[5] * s[5] / n;
        var det = tt * uu - tu * tu;
        if (!(det > 0)) return new RhythmAnswer(double.NaN, double.NaN, (int)n);
        var slope = (ty * uu - uy * tu) / det;
        var step = (uy * tt - ty * tu) / det;
        var rest = Math.Max(0, yy - slope * ty - step * uy);
        return new RhythmAnswer(-step, Math.Sqrt(rest / (n - 3) * tt / det), (int)n);
    }

    private double CommonChangeV(ReadOnlySpan<double> voltageV)
    {
        var n = 0;
        for (var c = 0; c < common.Length; c++)
            if (double.IsFinite(voltageV[c])) common[n++] = voltageV[c] - originV[c];
        return n == 0 ? 0 : Robust.MedianInPlace(common.AsSpan(0, n));
    }

    /// <summary>Chance that noise alone makes at least one of <paramref name="channels"/> reach a score (Student t, one-sided, summed over the channels).</summary>
    public static double ChanceOfBlank(double score, int samples, int channels) =>
        score <= 0 || samples < 5 ? 1 : Math.Min(1, channels * (1 - StudentT.Cdf(score, samples - 3)));
}
