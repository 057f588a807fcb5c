using CellWatch.Core.Snapshots;

namespace CellWatch.Host.Time;

/// <summary>The pack's elapsed clock in microseconds since the service began, from whatever <see cref="TimeProvider"/> runs it.</summary>
public sealed class PackClock
{
    private readonly TimeProvider _time;
    private readonly long _start;
    private readonly double _usPerTick;

    /// <summary>Starts the clock now, at <paramref name="startUs"/>.</summary>
    public PackClock(TimeProvider time, long startUs = 0)
    {
        _time = time;
        Started = new SnapshotTime(startUs, time.GetUtcNow().ToUnixTimeMilliseconds());
        _start = time.GetTimestamp();
        _usPerTick = 1e6 / time.TimestampFrequency;
    }

    /// <summary>Both clocks when it was started.</summary>
    public SnapshotTime Started { get; }

    /// <summary>Elapsed, µs.</summary>
    public long ElapsedUs => Started.ElapsedUs + (long)((_time.GetTimestamp() - _start) * _usPerTick);

    /// <summary>Both clocks now.</summary>
    public SnapshotTime Now => new(ElapsedUs, _time.GetUtcNow().ToUnixTimeMilliseconds());
}
