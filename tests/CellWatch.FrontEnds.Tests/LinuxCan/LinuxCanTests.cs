using CellWatch.FrontEnds.LinuxCan;
using CellWatch.FrontEnds.Transport;

namespace CellWatch.FrontEnds.Tests.LinuxCan;

public class LinuxCanTests
{
    /// <summary>A live interface cannot be had on a build machine; the frame layer and the way up are tested instead.</summary>
    [Fact]
    public async Task Without_an_interface_it_says_so_in_one_sentence()
    {
        if (!OperatingSystem.IsLinux()) return;
        var error = await Assert.ThrowsAsync<PortException>(async () => await new CanBytePort(new CanRawPort("nocan9")).OpenAsync(default));
        Assert.StartsWith("There is no CAN interface 'nocan9'", error.Message, StringComparison.Ordinal);
        Assert.Equal(PortFault.Absent, error.Fault);
    }

    [Fact]
    public async Task Frames_of_a_blocking_reader_arrive_as_kernel_structures_and_its_end_ends_the_link()
    {
        await using var link = await new CanBytePort(new TwoFrames()).OpenAsync(default);
        var bytes = new byte[32];
        await link.Stream.ReadExactlyAsync(bytes);
        var frame = new CanFrame();
        Assert.True(SocketCanFrame.TryRead(bytes.AsSpan(16), ref frame));
        Assert.Equal(("12ABCDEF", "AA55"), (frame.IdText, Convert.ToHexString(frame.Data)));
        Assert.Equal(0, await link.Stream.ReadAsync(bytes));
    }

    private sealed class TwoFrames : ICanPort, ICanReader
    {
        private int _given;

        public string Name => "can0";

        public ICanReader Open() => this;

        public bool TryRead(ref CanFrame frame)
        {
            if (_given++ == 2) throw new IOException("the interface is down");
            frame.Id = 0x12ABCDEF;
            frame.Flags = CanFrameFlags.Extended;
            frame.Length = 2;
            Convert.FromHexString("AA55").CopyTo(frame.Buffer);
            return true;
        }

        public void Dispose()
        {
        }
    }
}
