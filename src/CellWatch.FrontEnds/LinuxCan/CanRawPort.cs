using CellWatch.FrontEnds.Transport;
using Iot.Device.SocketCan;

namespace CellWatch.FrontEnds.LinuxCan;

/// <summary>
/// The kernel's CAN interface through Iot.Device.Bindings. Known limits of that library (read in its source, not tried on a live interface):
/// a read blocks and cannot be cancelled; classical frames only; no error frames; its filter passes more than the one identifier, so none is set and
/// every identifier is looked up here.
/// </summary>
public sealed class CanRawPort(string name) : ICanPort
{
    /// <inheritdoc/>
    public string Name => name;

    /// <inheritdoc/>
    public ICanReader Open()
    {
        if (!OperatingSystem.IsLinux()) throw new PortException(PortFault.NotSupported, "CAN interfaces of the kernel exist on Linux only; use a serial-line adapter here.");
        try
        {
            return new Reader(new CanRaw(name));
        }
        catch (Exception e) when (e is IOException or PlatformNotSupportedException or DllNotFoundException or ArgumentException)
        {
            throw new PortException(PortFault.Absent,
                $"There is no CAN interface '{name}': plug it in and run 'ip link set {name} type can bitrate 500000' and 'ip link set {name} up'.", e);
        }
    }

    private sealed class Reader(CanRaw socket) : ICanReader
    {
        public bool TryRead(ref CanFrame frame)
        {
            if (!socket.TryReadFrame(frame.Buffer[..8], out var length, out var id)) return false;
            frame.Id = id.Value;
            frame.Length = (byte)length;
            frame.AdapterTimeMs = null;
            frame.Flags = (id.ExtendedFrameFormat ? CanFrameFlags.Extended : CanFrameFlags.None)
                | (id.RemoteTransmissionRequest ? CanFrameFlags.Remote : CanFrameFlags.None);
            return true;
        }

        public void Dispose() => socket.Dispose();
    }
}
