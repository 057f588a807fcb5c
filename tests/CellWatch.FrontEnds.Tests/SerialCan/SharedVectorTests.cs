using System.Text.Json;
using CellWatch.FrontEnds.SerialCan;

namespace CellWatch.FrontEnds.Tests.SerialCan;

/// <summary>All 41 receive cases of slcan_vectors.json; each carries its own source.</summary>
public class SharedVectorTests
{
    public static TheoryData<string> Cases()
    {
        var data = new TheoryData<string>();
        if (SharedMaterial.Root is null) return data;
        foreach (var vector in Vectors.Read("slcan_vectors.json").GetProperty("receive").EnumerateArray()) data.Add(vector.Text("id"));
        return data;
    }

    [SharedFact(Vectors.Folder)]
    public void There_are_41_cases() => Assert.Equal(41, Cases().Count);

    [SharedTheory(Vectors.Folder)]
    [MemberData(nameof(Cases))]
    public void Each_case_gives_what_its_source_says(string id)
    {
        var vector = Vectors.Read("slcan_vectors.json").GetProperty("receive").EnumerateArray().Single(v => v.Text("id") == id);
        var expected = vector.GetProperty("expected");
        var bytes = vector.Bytes("bytes_hex");
        // Whole, and cut after every byte: the pieces a port delivers must not matter.
        Check(vector.Text("kind"), expected, [bytes]);
        Check(vector.Text("kind"), expected, [.. bytes.Select(b => new[] { b })]);
    }

    private static void Check(string kind, JsonElement expected, byte[][] pieces)
    {
        var splitter = SerialCanLine.CreateSplitter();
        var seen = new List<(SerialCanLineKind Kind, string Line, CanFrame Frame)>();
        var frame = new CanFrame();
        foreach (var piece in pieces)
        {
            ReadOnlySpan<byte> input = piece;
            while (splitter.TryTake(ref input, out var line, out var end))
                seen.Add((SerialCanLine.Read(line, end, false, ref frame, out _), System.Text.Encoding.Latin1.GetString(line), frame));
        }

        if (kind == "incomplete")
        {
            Assert.Empty(seen);
            Assert.True(splitter.HasPending);
            return;
        }

        if (kind == "stream")
        {
            var frames = seen.Where(s => s.Kind == SerialCanLineKind.Frame).ToArray();
            var wanted = expected.GetProperty("frames").EnumerateArray().ToArray();
            Assert.Equal(wanted.Length, frames.Length);
            for (var i = 0; i < frames.Length; i++) CheckFrame(wanted[i], frames[i].Frame);
            var rejected = expected.TryGetProperty("rejected", out var r) ? r.GetInt32() : 0;
            Assert.Equal(rejected, seen.Count(s => s.Kind == SerialCanLineKind.Rejected));
            if (expected.TryGetProperty("pending", out var pending)) Assert.Equal(pending.GetString(), System.Text.Encoding.ASCII.GetString(splitter.Pending));
            return;
        }

        var (got, text, only) = Assert.Single(seen);
        Assert.Equal(kind switch
        {
            "frame" => SerialCanLineKind.Frame,
            "ack" => SerialCanLineKind.Accepted,
            "nack" => SerialCanLineKind.Refused,
            "version" => SerialCanLineKind.Version,
            "serial" => SerialCanLineKind.SerialNumber,
            "flags" => SerialCanLineKind.StatusFlags,
            "bus_state" => SerialCanLineKind.BusState,
            "bus_error" => SerialCanLineKind.BusErrors,
            _ => SerialCanLineKind.Rejected,
        }, got);
        switch (kind)
        {
            case "frame": CheckFrame(expected, only); break;
            case "serial": Assert.Equal(expected.Text("serial"), text[1..]); break;
            case "flags":
                Assert.True(SerialCanStatus.TryReadFlags(Vectors.Ascii(text), out var flags));
                Assert.Equal(expected.GetProperty("value").GetInt32(), flags);
                Assert.Equal(expected.GetProperty("set").EnumerateArray().Select(e => e.GetString()), SerialCanStatus.FlagWords(flags));
                break;
            case "bus_state":
                Assert.True(SerialCanStatus.TryReadBusState(Vectors.Ascii(text), out var state));
                Assert.Equal((expected.GetProperty("rx_errors").GetInt32(), expected.GetProperty("tx_errors").GetInt32()), (state.ReceiveErrors, state.TransmitErrors));
                Assert.Equal(expected.Text("state"), state.Condition switch { BusCondition.BusOff => "bus-off", BusCondition.ErrorActive => "error-active", _ => "?" });
                break;
            case "bus_error":
                Assert.True(SerialCanStatus.TryReadErrorLetters(Vectors.Ascii(text), out var letters));
                Assert.Equal(expected.GetProperty("errors").EnumerateArray().Select(e => e.GetString()), letters.ToArray().Select(SerialCanStatus.ErrorWord));
                break;
        }
    }

    private static void CheckFrame(JsonElement expected, CanFrame frame)
    {
        Assert.Equal(expected.Text("id"), frame.IdText);
        Assert.Equal(expected.GetProperty("extended").GetBoolean(), frame.IsExtended);
        Assert.Equal(expected.GetProperty("rtr").GetBoolean(), frame.IsRemote);
        Assert.Equal(expected.GetProperty("dlc").GetInt32(), frame.Length);
        Assert.Equal(expected.Text("data"), Convert.ToHexString(frame.Data));
        Assert.Equal(expected.TryGetProperty("timestamp_ms", out var stamp) ? stamp.GetInt32() : null, frame.AdapterTimeMs);
    }
}
