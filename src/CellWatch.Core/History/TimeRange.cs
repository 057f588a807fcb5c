namespace CellWatch.Core.History;

/// <summary>A stretch of wall time, end not included. A clock that was set back makes two stretches of the log answer to one range: both are given.</summary>
/// <param name="FromUnixMs">Beginning, ms since 1970.</param>
/// <param name="ToUnixMs">End, ms since 1970, not included.</param>
public readonly record struct TimeRange(long FromUnixMs, long ToUnixMs)
{
    /// <summary>Its length, ms; 0 where it is turned round.</summary>
    public long LengthMs => Math.Max(0, ToUnixMs - FromUnixMs);

    /// <summary>The range from one instant up to another.</summary>
    public static TimeRange Between(DateTimeOffset from, DateTimeOffset to) => new(from.ToUnixTimeMilliseconds(), to.ToUnixTimeMilliseconds());

    /// <summary>Everything there is.</summary>
    public static TimeRange All { get; } = new(-62_135_596_800_000, 253_402_300_800_000);
}
