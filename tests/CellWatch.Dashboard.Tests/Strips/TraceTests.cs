using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Strips;
using CellWatch.Testing.Pages;
using Xunit;

namespace CellWatch.Dashboard.Tests.Strips;

public sealed class TraceTests
{
    private const long T0 = 1_770_000_000_000;
    private static readonly ChannelMap Map = Petrel.At("normal").Snapshot.Map;

    [Fact]
    public void The_address_gives_back_the_view_it_was_made_from()
    {
        var made = new TraceAddress(new TimeRange(T0, T0 + 90_500), ["B07.3", "packCurrentA"], []);
        var query = made.ToUri().Split('?')[1].Split('&').ToDictionary(p => p.Split('=')[0], p => Uri.UnescapeDataString(p.Split('=')[1]), StringComparer.Ordinal);
        var read = TraceAddress.Read(query["from"], query["to"], query["cells"], default, Map);
        Assert.Equal(made.Range, read.Range);
        Assert.Equal(made.Picked.AsEnumerable(), read.Picked);
        Assert.Empty(read.Faults);
    }

    [Fact]
    public void A_module_stands_for_its_cells_and_a_mistyped_name_is_answered_with_the_nearest()
    {
        var read = TraceAddress.Read(null, null, "b07 B11 b12.2 B99.1", (new TimeRange(0, 60_000), []), Map);
        Assert.Equal(["B07.1", "B07.2", "B07.3", "B07.4", "B07.5", "B07.6", "B11.1", "B11.2", "B11.3", "B11.4", "B11.5", "B11.6"], read.Picked.AsEnumerable());
        Assert.Contains(read.Faults, f => f.StartsWith("There is no cell, module or channel 'B99.1'; did you mean", StringComparison.Ordinal));
        Assert.Contains(read.Faults, f => f == "Twelve lines are drawn at most: B12.2 left out.");
    }

    [Theory]
    [InlineData("2026-01-01T10:00:00Z", "2026-01-01T09:00:00Z")]
    [InlineData("yesterday", "2026-01-01T09:00:00Z")]
    [InlineData("2026-01-01T10:00:00Z", "2026-01-01T10:00:01Z")]
    [InlineData("2016-01-01T10:00:00Z", "2026-01-01T10:00:01Z")]
    public void Times_that_make_no_range_are_said_and_replaced(string from, string to)
    {
        var usual = new TimeRange(T0, T0 + 3_600_000);
        var read = TraceAddress.Read(from, to, null, (usual, ["B01.1"]), Map);
        Assert.Equal(usual, read.Range);
        Assert.Single(read.Faults);
    }

    [Fact]
    public async Task A_gap_is_named_and_no_line_crosses_it()
    {
        var reading = await Read([.. Seconds(0, 20), .. Seconds(60, 80)], (_, _) => 3.9);
        var gap = Assert.Single(reading.Gaps);
        Assert.Equal(new TimeRange(T0 + 19_000, T0 + 60_000), gap);
        var line = StripSheet.Of(reading).Strips[0].Series[1];
        Assert.Equal(41, line.Mean.Length);
        Assert.Equal(20, Array.FindIndex(line.Mean, double.IsNaN));
        Assert.All(line.Mean.Where((_, i) => i != 20), v => Assert.Equal(3.9, v));
    }

    [Fact]
    public async Task The_end_that_is_not_written_yet_is_no_gap_but_a_longer_silence_is()
    {
        Assert.Empty((await Read([.. Seconds(0, 95)], (_, _) => 3.9, lateMs: 10_000)).Gaps);
        Assert.Single((await Read([.. Seconds(0, 80)], (_, _) => 3.9, lateMs: 10_000)).Gaps);
    }

    [Fact]
    public async Task Figures_travel_as_doubles_in_the_order_of_their_description()
    {
        var reading = await Read([.. Seconds(0, 10)], (name, i) => name == "B07.3" ? 3.8 + 0.001 * i : 3.9);
        var sheet = StripSheet.Of(reading);
        var values = new double[sheet.ToBytes().Length / sizeof(double)];
        Buffer.BlockCopy(sheet.ToBytes(), 0, values, 0, sheet.ToBytes().Length);
        Assert.Equal(sheet.Strips.Sum(s => s.Series.Sum(x => 4 * x.UnixMs.Length)), values.Length);
        // First the band of all cells (times, least, mean, greatest), then the line of B07.3.
        Assert.Equal(T0, values[0]);
        Assert.Equal(3.8, values[10], 9);
        Assert.Equal(3.9, values[30], 9);
        Assert.Equal(3.809, values[69], 9);
    }

    [Fact]
    public async Task The_cell_that_left_first_is_named_first_and_one_odd_scan_moves_nobody()
    {
        var reading = await Read([.. Seconds(0, 60)], (name, i) => name switch
        {
            "B11.2" => 3.9 + (i >= 30 ? 0.008 : 0),
            "B03.5" => 3.9 - (i >= 40 ? 0.012 : 0),
            "B04.1" => 3.9 + (i == 20 ? 0.05 : 0),
            _ => 3.9,
        });
        var moved = reading.Crowd.FirstToMove();
        Assert.Equal(["B11.2", "B03.5"], moved.Select(m => m.Channel));
        Assert.Equal(T0 + 30_000, moved[0].UnixMs);
        Assert.Equal(0.008, moved[0].MovedV, 9);
        Assert.Equal(-0.012, moved[1].MovedV, 9);
    }

    [Fact]
    public async Task Nobody_moves_when_all_do()
    {
        Assert.Empty((await Read([.. Seconds(0, 60)], (_, i) => 3.9 + 0.01 * i)).Crowd.FirstToMove());
    }

    [Fact]
    public async Task The_widest_moment_is_taken_between_cells_at_one_time()
    {
        // All rise by half a volt; at any one time they are 4 mV apart.
        var reading = await Read([.. Seconds(0, 60)], (name, i) => 3.5 + 0.008 * i + (name == "B01.1" ? 0.004 : 0));
        Assert.Equal(0.004, reading.Crowd.Widest()!.Value.SpreadV, 9);
    }

    [Fact]
    public async Task The_file_of_what_is_seen_has_units_settings_empty_fields_and_its_gaps()
    {
        var reading = await Read([T0, T0 + 1000, T0 + 61_000], (name, i) => name == "B07.3" && i == 1 ? double.NaN : 3.9);
        var lines = TraceCsv.Write(reading, "petrel", "0.1.0", simulated: true).Split("\r\n");
        Assert.Equal("# SIMULATED DATA - no real cells", lines[0]);
        Assert.Contains("each line is one scan", lines[3], StringComparison.Ordinal);
        Assert.Equal("time_utc,B07.3 [V],B07.3 quality,packCurrentA [A],packCurrentA quality,all cells least [V],all cells mean [V],all cells greatest [V]", lines[5]);
        Assert.Equal("2026-02-02T02:40:00.000Z,3.9,Good,3.9,Good,3.9,3.9,3.9", lines[6]);
        Assert.Equal("2026-02-02T02:40:01.000Z,,Missing,3.9,Good,3.9,3.9,3.9", lines[7]);
        Assert.Equal("# gap until 2026-02-02T02:41:01.000Z", lines[8]);
    }

    [Fact]
    public async Task Wider_columns_are_written_with_least_mean_and_greatest()
    {
        var history = new MadeHistory(Map, [.. Seconds(0, 5)], (_, _) => 3.9) { ColumnMs = 1000 };
        var reading = await TraceReading.LoadAsync(history, Map, new TraceAddress(new TimeRange(T0, T0 + 5_000), ["B07.3"], []), 0, default);
        var csv = TraceCsv.Write(reading, "petrel", "0.1.0", simulated: false);
        Assert.DoesNotContain("SIMULATED", csv, StringComparison.Ordinal);
        Assert.Contains("each line is 1 s: least, mean and greatest", csv, StringComparison.Ordinal);
        Assert.Contains("B07.3 least [V],B07.3 mean [V],B07.3 greatest [V]", csv, StringComparison.Ordinal);
    }

    [Fact]
    public void On_the_night_the_clocks_go_back_the_hour_that_comes_twice_has_two_marks_that_say_their_zone()
    {
        // Central European time: 25 October 2026, 03:00 becomes 02:00 (the rule of Directive 2000/84/EC: last Sunday in October, 01:00 UTC).
        var zone = TimeZoneInfo.FindSystemTimeZoneById("Europe/Berlin");
        var from = new DateTimeOffset(2026, 10, 24, 22, 0, 0, TimeSpan.Zero).ToUnixTimeMilliseconds();
        var ticks = TimeTicks.Of(new TimeRange(from, from + 5 * 3_600_000 + 1), zone, 8);
        Assert.Equal(["25 Oct", "01:00", "02:00 UTC+2", "02:00 UTC+1", "03:00", "04:00"], ticks.Select(t => t.Label));
        Assert.All(ticks.Zip(ticks.Skip(1)), pair => Assert.Equal(3_600_000, pair.Second.UnixMs - pair.First.UnixMs));
    }

    [Fact]
    public void On_the_night_an_hour_is_missing_no_mark_stands_in_it_and_the_others_keep_their_distance()
    {
        var zone = TimeZoneInfo.FindSystemTimeZoneById("Europe/Berlin");
        var from = new DateTimeOffset(2026, 3, 28, 23, 0, 0, TimeSpan.Zero).ToUnixTimeMilliseconds();
        var ticks = TimeTicks.Of(new TimeRange(from, from + 4 * 3_600_000 + 1), zone, 8);
        Assert.Equal(["29 Mar", "01:00", "03:00", "04:00", "05:00"], ticks.Select(t => t.Label).Where(l => !l.EndsWith(":30", StringComparison.Ordinal)));
        Assert.DoesNotContain(ticks, t => t.Label.StartsWith("02:", StringComparison.Ordinal));
        Assert.All(ticks.Zip(ticks.Skip(1)), pair => Assert.Equal(ticks[1].UnixMs - ticks[0].UnixMs, pair.Second.UnixMs - pair.First.UnixMs));
    }

    private static IEnumerable<long> Seconds(int from, int to) => Enumerable.Range(from, to - from).Select(s => T0 + 1000L * s);

    private static Task<TraceReading> Read(long[] atMs, Func<string, int, double> value, double lateMs = 60_000) =>
        TraceReading.LoadAsync(new MadeHistory(Map, atMs, value), Map, new TraceAddress(new TimeRange(T0, T0 + 100_000), ["B07.3"], []), lateMs, default);
}
