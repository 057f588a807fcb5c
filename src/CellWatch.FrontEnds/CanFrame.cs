using System.Diagnostics.CodeAnalysis;
using System.Runtime.CompilerServices;

namespace CellWatch.FrontEnds;

/// <summary>What a frame is beside its identifier and bytes.</summary>
[Flags]
public enum CanFrameFlags : byte
{
    /// <summary>An ordinary 11-bit data frame.</summary>
    None = 0,

    /// <summary>The identifier has 29 bits.</summary>
    Extended = 1,

    /// <summary>A remote frame: it has a length and no data.</summary>
    Remote = 2,

    /// <summary>A fault of the bus reported by the adapter; the identifier is a class of faults.</summary>
    Error = 4,

    /// <summary>A CAN FD frame.</summary>
    Fd = 8,

    /// <summary>CAN FD: the data were sent at the higher bit rate.</summary>
    BitRateSwitch = 16,

    /// <summary>CAN FD: the sender is error passive.</summary>
    ErrorStateIndicator = 32,
}

/// <summary>
/// One frame of a CAN bus, classical (up to 8 bytes) or FD (up to 64). A value of 80 bytes that owns its data: keep one and let a
/// parser fill it again and again, passed by reference. <c>default</c> is an 11-bit frame with identifier 0 and no data.
/// </summary>
public struct CanFrame
{
    /// <summary>Most bytes a frame carries (CAN FD).</summary>
    public const int MaxLength = 64;

    /// <summary>Largest 11-bit identifier.</summary>
    public const uint MaxStandardId = 0x7FF;

    /// <summary>Largest 29-bit identifier.</summary>
    public const uint MaxExtendedId = 0x1FFF_FFFF;

    /// <summary>Identifier without flag bits.</summary>
    public uint Id { get; set; }

    /// <summary>Data length in bytes, 0..8 or, for CAN FD, 0..64. A remote frame has a length and no data.</summary>
    public byte Length { get; set; }

    /// <summary>What the frame is.</summary>
    public CanFrameFlags Flags { get; set; }

    /// <summary>The adapter's own stamp, ms within its minute 0..59 999; null where there is none.</summary>
    public int? AdapterTimeMs { get; set; }

    private Bytes _bytes;

    /// <summary>Whether the identifier has 29 bits.</summary>
    public readonly bool IsExtended => (Flags & CanFrameFlags.Extended) == CanFrameFlags.Extended;

    /// <summary>Whether it is a remote frame.</summary>
    public readonly bool IsRemote => (Flags & CanFrameFlags.Remote) == CanFrameFlags.Remote;

    /// <summary>Whether it reports a fault of the bus.</summary>
    public readonly bool IsError => (Flags & CanFrameFlags.Error) == CanFrameFlags.Error;

    /// <summary>Whether it is a CAN FD frame.</summary>
    public readonly bool IsFd => (Flags & CanFrameFlags.Fd) == CanFrameFlags.Fd;

    /// <summary>Data lengths of CAN FD by length code 0..15 (Linux <c>can.h</c>: 9..15 are 12, 16, 20, 24, 32, 48, 64).</summary>
    public static ReadOnlySpan<byte> FdLengths => [0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64];

    /// <summary>The data bytes; none in a remote frame.</summary>
    [UnscopedRef]
    public readonly ReadOnlySpan<byte> Data => ((ReadOnlySpan<byte>)_bytes)[..(IsRemote ? 0 : Length)];

    /// <summary>All 64 bytes, for a parser that fills them.</summary>
    [UnscopedRef]
    public Span<byte> Buffer => _bytes;

    /// <summary>The identifier as text: upper-case hex, 3 digits for 11 bits, 8 for 29 bits.</summary>
    public readonly string IdText => FormatId(Id, IsExtended);

    /// <summary>An identifier as text: upper-case hex, 3 digits for 11 bits, 8 for 29 bits.</summary>
    public static string FormatId(uint id, bool isExtended) =>
        id.ToString(isExtended ? "X8" : "X3", System.Globalization.CultureInfo.InvariantCulture);

    [InlineArray(MaxLength)]
    private struct Bytes
    {
        private byte _first;
    }
}
