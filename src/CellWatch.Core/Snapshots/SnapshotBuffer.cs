namespace CellWatch.Core.Snapshots;

/// <summary>
/// The one snapshot an engine writes and steps on, reused for ever so that a step allocates nothing. Its writable spans are for the
/// assembler, the checks (which lower a quality, never raise it) and a replay; everybody else reads <see cref="View"/>.
/// </summary>
public sealed class SnapshotBuffer(ChannelMap map)
{
    /// <summary>The present scan, read-only; changes with the next one.</summary>
    public Snapshot View { get; } = new(map);

    /// <summary>The pack's channels.</summary>
    public ChannelMap Map => View.Map;

    /// <summary>Values of all channels.</summary>
    public Span<double> Values => View.Values;

    /// <summary>Qualities of all channels.</summary>
    public Span<Quality> Qualities => View.Qualities;

    /// <summary>Origins of all channels.</summary>
    public Span<Origin> Origins => View.Origins;

    /// <summary>Proofs of all channels.</summary>
    public Span<bool> Proven => View.Proofs;

    /// <summary>Ages of all channels, µs.</summary>
    public Span<long> AgesUs => View.Ages;

    /// <summary>Begins a scan: nothing is known until it is written.</summary>
    public void Begin(long sequence, SnapshotTime time)
    {
        View.Sequence = sequence;
        View.Time = time;
        View.Values.AsSpan().Fill(double.NaN);
        View.Qualities.AsSpan().Clear();
        View.Origins.AsSpan().Clear();
        View.Ages.AsSpan().Fill(long.MaxValue);
    }

    /// <summary>Sets every channel from a published snapshot, for a replay.</summary>
    public void Load(Snapshot other) => other.CopyTo(View);

    /// <summary>An immutable copy to publish; the only allocation of a step, made once and shared by all sinks.</summary>
    public Snapshot Freeze()
    {
        var copy = new Snapshot(Map);
        View.CopyTo(copy);
        return copy;
    }
}
