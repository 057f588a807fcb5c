namespace CellWatch.Core.Statistics;

/// <summary>
/// Statistics that one bad reading cannot spoil: median, median absolute deviation (MAD) and the modified z-score.
/// <para>Source: Iglewicz and Hoaglin 1993, as given in the NIST/SEMATECH e-Handbook 1.3.5.17 (secondary reading). With the
/// plain mean and standard deviation the score of one outlier in n values cannot pass (n-1)/sqrt(n), 3.18 for twelve cells.</para>
/// </summary>
public static class Robust
{
    /// <summary>75 % point of the standard normal: makes the score comparable with standard deviations.</summary>
    public const double NormalQuartile = 0.6745;

    /// <summary>1 / 0.6745, rounded as usual: MAD times this estimates the standard deviation of normal data.</summary>
    public const double MadToSigma = 1.4826;

    /// <summary>A score above this marks an outlier (Iglewicz and Hoaglin).</summary>
    public const double OutlierScore = 3.5;

    /// <summary>
    /// Median; for an even count the mean of the two middle values. <paramref name="values"/> is reordered (no allocation,
    /// linear time on average). NaN where it is empty: an empty set has no median.
    /// </summary>
    public static double MedianInPlace(Span<double> values)
    {
        if (values.IsEmpty) return double.NaN;
        var upper = SelectInPlace(values, values.Length / 2);
        if (values.Length % 2 == 1) return upper;
        // After selection the lower half lies to the left; its largest is the other middle value.
        var lower = values[0];
        for (var i = 1; i < values.Length / 2; i++) lower = Math.Max(lower, values[i]);
        return lower + (upper - lower) / 2;
    }

    /// <summary>Median of <paramref name="values"/>, which stay as they are; <paramref name="scratch"/> must be at least as long.</summary>
    public static double Median(ReadOnlySpan<double> values, Span<double> scratch)
    {
        values.CopyTo(scratch);
        return MedianInPlace(scratch[..values.Length]);
    }

    /// <summary>Median of <paramref name="values"/>, which stay as they are. Allocates a copy: not for the path of every snapshot.</summary>
    public static double Median(ReadOnlySpan<double> values) => MedianInPlace(values.ToArray());

    /// <summary>Median of |x - <paramref name="median"/>|, in the unit of x. <paramref name="scratch"/> must be at least as long.</summary>
    public static double Mad(ReadOnlySpan<double> values, double median, Span<double> scratch)
    {
        for (var i = 0; i < values.Length; i++) scratch[i] = Math.Abs(values[i] - median);
        return MedianInPlace(scratch[..values.Length]);
    }

    /// <summary>
    /// Modified z-score, 0.6745 (x - median) / max(MAD, resolution). With quiet sensors MAD falls below one step of the
    /// converter, so <paramref name="resolution"/> (unit of x, above 0 wherever MAD may be 0) is the floor.
    /// </summary>
    /// <exception cref="ArgumentOutOfRangeException">Both are 0: then there is no scale to judge by.</exception>
    public static double ModifiedZ(double x, double median, double mad, double resolution)
    {
        var scale = Math.Max(mad, resolution);
        if (!(scale > 0))
            throw new ArgumentOutOfRangeException(nameof(resolution), resolution, "MAD is 0: state the resolution of the readings so that the score has a scale.");
        return NormalQuartile * (x - median) / scale;
    }

    /// <summary>Modified z-scores of all values into <paramref name="scores"/> (same length, may not overlap).</summary>
    public static void ModifiedZ(ReadOnlySpan<double> values, double resolution, Span<double> scores)
    {
        var median = Median(values, scores);
        var mad = Mad(values, median, scores);
        for (var i = 0; i < values.Length; i++) scores[i] = ModifiedZ(values[i], median, mad, resolution);
    }

    /// <summary>Value of rank <paramref name="rank"/> (from 0) by quickselect; everything left of it is then no larger.</summary>
    private static double SelectInPlace(Span<double> values, int rank)
    {
        int left = 0, right = values.Length - 1;
        while (left < right)
        {
            var pivot = MiddleOfThree(values[left], values[(left + right) / 2], values[right]);
            int i = left, j = right;
            while (i <= j)
            {
                while (values[i] < pivot) i++;
                while (values[j] > pivot) j--;
                if (i > j) break;
                (values[i], values[j]) = (values[j], values[i]);
                i++;
                j--;
            }

            if (rank <= j) right = j;
            else if (rank >= i) left = i;
            else break;
        }

        return values[rank];
    }

    private static double MiddleOfThree(double a, double b, double c) => Math.Max(Math.Min(a, b), Math.Min(Math.Max(a, b), c));
}
