using CellWatch.FrontEnds.LinuxCan;

namespace CellWatch.FrontEnds.Tests.LinuxCan;

/// <summary>Layouts of linux/can.h; bytes checked with python-can's unpacker.</summary>
public class SocketCanFrameTests
{
    [Theory]
    [InlineData("23010000030000001122330000000000", 0x123u, CanFrameFlags.None, 3, "112233")]
    [InlineData("EFCDAB9202000000AA55000000000000", 0x12ABCDEFu, CanFrameFlags.Extended, 2, "AA55")]
    [InlineData("23010040070000000000000000000000", 0x123u, CanFrameFlags.Remote, 7, "")]
    [InlineData("0400002008000000000C000000000000", 4u, CanFrameFlags.Error, 8, "000C000000000000")]
    public void A_classical_structure(string hex, uint id, CanFrameFlags flags, int length, string data)
    {
        var frame = new CanFrame();
        Assert.True(SocketCanFrame.TryRead(Convert.FromHexString(hex), ref frame));
        Assert.Equal((id, flags, length, data), (frame.Id, frame.Flags, frame.Length, Convert.ToHexString(frame.Data)));
    }

    [Fact]
    public void A_structure_of_another_size_or_with_an_impossible_length_is_refused()
    {
        var frame = new CanFrame();
        Assert.False(SocketCanFrame.TryRead(new byte[15], ref frame));
        Assert.False(SocketCanFrame.TryRead(Convert.FromHexString("23010000090000001122330000000000"), ref frame));
    }

    [Fact]
    public void A_long_structure_is_a_can_fd_frame()
    {
        var bytes = new byte[SocketCanFrame.FdSize];
        Convert.FromHexString("230100004003").CopyTo(bytes, 0);
        bytes[^1] = 0xA5;
        var frame = new CanFrame();
        Assert.True(SocketCanFrame.TryRead(bytes, ref frame));
        Assert.Equal(CanFrameFlags.Fd | CanFrameFlags.BitRateSwitch | CanFrameFlags.ErrorStateIndicator, frame.Flags);
        Assert.Equal(64, frame.Data.Length);
        Assert.Equal(0xA5, frame.Data[63]);
    }

    [SharedFact(Vectors.Folder)]
    public void The_four_shared_structures()
    {
        var frame = new CanFrame();
        var count = 0;
        foreach (var vector in Vectors.Read("candump_vectors.json").GetProperty("can_frame_little_endian_16_bytes").EnumerateArray())
        {
            Assert.True(SocketCanFrame.TryRead(vector.Bytes("bytes_hex"), ref frame));
            var expected = vector.GetProperty("expected");
            if (expected.TryGetProperty("id", out var id)) Assert.Equal(id.GetString(), frame.IdText);
            if (expected.TryGetProperty("data", out var data)) Assert.Equal(data.GetString(), Convert.ToHexString(frame.Data));
            Assert.Equal(expected.TryGetProperty("error", out _), frame.IsError);
            count++;
        }

        Assert.Equal(4, count);
    }
}
