namespace CellWatch.Core.Snapshots;

/// <summary>How old a value may be before it counts as gone, by kind of channel, seconds (common practice, no source).</summary>
public sealed record Freshness
{
    /// <summary>Cells, pack current and string voltage. Below the 5 s at which silence is unsafe, so that a page shows it within 5 s.</summary>
    public double ElectricalS { get; init; } = 4;

    /// <summary>Temperatures; boards send them less often and they move slowly.</summary>
    public double TemperatureS { get; init; } = 10;

    /// <summary>Bleed flags and everything beside the pack.</summary>
    public double OtherS { get; init; } = 10;
}

/// <summary>
/// Merges what many front ends left at different rates into one coherent scan. It never waits: a dead board's channels grow old and
/// become stale while the others go on. No allocation.
/// </summary>
public sealed class Assembler
{
    private readonly ReadingInbox[] _inboxes;
    private readonly long[] _newestUs;
    private readonly long[] _staleAfterUs;
    private readonly bool[] _proven;
    private long _sequence;

    /// <param name="map">The pack's channels.</param>
    /// <param name="inboxes">One inbox a front end; where two post the same channel, the newer value is taken.</param>
    /// <param name="freshness">Age limits.</param>
    public Assembler(ChannelMap map, IEnumerable<ReadingInbox> inboxes, Freshness freshness)
    {
        _inboxes = [.. inboxes];
        _newestUs = new long[map.Count];
        _proven = new bool[map.Count];
        _staleAfterUs = new long[map.Count];
        for (var channel = 0; channel < map.Count; channel++)
            _staleAfterUs[channel] = (long)(1e6 * LimitFor(map.KindOf(channel), freshness));
    }

    /// <summary>Sets whether a channel has a valid proof, from the next scan on. Called by the pack's own task.</summary>
    public void SetProven(int channel, bool proven) => _proven[channel] = proven;

    /// <summary>Takes one scan.</summary>
    /// <param name="snapshot">Receives it; all its earlier content is replaced.</param>
    /// <param name="time">The instant, on the same elapsed clock the readings were stamped with.</param>
    public void Assemble(SnapshotBuffer snapshot, SnapshotTime time)
    {
        snapshot.Begin(++_sequence, time);
        _newestUs.AsSpan().Fill(long.MinValue);
        foreach (var inbox in _inboxes) inbox.DrainInto(snapshot, _newestUs);

        var ages = snapshot.AgesUs;
        var qualities = snapshot.Qualities;
        for (var channel = 0; channel < _newestUs.Length; channel++)
        {
            if (_newestUs[channel] == long.MinValue) continue;
            // A reading stamped a moment after the scan began is simply fresh.
            ages[channel] = Math.Max(0, time.ElapsedUs - _newestUs[channel]);
            if (ages[channel] > _staleAfterUs[channel] && qualities[channel] != Quality.Missing) qualities[channel] = Quality.Stale;
        }

        _proven.CopyTo(snapshot.Proven);
    }

    private static double LimitFor(ChannelKind kind, Freshness freshness) => kind switch
    {
        ChannelKind.CellVoltage or ChannelKind.PackCurrent or ChannelKind.StringVoltage => freshness.ElectricalS,
        ChannelKind.Temperature => freshness.TemperatureS,
        _ => freshness.OtherS,
    };
}
