namespace CellWatch.Core.Snapshots;

/// <summary>
/// The instant of a snapshot on both clocks. Counts, timers and integrals use only <see cref="ElapsedUs"/>; wall time is a label
/// that may jump.
/// </summary>
/// <param name="ElapsedUs">Microseconds since some fixed start, including time asleep; never goes back while the program runs.</param>
/// <param name="WallUnixMs">Milliseconds since 1970-01-01 UTC.</param>
public readonly record struct SnapshotTime(long ElapsedUs, long WallUnixMs)
{
    /// <summary>Elapsed seconds, for arithmetic that needs no more than a double.</summary>
    public double ElapsedS => ElapsedUs * 1e-6;

    /// <summary>Wall time as a date, UTC.</summary>
    public DateTimeOffset Wall => DateTimeOffset.FromUnixTimeMilliseconds(WallUnixMs);
}
