using CellWatch.FrontEnds.FrameFiles;

namespace CellWatch.FrontEnds.Tests.FrameFiles;

/// <summary>Lines as log2long of can-utils 2020.11.0 reads them.</summary>
public class CandumpLineTests
{
    private static (CandumpLineKind Kind, CandumpFault Fault, CandumpTime Time, CanFrame Frame) Read(string text)
    {
        var frame = new CanFrame();
        var kind = CandumpLine.Read(Vectors.Ascii(text), ref frame, out var time, out var fault);
        return (kind, fault, time, frame);
    }

    [Theory]
    [InlineData("(1436509052.249713) vcan0 044#2A366C2BBA", "1436509052.249713", "044", "2A366C2BBA", CanFrameFlags.None)]
    [InlineData("(1436509052.650004) can1 12345678#1122", "1436509052.650004", "12345678", "1122", CanFrameFlags.Extended)]
    [InlineData("(1436509053.600000) can0 123#11.22.33.44", "1436509053.600000", "123", "11223344", CanFrameFlags.None)]
    [InlineData("(0000000001.000000) can0 100#39903990", "1.000000", "100", "39903990", CanFrameFlags.None)]
    [InlineData("(1700000000.123456789) can0 123#01", "1700000000.123456789", "123", "01", CanFrameFlags.None)]
    [InlineData("(1.5) can0 123#1122334455667788_E", "1.5", "123", "1122334455667788", CanFrameFlags.None)]
    [InlineData("(1.5) can0 123#DEADBEEF T", "1.5", "123", "DEADBEEF", CanFrameFlags.None)]
    [InlineData("(1.5) can0 1FFFFFFF##2AA", "1.5", "1FFFFFFF", "AA", CanFrameFlags.Extended | CanFrameFlags.Fd | CanFrameFlags.ErrorStateIndicator)]
    [InlineData("(1.5) can0 123#R7", "1.5", "123", "", CanFrameFlags.Remote)]
    [InlineData("(1.5) can0 20000004#000C000000000000", "1.5", "004", "000C000000000000", CanFrameFlags.Error)]
    public void A_good_line(string line, string time, string id, string data, CanFrameFlags flags)
    {
        var read = Read(line);
        Assert.Equal(CandumpLineKind.Frame, read.Kind);
        Assert.Equal((time, id, data, flags), (read.Time.ToString(), read.Frame.IdText, Convert.ToHexString(read.Frame.Data), read.Frame.Flags));
    }

    [Theory]
    [InlineData("can0 123#11", CandumpFault.BadTime)]
    [InlineData("(x.5) can0 123#11", CandumpFault.BadTime)]
    [InlineData("(1.) can0 123#11", CandumpFault.BadTime)]
    [InlineData("(1.5)", CandumpFault.BadLayout)]
    [InlineData("(1.5) can0 12311", CandumpFault.BadLayout)]
    [InlineData("(1.5) can0 1234#11", CandumpFault.BadIdentifier)]
    [InlineData("(1.5) can0 12G#11", CandumpFault.BadIdentifier)]
    [InlineData("(1.5) can0 800#11", CandumpFault.BadIdentifier)]
    [InlineData("(1.5) can0 123#1", CandumpFault.DataNotHex)]
    [InlineData("(1.5) can0 123#1G", CandumpFault.DataNotHex)]
    [InlineData("(1.5) can0 123#112233445566778899", CandumpFault.BadLength)]
    [InlineData("(1.5) can0 123##0112233445566778899", CandumpFault.BadLength)]
    [InlineData("(1.5) can0 123#R9", CandumpFault.BadLength)]
    [InlineData("(1.5) can0 123#11_9", CandumpFault.TrailingText)]
    [InlineData("(1.5) can0 123#11 X", CandumpFault.TrailingText)]
    public void A_malformed_line_is_rejected_with_its_reason(string line, CandumpFault fault)
    {
        var read = Read(line);
        Assert.Equal((CandumpLineKind.Rejected, fault), (read.Kind, read.Fault));
    }

    [Fact]
    public void A_note_of_dropped_frames_is_data_loss_and_not_a_frame()
    {
        const string line = "DROPCOUNT: dropped 3 CAN frames on 'can0' socket (total drops 7)";
        Assert.Equal(CandumpLineKind.Dropped, Read(line).Kind);
        Assert.Equal(3, CandumpLine.DroppedFrames(Vectors.Ascii(line)));
    }

    [SharedFact(Vectors.Folder)]
    public void All_18_shared_lines_are_read_as_the_reference_tools_read_them()
    {
        var count = 0;
        foreach (var vector in Vectors.Read("candump_vectors.json").GetProperty("log_lines").EnumerateArray())
        {
            var expected = vector.GetProperty("expected");
            var (kind, _, time, frame) = Read(vector.Text("line"));
            Assert.Equal(CandumpLineKind.Frame, kind);
            Assert.Equal(expected.Text("timestamp"), time.ToString());
            Assert.Equal(expected.Text("id"), CanFrame.FormatId(frame.Id, frame.IsExtended || frame.IsError));
            Assert.Equal(expected.GetProperty("extended").GetBoolean(), frame.IsExtended);
            Assert.Equal(expected.GetProperty("rtr").GetBoolean(), frame.IsRemote);
            Assert.Equal(expected.GetProperty("error").GetBoolean(), frame.IsError);
            Assert.Equal(expected.GetProperty("fd").GetBoolean(), frame.IsFd);
            Assert.Equal(expected.GetProperty("brs").GetBoolean(), frame.Flags.HasFlag(CanFrameFlags.BitRateSwitch));
            Assert.Equal(expected.GetProperty("esi").GetBoolean(), frame.Flags.HasFlag(CanFrameFlags.ErrorStateIndicator));
            Assert.Equal(expected.GetProperty("length").GetInt32(), frame.Length);
            Assert.Equal(expected.Text("data"), Convert.ToHexString(frame.Data));
            count++;
        }

        Assert.Equal(18, count);
    }
}
