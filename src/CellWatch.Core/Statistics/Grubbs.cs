namespace CellWatch.Core.Statistics;

/// <summary>
/// Grubbs' test for one outlier in normal data. Source: NIST/SEMATECH e-Handbook 1.3.5.17.1 (formula from memory; its critical
/// values agree with published tables, see the tests).
/// </summary>
public static class Grubbs
{
    /// <summary>G = max |x - mean| / s and the index of that value. At least three values that are not all equal.</summary>
    public static (double G, int Index) Statistic(ReadOnlySpan<double> values)
    {
        if (values.Length < 3) throw new ArgumentException("At least three values are needed.", nameof(values));
        var moments = new RunningMoments();
        foreach (var v in values) moments.Add(v);
        if (!(moments.Sigma > 0)) throw new ArgumentException("All values are equal: there is no spread to test against.", nameof(values));
        var index = 0;
        for (var i = 1; i < values.Length; i++)
            if (Math.Abs(values[i] - moments.Mean) > Math.Abs(values[index] - moments.Mean)) index = i;
        return (Math.Abs(values[index] - moments.Mean) / moments.Sigma, index);
    }

    /// <summary>Critical value for <paramref name="count"/> values; <paramref name="alpha"/> is the chance to accuse a clean set.</summary>
    public static double Critical(int count, double alpha = 0.05, bool twoSided = true)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(count, 3);
        var t = StudentT.UpperPoint(alpha / (twoSided ? 2 * count : count), count - 2);
        return (count - 1) / Math.Sqrt(count) * Math.Sqrt(t * t / (count - 2 + t * t));
    }
}
