namespace CellWatch.Core.Snapshots;

/// <summary>
/// One coherent scan of the pack at an instant, as structure of arrays over the flat channels of <see cref="ChannelMap"/>.
/// A snapshot that was published is immutable. The one an engine steps on is a view of a reused <see cref="SnapshotBuffer"/>
/// and changes with the next scan: copy it with <see cref="SnapshotBuffer.Freeze"/> to keep it.
/// </summary>
public sealed class Snapshot
{
    internal readonly double[] Values;
    internal readonly Quality[] Qualities;
    internal readonly Origin[] Origins;
    internal readonly bool[] Proofs;
    internal readonly long[] Ages;

    internal Snapshot(ChannelMap map)
    {
        Map = map;
        Values = new double[map.Count];
        Values.AsSpan().Fill(double.NaN);
        Qualities = new Quality[map.Count];
        Origins = new Origin[map.Count];
        Proofs = new bool[map.Count];
        Ages = new long[map.Count];
    }

    /// <summary>The pack's channels.</summary>
    public ChannelMap Map { get; }

    /// <summary>Counts up by one each scan, from 1.</summary>
    public long Sequence { get; internal set; }

    /// <summary>When it was taken.</summary>
    public SnapshotTime Time { get; internal set; }

    /// <summary>
    /// Values of all channels as they came, whatever they are worth: look at <see cref="Quality"/> first. NaN where there is none.
    /// </summary>
    public ReadOnlySpan<double> RawValues => Values;

    /// <summary>What each channel's value is worth.</summary>
    public ReadOnlySpan<Quality> Quality => Qualities;

    /// <summary>Where each channel's value comes from.</summary>
    public ReadOnlySpan<Origin> Origin => Origins;

    /// <summary>Whether a valid proof says that this channel is the cell or sensor it is named after.</summary>
    public ReadOnlySpan<bool> Proven => Proofs;

    /// <summary>Age of each value at the snapshot's instant, µs; <see cref="long.MaxValue"/> where there is none.</summary>
    public ReadOnlySpan<long> AgeUs => Ages;

    /// <summary>Voltages of all cells as they came, V, in string order.</summary>
    public ReadOnlySpan<double> RawCellVoltageV => Values.AsSpan(0, Map.CellCount);

    /// <summary>What each cell's voltage is worth.</summary>
    public ReadOnlySpan<Quality> CellQuality => Qualities.AsSpan(0, Map.CellCount);

    /// <summary>Temperatures as they came, degC, in string order.</summary>
    public ReadOnlySpan<double> RawTemperatureDegC => Values.AsSpan(Map.FirstTemperature, Map.TemperatureCount);

    /// <summary>What each temperature is worth.</summary>
    public ReadOnlySpan<Quality> TemperatureQuality => Qualities.AsSpan(Map.FirstTemperature, Map.TemperatureCount);

    /// <summary>A channel's value if it is good; false otherwise, and then the value is NaN.</summary>
    public bool TryGet(int channel, out double value)
    {
        var good = Qualities[channel] == Snapshots.Quality.Good;
        value = good ? Values[channel] : double.NaN;
        return good;
    }

    /// <summary>The string's current, A, positive charging, if it is known.</summary>
    public bool TryGetPackCurrentA(out double packCurrentA) => TryGet(Map.PackCurrent, out packCurrentA);

    /// <summary>The string's terminal voltage, V, if it is known.</summary>
    public bool TryGetStringVoltageV(out double stringVoltageV) => TryGet(Map.StringVoltage, out stringVoltageV);

    /// <summary>Whether a cell's bleed switch is known to be on.</summary>
    public bool IsBleeding(int cell) => TryGet(Map.FirstBleed + cell, out var on) && on > 0.5;

    /// <summary>Whether any value comes from a model of a pack.</summary>
    public bool AnySimulated => Origins.AsSpan().Contains(Snapshots.Origin.Simulated);

    internal void CopyTo(Snapshot other)
    {
        other.Sequence = Sequence;
        other.Time = Time;
        Values.CopyTo(other.Values.AsSpan());
        Qualities.CopyTo(other.Qualities.AsSpan());
        Origins.CopyTo(other.Origins.AsSpan());
        Proofs.CopyTo(other.Proofs.AsSpan());
        Ages.CopyTo(other.Ages.AsSpan());
    }
}
