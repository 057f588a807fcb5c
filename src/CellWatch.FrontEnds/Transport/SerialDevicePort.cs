using System.IO.Ports;

namespace CellWatch.FrontEnds.Transport;

/// <summary>
/// A serial device or pseudo-terminal, 8 data bits, no parity, 1 stop bit. What was learned the hard way about the library on Linux and is
/// heeded here: only <c>BaseStream.ReadAsync</c> is used; <c>IsOpen</c> stays true after a pulled lead, so it is not asked; a dead port may hang
/// on closing, so it is closed on a task nobody waits for; each opening makes a new object; a pseudo-terminal has no control lines.
/// </summary>
public sealed class SerialDevicePort : IBytePort
{
    private readonly int _baud;
    private readonly bool? _dtr;
    private readonly bool? _rts;

    /// <param name="path">The device; links such as <c>/dev/serial/by-id/...</c> are followed.</param>
    /// <param name="baud">Bit rate of the line; adapters with USB ignore it.</param>
    /// <param name="dtr">Sets the line "data terminal ready"; null leaves it alone. Some boards restart when it changes.</param>
    /// <param name="rts">Sets the line "request to send"; null leaves it alone.</param>
    public SerialDevicePort(string path, int baud, bool? dtr = null, bool? rts = null)
    {
        Name = path;
        _baud = baud;
        _dtr = dtr;
        _rts = rts;
    }

    /// <inheritdoc/>
    public string Name { get; }

    /// <inheritdoc/>
    public ValueTask<IByteLink> OpenAsync(CancellationToken cancellation)
    {
        if (!IsThere(Name)) throw new PortException(PortFault.Absent, $"{Name} is not plugged in.");
        var taken = PortLock.TryTake(Name)
            ?? throw new PortException(PortFault.InUseOrNotAllowed, $"{Name} is in use by another front end or another copy of this program.");
        try
        {
            return ValueTask.FromResult<IByteLink>(new Link(Name, Open(), taken));
        }
        catch
        {
            taken.Dispose();
            throw;
        }
    }

    private SerialPort Open()
    {
        var port = new SerialPort(Name, _baud, Parity.None, 8, StopBits.One) { Handshake = Handshake.None, WriteTimeout = 2000 };
        try
        {
            port.Open();
        }
        catch (Exception e) when (e is UnauthorizedAccessException or IOException or ArgumentException or InvalidOperationException or PlatformNotSupportedException)
        {
            Discard(port);
            // The library says "access denied" of a missing device, a busy one and a forbidden one alike.
            throw IsThere(Name)
                ? new PortException(PortFault.InUseOrNotAllowed, $"{Name} is in use by another program, or this user may not open it (on Linux: group dialout). {e.Message}", e)
                : new PortException(PortFault.Absent, $"{Name} is not plugged in.", e);
        }

        SetLine(() => port.DtrEnable = _dtr!.Value, _dtr);
        SetLine(() => port.RtsEnable = _rts!.Value, _rts);
        return port;
    }

    private static void SetLine(Action set, bool? wanted)
    {
        if (wanted is null) return;
        try
        {
            set();
        }
        catch (IOException)
        {
            // A pseudo-terminal and some adapters have no such line; the data do not need it.
        }
    }

    private static bool IsThere(string path) => OperatingSystem.IsWindows() || File.Exists(path);

    /// <summary>Closes on a task nobody waits for: closing a dead port can hang until the program ends.</summary>
    internal static void Discard(SerialPort? port) => _ = Task.Run(() =>
    {
        try
        {
            port?.Dispose();
        }
        catch (Exception e) when (e is IOException or InvalidOperationException or UnauthorizedAccessException)
        {
            // The device is gone; there is nothing left to close.
        }
    });

    private sealed class Link(string path, SerialPort port, PortLock taken) : IByteLink
    {
        public Stream Stream { get; } = port.BaseStream;

        public bool IsPresent => IsThere(path);

        public ValueTask DisposeAsync()
        {
            Discard(port);
            taken.Dispose();
            return ValueTask.CompletedTask;
        }
    }
}
