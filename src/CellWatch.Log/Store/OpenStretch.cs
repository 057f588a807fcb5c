using CellWatch.Core.Snapshots;
using CellWatch.Log.Codec;

namespace CellWatch.Log.Store;

/// <summary>
/// Where writing stands: the snapshots since the last sealed chunk, and the clocks. Copied before each transaction, so that a failed one
/// leaves no trace.
/// </summary>
internal sealed class OpenStretch
{
    /// <summary>Chunks are cut where log time crosses a multiple of this, so that roll-up buckets lie within one chunk.</summary>
    public const long CutUs = 600_000_000;

    /// <summary>Snapshots not yet in a sealed chunk, oldest first.</summary>
    public List<Snapshot> Snapshots { get; private set; } = new(ChunkEncoder.MaxSnapshots);

    /// <summary>How many of them are in the tail.</summary>
    public int InTail { get; set; }

    /// <summary>Log time of the first of them, µs.</summary>
    public long FirstUs { get; set; }

    /// <summary>Log time of the newest snapshot ever written, µs; <see cref="long.MinValue"/> in an empty file.</summary>
    public long LastUs { get; set; } = long.MinValue;

    /// <summary>Elapsed time of the newest snapshot of this session, µs.</summary>
    public long LastElapsedUs { get; set; }

    /// <summary>Number of the program's run; 0 before its first snapshot.</summary>
    public int Session { get; set; }

    /// <summary>Log time minus elapsed time, µs.</summary>
    public long BaseUs { get; set; }

    /// <summary>Layout of the newest snapshot; null before the first.</summary>
    public KnownLayout? Layout { get; set; }

    /// <summary>The map that layout was found for.</summary>
    public ChannelMap? Map { get; set; }

    /// <summary>Wall ms minus log ms as the clock table has it last.</summary>
    public long OffsetMs { get; set; }

    /// <summary>The same at the newest snapshot.</summary>
    public long NewestOffsetMs { get; set; }

    public ChunkPlace Place => new(Layout!.Revision, Session, BaseUs);

    public OpenStretch Copy()
    {
        var copy = (OpenStretch)MemberwiseClone();
        copy.Snapshots = new List<Snapshot>(ChunkEncoder.MaxSnapshots);
        copy.Snapshots.AddRange(Snapshots);
        return copy;
    }
}
