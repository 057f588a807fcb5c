namespace CellWatch.Core.Statistics;

/// <summary>Quantiles of a sorted set by linear interpolation between order statistics (definition 7 of Hyndman and Fan 1996, from memory).</summary>
public static class Quantiles
{
    /// <summary>Quantile <paramref name="p"/> (0 to 1) of <paramref name="sorted"/> (rising, not empty).</summary>
    public static double OfSorted(ReadOnlySpan<double> sorted, double p)
    {
        if (sorted.IsEmpty) throw new ArgumentException("An empty set has no quantile.", nameof(sorted));
        if (!(p >= 0 && p <= 1)) throw new ArgumentOutOfRangeException(nameof(p), p, "A quantile lies from 0 to 1.");
        var rank = p * (sorted.Length - 1);
        var below = (int)Math.Floor(rank);
        var above = Math.Min(below + 1, sorted.Length - 1);
        return sorted[below] + (rank - below) * (sorted[above] - sorted[below]);
    }

    /// <summary>Quantile of an unsorted set; allocates a sorted copy.</summary>
    public static double Of(ReadOnlySpan<double> values, double p)
    {
        var sorted = values.ToArray();
        Array.Sort(sorted);
        return OfSorted(sorted, p);
    }
}
