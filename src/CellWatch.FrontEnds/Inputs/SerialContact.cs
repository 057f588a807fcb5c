using System.IO.Ports;
using System.Text.Json.Serialization;
using CellWatch.FrontEnds.Transport;

namespace CellWatch.FrontEnds.Inputs;

/// <summary>An input line of a serial port.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<SerialSignal>))]
public enum SerialSignal : byte
{
    /// <summary>"Clear to send"; the switch goes from RTS to CTS.</summary>
    [JsonStringEnumMemberName("cts")] Cts,

    /// <summary>"Data set ready"; the switch goes from DTR to DSR.</summary>
    [JsonStringEnumMemberName("dsr")] Dsr,
}

/// <summary>
/// A switch between two control lines of a serial port: RTS and DTR are set and feed it, CTS or DSR is read. Closed reads set; open, a broken
/// wire and a floating input read clear. The port carries no data and no front end.
/// </summary>
/// <param name="path">The device.</param>
/// <param name="signal">The line that is read.</param>
public sealed class SerialContact(string path, SerialSignal signal) : IContactLine
{
    /// <inheritdoc/>
    public string Place => $"{(signal == SerialSignal.Cts ? "CTS" : "DSR")} of {path}";

    /// <inheritdoc/>
    public IOpenContact Open()
    {
        if (!File.Exists(path) && !OperatingSystem.IsWindows()) throw new PortException(PortFault.Absent, $"{path} is not plugged in.");
        var taken = PortLock.TryTake(path) ?? throw new PortException(PortFault.InUseOrNotAllowed, $"{path} is in use by a front end or another copy of this program.");
        SerialPort? port = null;
        try
        {
            port = new SerialPort(path, 9600) { Handshake = Handshake.None };
            port.Open();
            (port.RtsEnable, port.DtrEnable) = (true, true);
            var contact = new Contact(port, signal, Place, taken);
            contact.IsClosed();
            return contact;
        }
        catch (Exception e) when (e is PortException || IsFault(e))
        {
            SerialDevicePort.Discard(port);
            taken.Dispose();
            throw new PortException(PortFault.InUseOrNotAllowed,
                port is { IsOpen: true }
                    ? $"{path} has no control lines to read a switch by: a real serial port or a USB adapter that brings out RTS and CTS is needed. {e.Message}"
                    : $"{path} is in use by another program, or this user may not open it (on Linux: group dialout). {e.Message}", e);
        }
    }

    private static bool IsFault(Exception e) => e is IOException or UnauthorizedAccessException or InvalidOperationException or ArgumentException or PlatformNotSupportedException;

    private sealed class Contact(SerialPort port, SerialSignal signal, string place, PortLock taken) : IOpenContact
    {
        public bool IsClosed()
        {
            try
            {
                return signal == SerialSignal.Cts ? port.CtsHolding : port.DsrHolding;
            }
            catch (Exception e) when (IsFault(e))
            {
                throw new PortException(PortFault.Absent, $"{place} cannot be read any more: {e.Message}", e);
            }
        }

        public void Dispose()
        {
            SerialDevicePort.Discard(port);
            taken.Dispose();
        }
    }
}
