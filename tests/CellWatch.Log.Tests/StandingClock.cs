namespace CellWatch.Log.Tests;

/// <summary>A wall clock that stands; its ticks run.</summary>
internal sealed class StandingClock(DateTimeOffset now) : TimeProvider
{
    public override TimeZoneInfo LocalTimeZone => TimeZoneInfo.Utc;

    public override DateTimeOffset GetUtcNow() => now;
}
