using CellWatch.Core.Snapshots;
using CellWatch.Host.Time;

namespace CellWatch.EndToEnd.Tests.Serve;

/// <summary>A host that sleeps: time with sleep runs ahead of time without (clock_gettime(2): CLOCK_BOOTTIME and CLOCK_MONOTONIC).</summary>
public class SleepTests
{
    [Fact]
    public void A_sleep_is_noticed_once_with_its_length_and_a_hiccup_is_none()
    {
        var detector = new SleepDetector();
        Assert.False(detector.Slept(500_000_000, 100_000_000, out _));
        Assert.False(detector.Slept(501_500_000, 100_000_000 + 1_000_000, out _));
        Assert.True(detector.Slept(501_500_000 + 10_800_000_000, 101_000_000 + 1, out var sleptUs));
        Assert.InRange(sleptUs, 10_800_000_000, 10_801_000_000);
        Assert.False(detector.Slept(502_500_000 + 10_800_000_000, 102_000_001, out _));
    }

    /// <summary>Story 14's own words.</summary>
    [Theory]
    [InlineData("2026-11-25T05:00:00+01:00", 10_800, "No record 02:00-05:00, host asleep.")]
    [InlineData("2026-11-25T00:30:20+01:00", 5400, "No record 23:00-00:30, host asleep.")]
    [InlineData("2026-11-25T05:00:03+01:00", 8, "No record 04:59:55-05:00:03, host asleep.")]
    public void It_is_told_with_its_hours(string woke, double sleptS, string sentence)
    {
        var zone = TimeZoneInfo.CreateCustomTimeZone("test", TimeSpan.FromHours(1), "test", "test");
        var now = new SnapshotTime(1, DateTimeOffset.Parse(woke, System.Globalization.CultureInfo.InvariantCulture).ToUnixTimeMilliseconds());
        Assert.Equal(sentence, SleepDetector.Sentence(now, (long)(sleptS * 1e6), zone));
    }
}
