using CellWatch.Core.Wording;

namespace CellWatch.Core.Tests.Wording;

/// <summary>Summer time in central Europe ends on 25 October 2026 and begins on 29 March 2026, both at 01:00 UTC (Directive 2000/84/EC).</summary>
public sealed class SiteClockTests
{
    private static readonly TimeZoneInfo Berlin = TimeZoneInfo.FindSystemTimeZoneById("Europe/Berlin");

    [Theory]
    [InlineData("2026-10-24T23:59:59Z", "01:59:59")]
    [InlineData("2026-10-25T00:30:00Z", "02:30:00 UTC+2")]
    [InlineData("2026-10-25T01:30:00Z", "02:30:00 UTC+1")]
    [InlineData("2026-10-25T02:00:00Z", "03:00:00")]
    [InlineData("2026-03-29T00:59:59Z", "01:59:59")]
    [InlineData("2026-03-29T01:00:00Z", "03:00:00")]
    public void The_hour_that_comes_twice_carries_its_zone_and_no_other_does(string at, string said) =>
        Assert.Equal(said, SiteClock.OfDay(Ms(at), Berlin));

    [Theory]
    [InlineData("2026-10-25T12:00:00Z", "2026-10-24T22:00:00Z")]
    [InlineData("2026-03-29T12:00:00Z", "2026-03-28T23:00:00Z")]
    public void A_day_begins_at_its_own_midnight(string at, string midnight) => Assert.Equal(Ms(midnight), SiteClock.Midnight(Ms(at), Berlin));

    [Fact]
    public void Without_summer_time_nothing_comes_twice() => Assert.Equal("00:30:00", SiteClock.OfDay(Ms("2026-10-25T00:30:00Z"), TimeZoneInfo.Utc));

    private static long Ms(string at) => DateTimeOffset.Parse(at, System.Globalization.CultureInfo.InvariantCulture).ToUnixTimeMilliseconds();
}
