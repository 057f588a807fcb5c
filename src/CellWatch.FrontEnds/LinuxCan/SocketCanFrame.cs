using System.Buffers.Binary;

namespace CellWatch.FrontEnds.LinuxCan;

/// <summary>
/// Reads the kernel's frame structures: 16 bytes (<c>struct can_frame</c>) or 72 (<c>struct canfd_frame</c>). Source: <c>linux/can.h</c>.
/// <code>
/// | 0..3 identifier, host byte order; bit 31 29-bit, 30 remote, 29 error | 4 length | 5 FD flags | 6..7 | 8.. data |
/// </code>
/// Little-endian hosts, which are all we build for.
/// </summary>
public static class SocketCanFrame
{
    /// <summary>Size of a classical frame.</summary>
    public const int ClassicalSize = 16;

    /// <summary>Size of a CAN FD frame.</summary>
    public const int FdSize = 72;

    private const uint ExtendedBit = 0x8000_0000;
    private const uint RemoteBit = 0x4000_0000;
    private const uint ErrorBit = 0x2000_0000;

    /// <summary>Reads one structure; false when its size or length is none the kernel uses.</summary>
    public static bool TryRead(ReadOnlySpan<byte> bytes, ref CanFrame frame)
    {
        if (bytes.Length is not (ClassicalSize or FdSize)) return false;
        var isFd = bytes.Length == FdSize;
        var word = BinaryPrimitives.ReadUInt32LittleEndian(bytes);
        var length = bytes[4];
        if (length > (isFd ? CanFrame.MaxLength : 8)) return false;

        frame.Flags = CanFrameFlags.None;
        if (isFd) frame.Flags |= CanFrameFlags.Fd;
        if ((word & ErrorBit) != 0) frame.Flags |= CanFrameFlags.Error;
        else if ((word & ExtendedBit) != 0) frame.Flags |= CanFrameFlags.Extended;
        if ((word & RemoteBit) != 0) frame.Flags |= CanFrameFlags.Remote;
        if (isFd && (bytes[5] & 1) != 0) frame.Flags |= CanFrameFlags.BitRateSwitch;
        if (isFd && (bytes[5] & 2) != 0) frame.Flags |= CanFrameFlags.ErrorStateIndicator;
        frame.Id = word & ((word & (ExtendedBit | ErrorBit)) != 0 ? CanFrame.MaxExtendedId : CanFrame.MaxStandardId);
        frame.Length = length;
        frame.AdapterTimeMs = null;
        bytes.Slice(8, length).CopyTo(frame.Buffer);
        return true;
    }

    /// <summary>Writes a classical frame as the kernel lays it out; gives the bytes written.</summary>
    public static int Write(in CanFrame frame, Span<byte> bytes)
    {
        if (frame.IsFd || frame.Length > 8) throw new ArgumentException("Only classical frames are written.", nameof(frame));
        bytes[..ClassicalSize].Clear();
        BinaryPrimitives.WriteUInt32LittleEndian(bytes, frame.Id
            | (frame.IsExtended ? ExtendedBit : 0) | (frame.IsRemote ? RemoteBit : 0) | (frame.IsError ? ErrorBit : 0));
        bytes[4] = frame.Length;
        frame.Data.CopyTo(bytes[8..]);
        return ClassicalSize;
    }

    /// <summary>What an error frame reports, in words; the classes of <c>linux/can/error.h</c>.</summary>
    public static string ErrorWords(uint errorClass)
    {
        string[] names =
        [
            "a frame could not be sent in time", "arbitration lost", "controller fault", "protocol violation", "transceiver fault",
            "no other node answers", "bus off", "bus error", "controller restarted", "error counts changed",
        ];
        var words = names.Where((_, bit) => (errorClass >> bit & 1) != 0).ToArray();
        return words.Length == 0 ? "unknown fault" : string.Join(", ", words);
    }
}
