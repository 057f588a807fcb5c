using System.ComponentModel;
using System.Runtime.InteropServices;
using System.Text;

namespace CellWatch.Simulation.PseudoTerminals;

/// <summary>
/// One pseudo-terminal of the kernel in raw mode: another program opens <see cref="Path"/> like a serial port, and this end speaks for the
/// device. Linux and macOS; see pty(7) and termios(3). One thread writes, one reads.
/// </summary>
public sealed partial class PseudoTerminal : IDisposable
{
    // Figures of Linux and macOS; the two systems differ in O_NOCTTY.
    private const int ReadWrite = 2;
    private const int SetNow = 0;
    private const short PollIn = 1, PollError = 8, PollHangUp = 16;
    // struct termios has 60 bytes on Linux and 72 on macOS.
    private const int TermiosRoom = 128;

    private int _master;

    /// <summary>Opens one.</summary>
    /// <exception cref="PlatformNotSupportedException">This system has none.</exception>
    /// <exception cref="IOException">The system refused; the message says what.</exception>
    public PseudoTerminal()
    {
        if (!OperatingSystem.IsLinux() && !OperatingSystem.IsMacOS())
            throw new PlatformNotSupportedException("Pseudo-terminals need Linux or macOS. On this system use the demo, which needs none.");

        _master = Checked(OpenMaster(ReadWrite | NoControllingTerminal), "posix_openpt");
        try
        {
            Checked(Grant(_master), "grantpt");
            Checked(Unlock(_master), "unlockpt");
            Path = NameOf(_master);
            MakeRaw(Path);
        }
        catch
        {
            Dispose();
            throw;
        }
    }

    /// <summary>What the other program opens: <c>/dev/pts/7</c>.</summary>
    public string Path { get; }

    private static int NoControllingTerminal => OperatingSystem.IsMacOS() ? 0x20000 : 0x100;

    /// <summary>Whether another program has it open.</summary>
    public bool IsOpenedByOther => (Poll(timeoutMs: 0) & PollHangUp) == 0;

    /// <summary>Reads what the other program wrote.</summary>
    /// <param name="buffer">Receives it.</param>
    /// <param name="timeoutMs">Longest wait, real milliseconds.</param>
    /// <returns>Bytes read; 0 where there was nothing or nobody.</returns>
    public int Read(Span<byte> buffer, int timeoutMs)
    {
        if ((Poll(timeoutMs) & PollIn) == 0) return 0;
        return (int)Math.Max(0, ReadBytes(_master, ref MemoryMarshal.GetReference(buffer), (nuint)buffer.Length));
    }

    /// <summary>Writes to the other program.</summary>
    /// <returns>False when nobody has it open: the bytes are lost, as on a wire.</returns>
    public bool TryWrite(ReadOnlySpan<byte> bytes)
    {
        while (!bytes.IsEmpty)
        {
            if (!IsOpenedByOther || !HasRoom()) return false;
            // Small pieces: the kernel holds 4 kB, and a write beyond them would wait for the reader.
            var piece = bytes[..Math.Min(bytes.Length, 256)];
            var written = WriteBytes(_master, ref MemoryMarshal.GetReference(piece), (nuint)piece.Length);
            if (written <= 0) return false;
            bytes = bytes[(int)written..];
        }

        return true;
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        if (_master < 0) return;
        _ = Close(_master);
        _master = -1;
    }

    private static void MakeRaw(string path)
    {
        var slave = Checked(OpenFile(path, ReadWrite | NoControllingTerminal), $"open {path}");
        try
        {
            Span<byte> settings = stackalloc byte[TermiosRoom];
            ref var first = ref MemoryMarshal.GetReference(settings);
            Checked(GetSettings(slave, ref first), "tcgetattr");
            MakeRaw(ref first);
            Checked(SetSettings(slave, SetNow, ref first), "tcsetattr");
        }
        finally
        {
            _ = Close(slave);
        }
    }

    private static string NameOf(int master)
    {
        Span<byte> name = stackalloc byte[128];
        if (NameOf(master, ref MemoryMarshal.GetReference(name), (nuint)name.Length) != 0) throw new IOException("ptsname_r failed.");
        return Encoding.ASCII.GetString(name[..name.IndexOf((byte)0)]);
    }

    private static int Checked(int result, string call) => result >= 0
        ? result
        : throw new IOException($"{call} failed: {new Win32Exception(Marshal.GetLastPInvokeError()).Message}");

    private short Poll(int timeoutMs)
    {
        var ask = new PollRequest { File = _master, Events = PollIn };
        return PollFiles(ref ask, 1, timeoutMs) > 0 ? ask.Returned : (short)0;
    }

    private bool HasRoom()
    {
        const short pollOut = 4;
        var ask = new PollRequest { File = _master, Events = pollOut };
        return PollFiles(ref ask, 1, 0) > 0 && (ask.Returned & (PollHangUp | PollError)) == 0 && (ask.Returned & pollOut) != 0;
    }

    [LibraryImport("libc", EntryPoint = "posix_openpt", SetLastError = true)]
    private static partial int OpenMaster(int flags);

    [LibraryImport("libc", EntryPoint = "grantpt", SetLastError = true)]
    private static partial int Grant(int file);

    [LibraryImport("libc", EntryPoint = "unlockpt", SetLastError = true)]
    private static partial int Unlock(int file);

    [LibraryImport("libc", EntryPoint = "ptsname_r", SetLastError = true)]
    private static partial int NameOf(int file, ref byte name, nuint room);

    [LibraryImport("libc", EntryPoint = "open", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    private static partial int OpenFile(string path, int flags);

    [LibraryImport("libc", EntryPoint = "tcgetattr", SetLastError = true)]
    private static partial int GetSettings(int file, ref byte termios);

    [LibraryImport("libc", EntryPoint = "tcsetattr", SetLastError = true)]
    private static partial int SetSettings(int file, int when, ref byte termios);

    [LibraryImport("libc", EntryPoint = "cfmakeraw")]
    private static partial void MakeRaw(ref byte termios);

    [LibraryImport("libc", EntryPoint = "poll", SetLastError = true)]
    private static partial int PollFiles(ref PollRequest request, nuint count, int timeoutMs);

    [LibraryImport("libc", EntryPoint = "read", SetLastError = true)]
    private static partial nint ReadBytes(int file, ref byte buffer, nuint length);

    [LibraryImport("libc", EntryPoint = "write", SetLastError = true)]
    private static partial nint WriteBytes(int file, ref byte buffer, nuint length);

    [LibraryImport("libc", EntryPoint = "close")]
    private static partial int Close(int file);

    [StructLayout(LayoutKind.Sequential)]
    private struct PollRequest
    {
        public int File;
        public short Events;
        public short Returned;
    }
}
