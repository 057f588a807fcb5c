using System.Text.Json;
using Bunit;
using CellWatch.Core.Bench;
using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Layout;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Pages;
using CellWatch.Dashboard.Strips;
using CellWatch.Dashboard.Tests.Strips;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

/// <summary>
/// Nights on which the clocks are set, in central Europe: 25 October 2026 has 02:00 to 03:00 twice, 29 March 2026 has no such hour; both
/// change at 01:00 UTC (Directive 2000/84/EC).
/// </summary>
public sealed class ClockNightTests : PageTest
{
    private const long MinuteMs = 60_000;
    private const long HourMs = 60 * MinuteMs;
    private static readonly OcvCurve Curve = OcvCurves.Named("nmc532-graphite-mohtat2020");

    public ClockNightTests() => Options.TimeZone = TimeZoneInfo.FindSystemTimeZoneById("Europe/Berlin");

    [Theory]
    [InlineData("2026-10-25T08:00:00Z", "Bleed from 22:00 to 05:00", 4)]
    [InlineData("2026-03-29T08:00:00Z", "Bleed from 21:00 to 06:00", 2)]
    public void Night_review_counts_eight_hours_of_bleeding_as_eight_and_marks_round_local_times(string now, string said, int hoursFromMidnightToThree)
    {
        var state = At(now);
        var nowMs = state.Snapshot.Time.WallUnixMs;
        long[] times = [.. Enumerable.Range(0, 168).Select(i => nowMs - 14 * HourMs + i * 5 * MinuteMs)];
        Options.Night = new NightSetup(Curve, 110);
        Services.AddSingleton<IHistory>(new MadeHistory(state.Snapshot.Map, times, Night) { ColumnMs = 5 * MinuteMs, JoinWithinMs = 5 * MinuteMs });
        var page = Show<NightReviewPage>(state);

        // 4.11 V over 33 ohm for eight hours: 1.00 Ah, whatever the clocks on the wall did; an hour less or more would be 0.87 or 1.12.
        page.WaitForAssertion(() => Assert.Equal("1.00", page.FindAll(".night-table tbody tr").Single(r => r.TextContent.Contains("B08.2", StringComparison.Ordinal)).QuerySelector("[data-head=counted]")!.TextContent));
        var (bleeds, label) = Drawn("bleeds");
        Assert.StartsWith(said, label, StringComparison.Ordinal);
        var ticks = bleeds.GetProperty("ticks").EnumerateArray().ToDictionary(t => t.GetProperty("l").GetString()!, t => t.GetProperty("t").GetInt64(), StringComparer.Ordinal);
        var midnight = ticks.Single(t => t.Key.EndsWith("Oct", StringComparison.Ordinal) || t.Key.EndsWith("Mar", StringComparison.Ordinal)).Value;
        Assert.Equal(hoursFromMidnightToThree * HourMs, ticks["03:00"] - midnight);
        var run = bleeds.GetProperty("rows").EnumerateArray().Single(r => r.GetProperty("name").GetString() == "B08.2").GetProperty("runs")[0];
        Assert.Equal(8 * HourMs, run[1].GetInt64() - run[0].GetInt64());
    }

    [Fact]
    public async Task Traces_tell_the_two_half_past_twos_apart_and_a_hole_between_them_is_an_hour()
    {
        var map = At("2026-10-25T08:00:00Z").Snapshot.Map;
        var (first, second) = (Ms("2026-10-25T00:30:00Z"), Ms("2026-10-25T01:30:00Z"));
        long[] times = [.. Enumerable.Range(0, 181).Select(i => first - HourMs + i * MinuteMs).Where(t => t <= first || t >= second)];
        var range = new TimeRange(first - HourMs, second + HourMs);
        var reading = await TraceReading.LoadAsync(new MadeHistory(map, times, (_, _) => 3.9) { JoinWithinMs = MinuteMs }, map, new TraceAddress(range, ["B07.3"], []), HourMs, default);
        var picture = new Picture(null, Options);

        Assert.Contains(TraceWords.Happened(reading, picture), h => h.Text == "No record until 02:30:00 UTC+1, 60\u202fmin" && h.At == first);
        var ticks = JsonSerializer.SerializeToElement(TraceWords.Frame(reading, picture)).GetProperty("ticks").EnumerateArray().Select(t => (Label: t.GetProperty("l").GetString()!, At: t.GetProperty("t").GetInt64())).ToList();
        Assert.Equal(first, ticks.Single(t => t.Label == "02:30 UTC+2").At);
        Assert.Equal(second, ticks.Single(t => t.Label == "02:30 UTC+1").At);
        Assert.Equal(ticks.Count, ticks.Select(t => t.Label).Distinct(StringComparer.Ordinal).Count());
        Assert.All(ticks.Zip(ticks.Skip(1)), pair => Assert.Equal(ticks[1].At - ticks[0].At, pair.Second.At - pair.First.At));

        // A person may type either; without a zone the later one is meant.
        Assert.Equal(first, TraceWords.Instant("02:30 UTC+2", range, Options.TimeZone));
        Assert.Equal(second, TraceWords.Instant("02:30 UTC+1", range, Options.TimeZone));
        Assert.Equal(second, TraceWords.Instant("02:30", range, Options.TimeZone));
        Assert.Equal(first, TraceWords.Instant("02:30", new TimeRange(range.FromUnixMs, first + MinuteMs), Options.TimeZone));
    }

    [Fact]
    public void The_hour_that_is_missing_cannot_be_typed_and_no_mark_stands_in_it()
    {
        var range = new TimeRange(Ms("2026-03-29T00:30:00Z"), Ms("2026-03-29T01:30:00Z"));
        Assert.Null(TraceWords.Instant("02:30", range, Options.TimeZone));
        Assert.Equal(range.FromUnixMs + HourMs / 2 + 5 * MinuteMs, TraceWords.Instant("03:05", range, Options.TimeZone));
        Assert.DoesNotContain(TimeTicks.Of(range, Options.TimeZone, 10), t => t.Label.StartsWith("02:", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("2026-10-25T01:10:00Z", "since 02:50 UTC+2", "02:10:00 UTC+1")]
    [InlineData("2026-03-29T01:10:00Z", "since 01:50", "03:10:00\u202fUTC+2")]
    public void The_time_foot_holds_half_an_hour_across_the_change_and_the_verdict_says_the_zone_once(string now, string since, string clock)
    {
        var state = At(now);
        var nowMs = state.Snapshot.Time.WallUnixMs;
        state = state with { Recording = new RecordingView(false, "the disk is full", nowMs - 20 * MinuteMs, null) };
        var strip = (RecentStrip)Services.GetRequiredService<IRecentStrip>();
        strip.Recall(Enumerable.Range(0, 60).Select(i => new RecentPoint(nowMs - (60 - i) * 30_000, 0.018, 30)), []);
        var foot = Show<TimeFoot>(state);
        Assert.Contains(since, foot.Find(".rec").TextContent, StringComparison.Ordinal);
        var (spark, _) = Drawn("spark");
        Assert.Equal(30 * MinuteMs, spark.GetProperty("to").GetInt64() - spark.GetProperty("from").GetInt64());
        var at = spark.GetProperty("points").EnumerateArray().Where((_, i) => i % 2 == 0).Select(p => p.GetInt64()).ToList();
        Assert.All(at.Zip(at.Skip(1)), pair => Assert.InRange(pair.Second - pair.First, 1, 30_000));

        Assert.Equal(clock, Show<WholePack>(state).Find(".verdict .at .s").TextContent);
    }

    private (JsonElement Data, string Label) Drawn(string kind)
    {
        var call = JSInterop.Invocations["cellwatch.draw"].Last(c => (string?)c.Arguments[1] == kind);
        return (JsonDocument.Parse((string)call.Arguments[2]!).RootElement, (string)call.Arguments[3]!);
    }

    // Two hours of rest, eight of bleeding B08.2, four of rest.
    private static double Night(string name, int step)
    {
        if (name == "packCurrentA") return 0;
        if (name.EndsWith(".t1", StringComparison.Ordinal) || name.EndsWith(".t2", StringComparison.Ordinal)) return 20;
        if (name.EndsWith(".bleed", StringComparison.Ordinal)) return name == "B08.2.bleed" && step is >= 24 and < 120 ? 1 : 0;
        var aboveAh = name == "B08.2" ? 1.2 - Math.Clamp((step - 24) / 96.0, 0, 1) : 0;
        return Curve.VoltageAt(93 + 100 * aboveAh / 110);
    }

    private static PackState At(string now)
    {
        var start = Petrel.At("normal").Snapshot.Time.WallUnixMs - 500 * Petrel.At("normal").Snapshot.Sequence;
        return Petrel.At("normal", (Ms(now) - start) / 500);
    }

    private static long Ms(string at) => DateTimeOffset.Parse(at, System.Globalization.CultureInfo.InvariantCulture).ToUnixTimeMilliseconds();
}
