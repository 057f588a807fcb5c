namespace CellWatch.Core.Estimation;

/// <summary>
/// Fits a straight line to every cell's voltage in stretches of half an hour of rest and says, at the end of each, which cells have
/// relaxed and at what voltage. Source: see <see cref="RestReset"/>.
/// </summary>
internal sealed class RestBank(int cells, double restA)
{
    private readonly double[] first = new double[cells], sumV = new double[cells], sumTV = new double[cells], sumT = new double[cells], sumTT = new double[cells];
    private readonly int[] count = new int[cells];
    private double elapsedS;
    private int samples;

    /// <summary>True when the last step closed a stretch: then <see cref="IsRelaxed"/> may be asked.</summary>
    public bool IsStretchComplete { get; private set; }

    /// <summary>True while current is small enough for rest.</summary>
    public bool IsAtRest => samples > 0;

    public void Step(ReadOnlySpan<double> v, ReadOnlySpan<bool> usable, double currentA, bool currentUsable, double dtS)
    {
        if (IsStretchComplete) Clear();
        if (!currentUsable || Math.Abs(currentA) > restA)
        {
            if (samples > 0) Clear();
            return;
        }

        if (samples > 0) elapsedS += dtS;
        samples++;
        for (var k = 0; k < cells; k++)
        {
            if (!usable[k]) continue;
            if (count[k]++ == 0) first[k] = v[k];
            var d = v[k] - first[k];
            sumV[k] += d;
            sumTV[k] += elapsedS * d;
            sumT[k] += elapsedS;
            sumTT[k] += elapsedS * elapsedS;
        }

        IsStretchComplete = elapsedS >= RestReset.ShortestFitS && samples >= 20;
    }

    /// <summary>True, with the voltage at the end of the stretch, when the cell was read nearly all the time and its slope is small.</summary>
    public bool IsRelaxed(int cell, out double endV)
    {
        endV = double.NaN;
        double n = count[cell];
        if (n < 0.9 * samples) return false;
        var sxx = sumTT[cell] - sumT[cell] * sumT[cell] / n;
        if (!(sxx > 0)) return false;
        var slope = (sumTV[cell] - sumT[cell] * sumV[cell] / n) / sxx;
        endV = first[cell] + sumV[cell] / n + slope * (elapsedS - sumT[cell] / n);
        return RestReset.IsRelaxed(slope * 1e6);
    }

    private void Clear()
    {
        Array.Clear(count);
        Array.Clear(sumV);
        Array.Clear(sumTV);
        Array.Clear(sumT);
        Array.Clear(sumTT);
        (elapsedS, samples, IsStretchComplete) = (0, 0, false);
    }
}
