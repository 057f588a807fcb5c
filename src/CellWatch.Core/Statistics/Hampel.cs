namespace CellWatch.Core.Statistics;

/// <summary>
/// Hampel filter: a sample further than n x 1.4826 x MAD from the median of its window becomes that median.
/// For display and statistics only: a raw over-voltage sample is never taken out of the safety path by it.
/// <para>Source: definition and defaults (window 2 x 3 + 1, n = 3) as in common signal-processing documentation.</para>
/// </summary>
public static class Hampel
{
    /// <summary>
    /// Filters <paramref name="values"/> into <paramref name="filtered"/> (same length, no overlap); near the ends the window
    /// is shortened. Returns how many samples were replaced.
    /// </summary>
    public static int Filter(ReadOnlySpan<double> values, Span<double> filtered, int halfWidth = 3, double sigmas = 3)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(halfWidth, 1);
        Span<double> scratch = halfWidth <= 32 ? stackalloc double[2 * halfWidth + 1] : new double[2 * halfWidth + 1];
        var replaced = 0;
        for (var i = 0; i < values.Length; i++)
        {
            var from = Math.Max(0, i - halfWidth);
            var window = values[from..Math.Min(values.Length, i + halfWidth + 1)];
            var (median, threshold) = Threshold(window, sigmas, scratch);
            var isOutlier = Math.Abs(values[i] - median) > threshold;
            filtered[i] = isOutlier ? median : values[i];
            if (isOutlier) replaced++;
        }

        return replaced;
    }

    /// <summary>Median of a window and the largest distance from it that is still kept, both in the unit of the values.</summary>
    public static (double Median, double Threshold) Threshold(ReadOnlySpan<double> window, double sigmas, Span<double> scratch)
    {
        var median = Robust.Median(window, scratch);
        return (median, sigmas * Robust.MadToSigma * Robust.Mad(window, median, scratch));
    }
}
