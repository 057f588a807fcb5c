using CellWatch.FrontEnds.SerialCan;

namespace CellWatch.FrontEnds.Tests.SerialCan;

/// <summary>
/// Lines as the Linux kernel driver, can-utils, adapter manuals and python-can 4.1.0 write or refuse them; the table is the short form of
/// the wire vectors so that it proves something without them.
/// </summary>
public class SerialCanLineTests
{
    internal static (SerialCanLineKind Kind, SerialCanFault Fault, CanFrame Frame) Read(string text, byte terminator = SerialCanLine.CarriageReturn, bool isFdOn = false)
    {
        var frame = new CanFrame();
        var kind = SerialCanLine.Read(Vectors.Ascii(text), new LineEnd(terminator, false), isFdOn, ref frame, out var fault);
        return (kind, fault, frame);
    }

    [Theory]
    [InlineData("t1230", "123", "")]
    [InlineData("t4563112233", "456", "112233")]
    [InlineData("T12ABCDEF2AA55", "12ABCDEF", "AA55")]
    [InlineData("T0000010021133", "00000100", "1133")]
    [InlineData("t7FF8FFFFFFFFFFFFFFFF", "7FF", "FFFFFFFFFFFFFFFF")]
    [InlineData("t12328a9b", "123", "8A9B")]
    public void A_data_frame(string line, string id, string data)
    {
        var (kind, _, frame) = Read(line);
        Assert.Equal(SerialCanLineKind.Frame, kind);
        Assert.Equal(id, frame.IdText);
        Assert.Equal(data, Convert.ToHexString(frame.Data));
        Assert.False(frame.IsRemote);
        Assert.Null(frame.AdapterTimeMs);
    }

    [Theory]
    [InlineData("t100211334D67", 19815)]
    [InlineData("T1111222281122334455667788EA5F", 59999)]
    [InlineData("t10000000", 0)]
    public void A_time_stamp_behind_the_data(string line, int stampMs) => Assert.Equal(stampMs, Read(line).Frame.AdapterTimeMs);

    [Theory]
    [InlineData("r1230", "123", 0)]
    [InlineData("r1232", "123", 2)]
    [InlineData("R1ABCDEF08", "1ABCDEF0", 8)]
    public void A_remote_frame_has_a_length_and_no_data(string line, string id, int length)
    {
        var (kind, _, frame) = Read(line);
        Assert.Equal(SerialCanLineKind.Frame, kind);
        Assert.Equal((id, length, 0, true), (frame.IdText, frame.Length, frame.Data.Length, frame.IsRemote));
    }

    [Theory]
    [InlineData("t1239", SerialCanFault.BadLength)]
    [InlineData("t123A", SerialCanFault.BadLength)]
    [InlineData("t123", SerialCanFault.BadLength)]
    [InlineData("r123", SerialCanFault.BadLength)]
    [InlineData("t1232A9", SerialCanFault.DataTooShort)]
    [InlineData("t1232A9B", SerialCanFault.DataTooShort)]
    [InlineData("t12G0", SerialCanFault.BadIdentifier)]
    [InlineData("t12", SerialCanFault.BadIdentifier)]
    [InlineData("t1232G122", SerialCanFault.DataNotHex)]
    [InlineData("t8001AA", SerialCanFault.IdentifierOutOfRange)]
    [InlineData("T200000000", SerialCanFault.IdentifierOutOfRange)]
    [InlineData("t1231AA7", SerialCanFault.TrailingText)]
    [InlineData("t1231AAEA60", SerialCanFault.TrailingText)]
    [InlineData("t1231AAt4560", SerialCanFault.TrailingText)]
    [InlineData("T111111111111111111111111111111111", SerialCanFault.TooLong)]
    [InlineData("garbage", SerialCanFault.UnknownLine)]
    [InlineData("\0t1230", SerialCanFault.UnknownLine)]
    [InlineData("F0", SerialCanFault.BadStatus)]
    [InlineData("sx057033", SerialCanFault.BadStatus)]
    [InlineData("e2a", SerialCanFault.BadStatus)]
    [InlineData("V\u0001", SerialCanFault.BadStatus)]
    [InlineData("d1238", SerialCanFault.FdNotOn)]
    public void A_malformed_line_is_rejected_with_its_reason(string line, SerialCanFault reason)
    {
        var (kind, fault, _) = Read(line);
        Assert.Equal((SerialCanLineKind.Rejected, reason), (kind, fault));
    }

    [Theory]
    [InlineData("", SerialCanLine.CarriageReturn, SerialCanLineKind.Accepted)]
    [InlineData("", SerialCanLine.Bell, SerialCanLineKind.Refused)]
    [InlineData("", SerialCanLine.LineFeed, SerialCanLineKind.Blank)]
    [InlineData("z", SerialCanLine.CarriageReturn, SerialCanLineKind.Accepted)]
    [InlineData("Z", SerialCanLine.CarriageReturn, SerialCanLineKind.Accepted)]
    [InlineData("V1013", SerialCanLine.CarriageReturn, SerialCanLineKind.Version)]
    [InlineData("v1014", SerialCanLine.CarriageReturn, SerialCanLineKind.Version)]
    [InlineData("Version 2.1 (spring)", SerialCanLine.CarriageReturn, SerialCanLineKind.Version)]
    [InlineData("NA123", SerialCanLine.CarriageReturn, SerialCanLineKind.SerialNumber)]
    [InlineData("F01", SerialCanLine.CarriageReturn, SerialCanLineKind.StatusFlags)]
    [InlineData("sb256256", SerialCanLine.CarriageReturn, SerialCanLineKind.BusState)]
    [InlineData("e1a", SerialCanLine.CarriageReturn, SerialCanLineKind.BusErrors)]
    [InlineData("t12321122", SerialCanLine.Bell, SerialCanLineKind.Frame)]
    public void Answers_and_states_are_told_apart(string line, byte terminator, SerialCanLineKind expected) =>
        Assert.Equal(expected, Read(line, terminator).Kind);

    [Fact]
    public void A_can_fd_line_is_read_when_switched_on()
    {
        var (kind, _, frame) = Read("b1239112233445566778899AABBCC", isFdOn: true);
        Assert.Equal(SerialCanLineKind.Frame, kind);
        Assert.Equal("112233445566778899AABBCC", Convert.ToHexString(frame.Data));
        Assert.Equal(CanFrameFlags.Fd | CanFrameFlags.BitRateSwitch, frame.Flags);
        Assert.Equal(64, Read("D12ABCDEFF" + new string('5', 128), isFdOn: true).Frame.Data.Length);
        Assert.Equal(SerialCanFault.DataTooShort, Read("d1239" + "112233445566778899AABB", isFdOn: true).Fault);
    }

    /// <summary>Flag meanings: adapter manual's bit table as quoted publicly, applied to A4 and 01.</summary>
    [Fact]
    public void Status_flags_and_bus_states_in_words()
    {
        Assert.True(SerialCanStatus.TryReadFlags("FA4"u8, out var flags));
        Assert.Equal(["error warning", "error passive", "bus error"], SerialCanStatus.FlagWords(flags));
        Assert.True(SerialCanStatus.TryReadBusState("sa057033"u8, out var state));
        Assert.Equal(new BusStateReport(BusCondition.ErrorActive, 57, 33), state);
        Assert.True(SerialCanStatus.TryReadErrorLetters("e3bcO"u8, out var letters));
        Assert.Equal(["bit0", "crc", "tx overrun"], letters.ToArray().Select(SerialCanStatus.ErrorWord));
    }

    /// <summary>Bytes captured from python-can 4.1.0.</summary>
    [Theory]
    [InlineData(0x123, CanFrameFlags.None, "", 0, "t1230\r")]
    [InlineData(0x12ABCDEF, CanFrameFlags.Extended, "AA55", 2, "T12ABCDEF2AA55\r")]
    [InlineData(0x7FF, CanFrameFlags.Remote, "", 3, "r7FF3\r")]
    public void A_frame_is_written_as_other_tools_write_it(uint id, CanFrameFlags flags, string data, byte length, string expected)
    {
        var frame = new CanFrame { Id = id, Flags = flags, Length = length };
        Convert.FromHexString(data).CopyTo(frame.Buffer);
        Span<byte> line = stackalloc byte[SerialCanWriter.MaxLength];
        Assert.Equal(expected, System.Text.Encoding.ASCII.GetString(line[..SerialCanWriter.Write(frame, line)]));
    }
}
