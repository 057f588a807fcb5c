using System.Collections.Immutable;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Strips;
using CellWatch.Testing.Pages;
using Xunit;

namespace CellWatch.Dashboard.Tests.Strips;

/// <summary>Cells against time as bytes: what is drawn is decided here, not in the browser.</summary>
public sealed class CarpetTests
{
    private const long T0 = 1_770_000_000_000;
    private static readonly ChannelMap Map = Petrel.At("normal").Snapshot.Map;
    private static readonly int B073 = Petrel.Cell("B07.3");

    [Theory]
    [InlineData(0, 25, 64)]
    [InlineData(25, 25, 127)]
    [InlineData(-25, 25, 1)]
    [InlineData(12.5, 25, 96)]
    [InlineData(-300, 250, 1)]
    [InlineData(300, 250, 127)]
    public void A_distance_is_a_level_of_the_scale_and_its_ends_hold_what_goes_beyond(double mv, double reachMv, byte level) => Assert.Equal(level, Carpet.Level(mv, reachMv));

    [Fact]
    public void No_value_is_no_level_of_the_scale() => Assert.Equal(0, Carpet.Level(double.NaN, 25));

    [Theory]
    [InlineData(0.003, 5)]
    [InlineData(0.005, 5)]
    [InlineData(0.006, 10)]
    [InlineData(0.030, 50)]
    [InlineData(0.240, 250)]
    public async Task The_scale_steps_and_holds_every_cell(double outV, double reachMv)
    {
        var reading = await Read(Seconds(0, 100), (name, i) => name == "B07.3" && i == 50 ? 3.9 + outV : 3.9);
        var carpet = Carpet.Of(reading.Crowd, reading.Address.Range, All);
        Assert.Equal(reachMv, carpet.ReachMv);
        Assert.False(carpet.IsCut);
    }

    [Fact]
    public async Task Beyond_the_widest_scale_is_said_and_a_filter_changes_no_colour()
    {
        var reading = await Read(Seconds(0, 100), (name, _) => name == "B07.3" ? 3.4 : 3.9);
        Assert.True(Carpet.Of(reading.Crowd, reading.Address.Range, All).IsCut);
        Assert.Equal(250, Carpet.Of(reading.Crowd, reading.Address.Range, [Petrel.Cell("B01.1")]).ReachMv);
    }

    [Fact]
    public async Task Of_many_scans_in_a_bucket_the_one_farthest_out_is_kept()
    {
        // One scan of a hundred seconds lies 20 mV low; ten buckets.
        var reading = await Read(Seconds(0, 100), (name, i) => name == "B07.3" && i == 57 ? 3.88 : 3.9);
        var row = Row(Carpet.Of(reading.Crowd, reading.Address.Range, [B073], 10), 0);
        Assert.Equal(Carpet.Level(-20, 25), row[5]);
        Assert.All(row.Where((_, b) => b != 5), v => Assert.Equal(Carpet.Middle, v));
    }

    [Fact]
    public async Task Where_nothing_was_recorded_there_is_no_level_and_a_cell_without_a_value_is_doubted_there()
    {
        var reading = await Read([.. Seconds(0, 30), .. Seconds(60, 100)], (name, i) => name == "B07.3" && i is >= 10 and < 20 ? double.NaN : 3.9);
        var carpet = Carpet.Of(reading.Crowd, reading.Address.Range, [B073, Petrel.Cell("B01.1")], 100);
        Assert.All(Row(carpet, 0)[10..20], v => Assert.Equal(Carpet.NotAllBelieved, v));
        Assert.All(Row(carpet, 1)[10..20], v => Assert.Equal(Carpet.Middle, v));
        // The gap has neither a level nor a doubt, for any cell; the last scan before it lasts its own second.
        Assert.All(Row(carpet, 0)[30..60].Concat(Row(carpet, 1)[30..60]), v => Assert.Equal(0, v));
        Assert.Equal(Carpet.Middle, Row(carpet, 0)[60]);
    }

    [Fact]
    public async Task Wide_columns_fill_the_buckets_they_cover()
    {
        var history = new MadeHistory(Map, [T0, T0 + 50_000], (name, i) => name == "B07.3" && i == 1 ? 3.91 : 3.9) { ColumnMs = 50_000, JoinWithinMs = 50_000 };
        var reading = await TraceReading.LoadAsync(history, Map, Address, 0, default);
        var row = Row(Carpet.Of(reading.Crowd, reading.Address.Range, [B073], 10), 0);
        Assert.Equal([.. Enumerable.Repeat((byte)Carpet.Middle, 5), .. Enumerable.Repeat((byte)127, 5)], row);
    }

    [Fact]
    public async Task The_filter_takes_a_module_and_only_what_is_doubtful_and_travels_in_the_address()
    {
        var reading = await Read(Seconds(0, 100), (name, i) => name is "B07.3" or "B09.1" && i == 4 ? double.NaN : 3.9);
        Assert.Equal(108, new TraceFilter("", "").Cells(reading).Length);
        Assert.Equal(["B07.3", "B09.1"], new TraceFilter("", TraceFilter.Doubtful).Cells(reading).Select(Map.NameOf));
        Assert.Equal(["B07.3"], new TraceFilter("B07", TraceFilter.Doubtful).Cells(reading).Select(Map.NameOf));
        Assert.Equal(6, new TraceFilter("B07", "").Cells(reading).Length);
        Assert.Empty(new TraceFilter("B07", "act-now").Cells(reading));
        Assert.Contains("&module=B07&state=doubtful&", (Address with { Filter = new TraceFilter("B07", TraceFilter.Doubtful) }).ToUri(), StringComparison.Ordinal);

        var faults = new List<string>();
        Assert.True(TraceFilter.Read("B77", "doubtfull", Map, faults).IsOff);
        Assert.Contains("There is no state 'doubtfull'; did you mean", faults[1], StringComparison.Ordinal);
        Assert.StartsWith("There is no module 'B77'", faults[0], StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_file_of_the_cells_holds_each_distance_with_units_and_what_was_not_believed()
    {
        var reading = await Read([.. Seconds(0, 3), .. Seconds(60, 62)], (name, i) => name == "B07.3" ? i == 1 ? double.NaN : 3.88 : 3.9);
        var csv = TraceCsv.WriteCells(reading with { Address = Address with { Filter = new TraceFilter("B07", TraceFilter.Doubtful) } }, "Petrel", "0.9", true).Split("\r\n");
        Assert.Equal("# SIMULATED DATA - no real cells", csv[0]);
        Assert.Contains("# only module B07, only doubtful", csv);
        Assert.Contains("time_utc,median [V],scans,B07.3 deviation [mV],B07.3 not believed", csv);
        Assert.Contains($"{DateTimeOffset.FromUnixTimeMilliseconds(T0):yyyy-MM-dd'T'HH:mm:ss.fff'Z'},3.9,1,-20,0", csv);
        Assert.Contains($"{DateTimeOffset.FromUnixTimeMilliseconds(T0 + 1000):yyyy-MM-dd'T'HH:mm:ss.fff'Z'},3.9,1,,1", csv);
        Assert.Contains(csv, l => l.StartsWith("# gap until", StringComparison.Ordinal));
    }

    private static readonly TraceAddress Address = new(new TimeRange(T0, T0 + 100_000), ["B07.3"], []);

    private static ImmutableArray<int> All => [.. Enumerable.Range(0, Map.CellCount)];

    private static byte[] Row(Carpet carpet, int row) => carpet.Bytes[(row * carpet.Buckets)..((row + 1) * carpet.Buckets)];

    private static long[] Seconds(int from, int to) => [.. Enumerable.Range(from, to - from).Select(s => T0 + 1000L * s)];

    private static Task<TraceReading> Read(long[] atMs, Func<string, int, double> value) =>
        TraceReading.LoadAsync(new MadeHistory(Map, atMs, value), Map, Address, 0, default);
}
