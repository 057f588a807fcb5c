using System.Text;
using CellWatch.Simulation.PseudoTerminals;

namespace CellWatch.Simulation.Tests.PseudoTerminals;

public sealed class PseudoTerminalTests
{
    private const int WaitMs = 5000;

    [Fact]
    public void What_one_end_writes_the_other_reads_byte_by_byte()
    {
        if (!OperatingSystem.IsLinux()) return;
        using var terminal = new PseudoTerminal();
        Assert.False(terminal.IsOpenedByOther);
        Assert.False(terminal.TryWrite("lost"u8));

        using var other = new FileStream(terminal.Path, FileMode.Open, FileAccess.ReadWrite, FileShare.ReadWrite, bufferSize: 0);
        // Raw mode: no echo, no change of CR, no line editing.
        Assert.True(terminal.TryWrite("t1230\r\a\n"u8));
        var heard = new byte[8];
        other.ReadExactly(heard);
        Assert.Equal("t1230\r\a\n", Encoding.ASCII.GetString(heard));

        other.Write("S6\r\x03"u8);
        var command = new byte[16];
        var count = terminal.Read(command, WaitMs);
        Assert.Equal("S6\r\x03", Encoding.ASCII.GetString(command, 0, count));
    }

    [Fact]
    public void A_reader_that_never_reads_does_not_block_the_writer()
    {
        if (!OperatingSystem.IsLinux()) return;
        using var terminal = new PseudoTerminal();
        using var other = new FileStream(terminal.Path, FileMode.Open, FileAccess.ReadWrite, FileShare.ReadWrite, bufferSize: 0);

        var line = new byte[100];
        var refused = false;
        for (var i = 0; i < 2000 && !refused; i++) refused = !terminal.TryWrite(line);

        Assert.True(refused);
    }

    [Fact]
    public void When_the_other_end_goes_it_is_noticed_and_it_may_come_back()
    {
        if (!OperatingSystem.IsLinux()) return;
        using var terminal = new PseudoTerminal();
        using (new FileStream(terminal.Path, FileMode.Open, FileAccess.ReadWrite, FileShare.ReadWrite, bufferSize: 0)) Assert.True(terminal.IsOpenedByOther);

        Assert.False(terminal.IsOpenedByOther);
        using var again = new FileStream(terminal.Path, FileMode.Open, FileAccess.ReadWrite, FileShare.ReadWrite, bufferSize: 0);
        Assert.True(terminal.TryWrite("x"u8));
        Assert.Equal('x', again.ReadByte());
    }
}
