using System.Text.Json;
using CellWatch.FrontEnds.FrameFiles;
using CellWatch.FrontEnds.SignalDatabase;

namespace CellWatch.FrontEnds.Tests.FrameFiles;

public class FrameFileDecoderTests
{
    private const string Database = """
        BO_ 256 Cells: 4 FrontEnd
         SG_ A_V : 0|16@1+ (0.0001,0) [0|6.5535] "V" Host
         SG_ B_V : 16|16@1+ (0.0001,0) [0|6.5535] "V" Host
        BO_ 515 Counter: 8 FrontEnd
         SG_ Count : 0|64@1+ (1,0) [0|0] "" Host
        BO_ 513 Floats: 4 FrontEnd
         SG_ F : 0|32@1- (1,0) [0|0] "A" Host
        BO_ 768 Paged: 2 FrontEnd
         SG_ Page M : 0|8@1+ (1,0) [0|0] "" Host
         SG_ P0 m0 : 8|8@1+ (1,0) [0|0] "" Host
        BO_ 2566848768 Wide: 1 FrontEnd
         SG_ W : 0|8@1+ (1,0) [0|0] "" Host
        BO_ 1024 Long: 12 FrontEnd
         SG_ L : 88|8@1+ (1,0) [0|0] "" Host
        BA_ "VFrameFormat" BO_ 1024 14;
        SIG_VALTYPE_ 513 F : 1;
        """;

    private static (string[] Lines, FrameFileSummary Summary) Decode(string file)
    {
        var output = new StringWriter();
        var summary = FrameFileDecoder.Decode(new MemoryStream(Vectors.Ascii(file)), CanDatabase.Parse(Database, "x.dbc"), output);
        return (output.ToString().Split('\n', StringSplitOptions.RemoveEmptyEntries), summary);
    }

    [Fact]
    public void A_candump_log_gives_one_object_a_frame_in_file_order()
    {
        var (lines, summary) = Decode("""
            (1436509052.249713) can0 100#39904690
            (1436509052.349713) can0 18FF0100#2A
            (1436509052.449713) can0 400##0000000000000000000000007

            DROPCOUNT: dropped 2 CAN frames on 'can0' socket (total drops 2)
            (1436509052.549713) can0 7FF#00
            """);
        Assert.Equal(
        [
            """{"time":1436509052.249713,"id":"100","message":"Cells","signals":{"A_V":3.6921000000000004,"B_V":3.6934}}""",
            """{"time":1436509052.349713,"id":"18FF0100","message":"Wide","signals":{"W":42}}""",
            """{"time":1436509052.449713,"id":"400","message":"Long","signals":{"L":7}}""",
            """{"time":1436509052.549713,"id":"7FF","message":null,"signals":{},"error":"unknown identifier"}""",
        ], lines);
        Assert.Equal(new FrameFileSummary(FrameFileFormat.Candump, 4, 0, 1, 0, 2), summary);
    }

    [Fact]
    public void A_serial_capture_gives_one_object_a_frame_and_none_for_answers()
    {
        var (lines, summary) = Decode("\r\r\aV1013\rNA123\r\rt100439904690\rF00\rz\rt10043990469\rsa000000\rt3002000F4D67\rt30020F00\rgarbage\rt203");
        Assert.Equal(
        [
            """{"time":null,"id":"100","message":"Cells","signals":{"A_V":3.6921000000000004,"B_V":3.6934}}""",
            """{"time":null,"id":null,"message":null,"signals":{},"error":"data shorter than its length"}""",
            """{"time":19.815,"id":"300","message":"Paged","signals":{"Page":0,"P0":15}}""",
            """{"time":null,"id":"300","message":"Paged","signals":{"Page":15},"error":"unknown multiplex page of Paged"}""",
            """{"time":null,"id":null,"message":null,"signals":{},"error":"unknown line"}""",
            """{"time":null,"id":null,"message":null,"signals":{},"error":"length is not 0 to 8"}""",
        ], lines);
        Assert.Equal(new FrameFileSummary(FrameFileFormat.SerialCan, 3, 3, 0, 1, 0), summary);
    }

    [Theory]
    [InlineData("203#FFFFFFFFFFFFFFFF", "\"Count\":\"18446744073709551615\"")]
    [InlineData("203#0000000000002000", "\"Count\":9007199254740992")]
    [InlineData("203#0100000000002000", "\"Count\":\"9007199254740993\"")]
    [InlineData("201#0000C07F", "\"F\":\"nan\"")]
    [InlineData("201#0000807F", "\"F\":\"inf\"")]
    [InlineData("201#000080FF", "\"F\":\"-inf\"")]
    [InlineData("100#3990", "\"signals\":{},\"error\":\"2 bytes of data; Cells needs 4\"")]
    [InlineData("100#R4", "\"error\":\"remote frame: it carries no data\"")]
    [InlineData("20000004#000C000000000000", "\"id\":\"00000004\",\"message\":null,\"signals\":{},\"error\":\"error frame: controller fault\"")]
    public void Values_and_errors_that_json_numbers_cannot_hold(string frame, string expected) =>
        Assert.Contains(expected, Assert.Single(Decode($"(1.0) can0 {frame}\n").Lines), StringComparison.Ordinal);

    [SharedFact(Vectors.Folder)]
    public void Both_file_kinds_reproduce_every_shared_vector()
    {
        var root = Vectors.Read("dbc_decode_vectors.json");
        var vectors = root.EnumerateObject().Single(p => p.Value.ValueKind == JsonValueKind.Array).Value.EnumerateArray().ToArray();
        foreach (var group in vectors.GroupBy(v => v.Text("dbc")))
        {
            var database = CanDatabase.Load(SharedMaterial.PathOf($"{Vectors.Folder}/{group.Key}"));
            foreach (var file in new[] { Candump(group), SerialCapture(group) })
            {
                var output = new StringWriter();
                FrameFileDecoder.Decode(new MemoryStream(Vectors.Ascii(file)), database, output);
                var lines = output.ToString().Split('\n', StringSplitOptions.RemoveEmptyEntries);
                Assert.Equal(group.Count(), lines.Length);
                foreach (var (vector, line) in group.Zip(lines)) Check(vector, JsonDocument.Parse(line).RootElement);
            }
        }
    }

    private static string Candump(IEnumerable<JsonElement> vectors) => string.Concat(vectors.Select(v =>
        $"(1.0) can0 {Id(v)}{(v.GetProperty("fd").GetBoolean() ? "##0" : "#")}{v.Text("data")}\n"));

    private static string SerialCapture(IEnumerable<JsonElement> vectors) => string.Concat(vectors.Select(v =>
    {
        var isFd = v.GetProperty("fd").GetBoolean();
        var letter = (v.GetProperty("extended").GetBoolean(), isFd) switch { (true, true) => 'D', (false, true) => 'd', (true, false) => 'T', _ => 't' };
        return $"{letter}{Id(v)}{(isFd ? "F" : "8")}{v.Text("data")}\r";
    }));

    private static string Id(JsonElement vector) => vector.Text("can_id").PadLeft(vector.GetProperty("extended").GetBoolean() ? 8 : 3, '0');

    private static void Check(JsonElement vector, JsonElement line)
    {
        Assert.Equal(Id(vector), line.Text("id"));
        Assert.Equal(vector.Text("message"), line.Text("message"));
        if (vector.TryGetProperty("reference_tool_error", out _))
        {
            Assert.True(line.TryGetProperty("error", out _));
            return;
        }

        Assert.False(line.TryGetProperty("error", out _));
        var signals = line.GetProperty("signals");
        Assert.Equal(vector.GetProperty("signals").EnumerateObject().Count(), signals.EnumerateObject().Count());
        foreach (var expected in vector.GetProperty("signals").EnumerateObject())
        {
            var physical = expected.Value.GetProperty("physical");
            var got = signals.GetProperty(expected.Name);
            Assert.Equal(physical.ValueKind, got.ValueKind);
            if (physical.ValueKind == JsonValueKind.String) Assert.Equal(physical.GetString(), got.GetString());
            else Assert.Equal(physical.GetDouble(), got.GetDouble(), Math.Max(1e-12, 1e-9 * Math.Abs(physical.GetDouble())));
        }
    }
}
