using System.Globalization;
using System.Text;
using System.Text.Json.Nodes;
using CellWatch.EndToEnd.Tests.Support;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.CommandLine;

/// <summary>
/// The command <c>decode</c> as a process. Expected values: cantools 42.0.3 and canmatrix 0.9.5, carried in
/// shared/data/can/dbc_decode_vectors.json; 1e-9 relative as its README says.
/// </summary>
public class DecodeCommandTests
{
    [SharedTheory("data/can/dbc_decode_vectors.json")]
    [InlineData("cellfront_le.dbc")]
    [InlineData("cellfront_be.dbc")]
    public async Task Every_shared_vector_comes_out_of_the_command_in_file_order(string database)
    {
        var vectors = JsonNode.Parse(await File.ReadAllTextAsync(SharedMaterial.PathOf("data/can/dbc_decode_vectors.json")))!["vectors"]!.AsArray()
            .Where(v => (string)v!["dbc"]! == database).ToList();
        var log = new StringBuilder();
        for (var i = 0; i < vectors.Count; i++)
        {
            var vector = vectors[i]!;
            var mark = (bool)vector["fd"]! ? "##0" : "#";
            log.Append(CultureInfo.InvariantCulture, $"({1_700_000_000 + i}.250000) can0 {Id(vector)}{mark}{vector["data"]}\n");
        }

        using var folder = new TemporaryFolder();
        var file = folder.Write("frames.log", log.ToString());

        var (exitCode, output, error) = await ServiceProcess.RunAsync(null, "decode", "--database", SharedMaterial.PathOf($"data/can/{database}"), file);

        Assert.Equal(0, exitCode);
        var lines = output.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(l => JsonNode.Parse(l)!).ToList();
        Assert.Equal(vectors.Count, lines.Count);
        Assert.Contains($"{vectors.Count} frames", error, StringComparison.Ordinal);
        for (var i = 0; i < vectors.Count; i++) Compare(vectors[i]!, lines[i], i);
    }

    [Fact]
    public async Task A_database_that_is_cut_off_is_refused_with_its_line()
    {
        using var folder = new TemporaryFolder();
        var database = folder.Write("cut.dbc", "VERSION \"\"\nBO_ 256 Cells: 8 Board\n SG_ C1_V : 0|16@1+ (0.0001,0) [0|6.5");
        var (exitCode, output, error) = await ServiceProcess.RunAsync(null, "decode", "--database", database, folder.Write("empty.log", ""));

        Assert.Equal(2, exitCode);
        Assert.Empty(output);
        Assert.Contains("3", error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_line_that_is_no_frame_gives_one_line_with_its_error_and_the_rest_goes_on()
    {
        using var folder = new TemporaryFolder();
        var database = folder.Write("one.dbc", "VERSION \"\"\n\nBS_:\n\nBU_: Board\n\nBO_ 256 Cells: 8 Board\n SG_ C1_V : 0|16@1+ (0.0001,0) [0|6.5535] \"V\" Board\n");
        var file = folder.Write("frames.log", "(1.0) can0 100#3990\n(2.0) can0 10G#00\n(3.0) can0 123#00\n(4.0) can0 100#3990000000000000\n");

        var (exitCode, output, _) = await ServiceProcess.RunAsync(null, "decode", "-d", database, file);

        Assert.Equal(0, exitCode);
        var lines = output.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(l => JsonNode.Parse(l)!).ToList();
        Assert.Equal(4, lines.Count);
        Assert.NotNull(lines[1]["error"]);
        Assert.Null(lines[2]["message"]);
        Assert.Equal(3.6921, (double)lines[3]["signals"]!["C1_V"]!, 1e-9);
    }

    private static string Id(JsonNode vector)
    {
        var id = uint.Parse((string)vector["can_id"]!, NumberStyles.HexNumber, CultureInfo.InvariantCulture);
        return id.ToString((bool)vector["extended"]! ? "X8" : "X3", CultureInfo.InvariantCulture);
    }

    private static void Compare(JsonNode vector, JsonNode line, int index)
    {
        Assert.Equal(Id(vector), (string)line["id"]!);
        Assert.Equal(1_700_000_000.25 + index, (double)line["time"]!);
        Assert.Equal((string)vector["message"]!, (string)line["message"]!);
        if (vector["reference_tool_error"] is not null)
        {
            Assert.NotNull(line["error"]);
            return;
        }

        var signals = line["signals"]!.AsObject();
        Assert.Equal(vector["signals"]!.AsObject().Select(s => s.Key).Order(StringComparer.Ordinal), signals.Select(s => s.Key).Order(StringComparer.Ordinal));
        foreach (var (name, expected) in vector["signals"]!.AsObject())
        {
            var want = expected!["physical"]!.AsValue();
            var got = signals[name]!.AsValue();
            if (want.TryGetValue<string>(out var text))
            {
                Assert.Equal(text, (string)got!, ignoreCase: true);
                continue;
            }

            var (a, b) = ((double)want, (double)got);
            Assert.True(Math.Abs(a - b) <= Math.Max(1e-9 * Math.Abs(a), 1e-12), $"{vector["id"]} {name}: {b} instead of {a}");
        }
    }
}
