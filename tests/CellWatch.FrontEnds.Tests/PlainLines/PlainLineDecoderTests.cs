using System.Text.Json;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.Tests.Running;

namespace CellWatch.FrontEnds.Tests.PlainLines;

public class PlainLineDecoderTests
{
    private static FrontEndOptions With(PlainLineOptions plain) => new()
    {
        Name = "own board",
        Wire = WireKind.PlainLines,
        Port = "pipe",
        Modules = ["B01", "B02"],
        Auxiliaries = ["coolant"],
        PlainLines = plain,
    };

    private static FrontEndOptions Prefixed { get; } = With(new PlainLineOptions
    {
        GroupSeparator = ";",
        Comment = "#",
        Runs =
        [
            new PlainRun { Prefix = "V", Quantity = PlainQuantity.Cells, Module = 1 },
            new PlainRun { Prefix = "V", Quantity = PlainQuantity.Cells, Module = 2, Position = 7 },
            new PlainRun { Prefix = "T", Quantity = PlainQuantity.Temperatures, Module = 1 },
        ],
    });

    private static async Task<Bench> StartAsync(FrontEndOptions options)
    {
        var bench = new Bench(options);
        await bench.StartAsync();
        // Nobody knows whether the first line after opening is whole: it is dropped.
        bench.Send("half\r\n");
        return bench;
    }

    [Fact]
    public async Task Groups_with_prefixes_reach_their_channels()
    {
        await using var bench = await StartAsync(Prefixed);
        bench.Send("# booted\r\nV,3.912,3.913,3.914,3.915,3.916,3.917,3.8,3.8,-,NaN,7.5,3.8;T,21.4,22.0;\r\n");
        await Bench.UntilAsync(() => bench.Health.Frames == 1);
        var scan = bench.Scan();
        Assert.Equal(3.912, scan.RawValues[0]);
        Assert.Equal([Quality.Good, Quality.Good, Quality.Missing, Quality.Missing, Quality.OutOfRange, Quality.Good], scan.Quality[6..12].ToArray());
        Assert.Equal([21.4, 22.0], scan.RawValues.Slice(bench.Map.FirstTemperature, 2).ToArray());
        Assert.Equal("plain lines", bench.Health.Wire);
        Assert.Equal(14, bench.Health.Channels.Length);
        Assert.Equal(Origin.Measured, scan.Origin[0]);
    }

    [Fact]
    public async Task Blank_parted_millivolts_by_position()
    {
        await using var bench = await StartAsync(With(new PlainLineOptions
        {
            Separator = "blank",
            Runs =
            [
                new PlainRun { Position = 2, Quantity = PlainQuantity.Cells, Module = 1, Scale = 0.001 },
                new PlainRun { Position = 8, Quantity = PlainQuantity.PackCurrent },
                new PlainRun { Position = 9, Quantity = PlainQuantity.Auxiliaries, Count = 1 },
            ],
            FieldCounts = new Dictionary<string, int>(StringComparer.Ordinal) { [""] = 10 },
        }) with
        { InvertCurrent = true });
        bench.Send("  171  3912 3913\t3914 3915 3916 3917   12.5 31 ok \n");
        await Bench.UntilAsync(() => bench.Health.Frames == 1);
        Assert.Equal(3.912, bench.Value(0), 1e-9);
        Assert.Equal(-12.5, bench.Value(bench.Map.PackCurrent));
        Assert.Equal(31, bench.Value(bench.Map.FirstAuxiliary));
    }

    [Fact]
    public async Task A_faulty_line_is_thrown_away_whole_with_its_reason()
    {
        await using var bench = await StartAsync(Prefixed);
        bench.Send("V,3.912,3.913,3.914,3.915,3.916,3.917,3.8,3.8,3.8,3.8,3.8,3.8;T,21.4\r\n");
        bench.Send("V,3.912,3.913,3.914,3.915,3.916,3.917,3.8,3.8,3.8,3.8,3.8,3.8,9;T,21.4,22\r\n");
        bench.Send("X,1;T,21.4,22\r\n");
        bench.Send("T,21.4,2x\r\n");
        bench.Send(new string('1', 2000) + "\r\n");
        await Bench.UntilAsync(() => bench.Health.BadPerMinute == 6);
        Assert.Equal((2, 1, 1, 1, 1), (bench.Bad("wrong number of fields"), bench.Bad("unknown kind"), bench.Bad("not a number"), bench.Bad("line too long"), bench.Bad("half line")));
        Assert.All(bench.Scan().Quality.ToArray(), q => Assert.Equal(Quality.Missing, q));
    }

    [Fact]
    public async Task A_field_that_names_the_board_tells_a_swap()
    {
        await using var bench = await StartAsync(With(new PlainLineOptions
        {
            GroupSeparator = ";",
            Runs = [new PlainRun { Prefix = "ID", Quantity = PlainQuantity.Identity }, new PlainRun { Prefix = "T", Quantity = PlainQuantity.Temperatures, Module = 1 }],
        }) with
        { Identity = "fore" });
        bench.Send("ID,aft;T,20,20\n");
        await Bench.UntilAsync(() => bench.Bad("another identity") == 1);
        Assert.Equal(Quality.Missing, bench.QualityOf(bench.Map.FirstTemperature));
        bench.Send("ID,fore;T,20,20\n");
        await Bench.UntilAsync(() => bench.Health.Frames == 1);
    }

    [Fact]
    public void Wrong_mappings_are_told_by_name()
    {
        var map = new Bench().Map;
        string Problem(PlainLineOptions plain, string identity = "") => string.Join('\n', FrontEndFactory.Check(With(plain) with { Identity = identity }, map));
        var run = new PlainRun { Quantity = PlainQuantity.Cells, Module = 1 };
        Assert.Contains("at least one run", Problem(new PlainLineOptions()), StringComparison.Ordinal);
        Assert.Contains("one quantity a field", Problem(new PlainLineOptions { Runs = [run, run with { Module = 2 }] }), StringComparison.Ordinal);
        Assert.Contains("'B01.1' is not valid; allowed: one field a channel", Problem(new PlainLineOptions { Runs = [run, run with { Position = 7 }] }), StringComparison.Ordinal);
        Assert.Contains("module: '3' is not valid; allowed: 1 to 2", Problem(new PlainLineOptions { Runs = [run with { Module = 3 }] }), StringComparison.Ordinal);
        Assert.Contains("count: '7'", Problem(new PlainLineOptions { Runs = [run with { Count = 7 }] }), StringComparison.Ordinal);
        Assert.Contains("scale: '0'", Problem(new PlainLineOptions { Runs = [run with { Scale = 0 }] }), StringComparison.Ordinal);
        Assert.Contains("Did you mean 'blank'?", Problem(new PlainLineOptions { Separator = "blanc", Runs = [run] }), StringComparison.Ordinal);
        Assert.Contains("these lines do not say who sends them", Problem(new PlainLineOptions { Runs = [run] }, "fore"), StringComparison.Ordinal);
    }

    [Fact]
    public void Options_survive_json_with_the_words_a_person_writes()
    {
        var json = new JsonSerializerOptions(JsonSerializerDefaults.Web);
        var text = JsonSerializer.Serialize(Prefixed, json);
        Assert.Contains("\"wire\":\"plainLines\"", text, StringComparison.Ordinal);
        Assert.Contains("\"quantity\":\"temperatures\"", text, StringComparison.Ordinal);
        Assert.Equal(text, JsonSerializer.Serialize(JsonSerializer.Deserialize<FrontEndOptions>(text, json), json));
    }
}
