using CellWatch.Core.Snapshots;

namespace CellWatch.Testing;

/// <summary>
/// The mark a coder is measured against: for each channel the empirical (order 0) entropy of the differences from one snapshot to the
/// next, in steps of 0.1 mV, 0.01 K, 1 mA, 10 mV, summed over channels. Nothing is added for tables or for the first values.
/// </summary>
public static class FirstDifferenceEntropy
{
    /// <summary>Bytes for these snapshots, every value of which must be there.</summary>
    public static double Bytes(IReadOnlyList<Snapshot> snapshots)
    {
        var bits = 0.0;
        for (var c = 0; c < snapshots[0].Map.Count; c++)
        {
            var count = new Dictionary<long, int>();
            for (var s = 1; s < snapshots.Count; s++)
            {
                var d = (long)Math.Round((snapshots[s].RawValues[c] - snapshots[s - 1].RawValues[c]) * 10_000);
                count[d] = count.GetValueOrDefault(d) + 1;
            }

            var n = snapshots.Count - 1;
            bits += count.Values.Sum(k => k * Math.Log2((double)n / k));
        }

        return bits / 8;
    }
}
