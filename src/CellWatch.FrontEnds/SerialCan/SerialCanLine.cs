namespace CellWatch.FrontEnds.SerialCan;

/// <summary>What a line from a serial-line CAN adapter is.</summary>
public enum SerialCanLineKind : byte
{
    /// <summary>Not a line this wire knows, or a malformed one; see the reason.</summary>
    Rejected,

    /// <summary>A received frame.</summary>
    Frame,

    /// <summary>A command was accepted (bare CR, or <c>z</c>, <c>Z</c> after a transmit).</summary>
    Accepted,

    /// <summary>A command was refused (bare BEL).</summary>
    Refused,

    /// <summary>Version of the adapter, free text allowed (<c>V1013</c>, <c>v1014</c>).</summary>
    Version,

    /// <summary>The adapter's own serial number (<c>NA123</c>).</summary>
    SerialNumber,

    /// <summary>Status flags (<c>F01</c>).</summary>
    StatusFlags,

    /// <summary>State of the bus with error counts (<c>sb256256</c>).</summary>
    BusState,

    /// <summary>Errors seen on the bus (<c>e3bcO</c>).</summary>
    BusErrors,

    /// <summary>Nothing: a line feed some adapters add after CR.</summary>
    Blank,
}

/// <summary>Why a line was thrown away.</summary>
public enum SerialCanFault : byte
{
    /// <summary>It was not.</summary>
    None,

    /// <summary>Longer than any line of this wire.</summary>
    TooLong,

    /// <summary>Begins with a letter this wire does not know.</summary>
    UnknownLine,

    /// <summary>The identifier is cut off or not hex.</summary>
    BadIdentifier,

    /// <summary>The identifier is above 7FF or 1FFFFFFF.</summary>
    IdentifierOutOfRange,

    /// <summary>The length digit is missing, not a digit, or above 8.</summary>
    BadLength,

    /// <summary>Fewer data digits than the length says.</summary>
    DataTooShort,

    /// <summary>A data digit is not hex.</summary>
    DataNotHex,

    /// <summary>Something after the data that is no time stamp.</summary>
    TrailingText,

    /// <summary>A CAN FD frame while CAN FD is off.</summary>
    FdNotOn,

    /// <summary>A status line of the right letter in the wrong form.</summary>
    BadStatus,
}

/// <summary>
/// Reads lines of the serial-line CAN wire ("slcan"): <c>tiiildd..[ssss]</c> and its relatives, ASCII, ended by CR or BEL.
/// A malformed line never yields a part of a frame. No allocation.
/// Sources: Linux <c>drivers/net/can/slcan</c>, can-utils, and adapter manuals as quoted in public texts.
/// </summary>
public static class SerialCanLine
{
    /// <summary>Ends a line, or accepts a command.</summary>
    public const byte CarriageReturn = 0x0D;

    /// <summary>Ends a line, or refuses a command.</summary>
    public const byte Bell = 0x07;

    /// <summary>Added after CR by some adapters and by editors of captured files.</summary>
    public const byte LineFeed = 0x0A;

    /// <summary>Longest classical line without its end: 29-bit identifier, 8 bytes, time stamp.</summary>
    public const int LongestClassical = 30;

    /// <summary>Longest line kept: a CAN FD frame of 64 bytes with its time stamp has 142 characters.</summary>
    public const int Longest = 160;

    /// <summary>Largest adapter time stamp, ms; the next one is 0 (adapter manual).</summary>
    public const int LastStampMs = 59_999;

    /// <summary>Bytes that end a line.</summary>
    public static ReadOnlySpan<byte> Terminators => [CarriageReturn, Bell, LineFeed];

    /// <summary>A splitter for this wire.</summary>
    public static LineSplitter CreateSplitter() => new(Longest, Terminators);

    /// <summary>Reads one line.</summary>
    /// <param name="line">The line without its end.</param>
    /// <param name="end">How it ended.</param>
    /// <param name="isFdOn">Whether CAN FD lines (<c>d D b B</c>) are taken.</param>
    /// <param name="frame">Filled when the line is a frame; otherwise of no meaning.</param>
    /// <param name="fault">Why it was rejected.</param>
    public static SerialCanLineKind Read(ReadOnlySpan<byte> line, LineEnd end, bool isFdOn, ref CanFrame frame, out SerialCanFault fault)
    {
        fault = SerialCanFault.None;
        if (line.IsEmpty) return end.Terminator switch
        {
            CarriageReturn => SerialCanLineKind.Accepted,
            Bell => SerialCanLineKind.Refused,
            _ => SerialCanLineKind.Blank,
        };
        if (end.IsTooLong)
        {
            fault = SerialCanFault.TooLong;
            return SerialCanLineKind.Rejected;
        }

        switch (line[0])
        {
            case (byte)'t': fault = ReadFrame(line, CanFrameFlags.None, ref frame); break;
            case (byte)'T': fault = ReadFrame(line, CanFrameFlags.Extended, ref frame); break;
            case (byte)'r': fault = ReadFrame(line, CanFrameFlags.Remote, ref frame); break;
            case (byte)'R': fault = ReadFrame(line, CanFrameFlags.Remote | CanFrameFlags.Extended, ref frame); break;
            case (byte)'d' or (byte)'D' or (byte)'b' or (byte)'B':
                fault = isFdOn ? ReadFrame(line, FdFlags(line[0]), ref frame) : SerialCanFault.FdNotOn;
                break;
            default: return ReadStatus(line, out fault);
        }

        return fault == SerialCanFault.None ? SerialCanLineKind.Frame : SerialCanLineKind.Rejected;
    }

    private static CanFrameFlags FdFlags(byte letter) => CanFrameFlags.Fd
        | (letter is (byte)'D' or (byte)'B' ? CanFrameFlags.Extended : CanFrameFlags.None)
        | (letter is (byte)'b' or (byte)'B' ? CanFrameFlags.BitRateSwitch : CanFrameFlags.None);

    private static SerialCanFault ReadFrame(ReadOnlySpan<byte> line, CanFrameFlags flags, ref CanFrame frame)
    {
        var isFd = (flags & CanFrameFlags.Fd) == CanFrameFlags.Fd;
        if (!isFd && line.Length > LongestClassical) return SerialCanFault.TooLong;
        var isExtended = (flags & CanFrameFlags.Extended) == CanFrameFlags.Extended;
        var idDigits = isExtended ? 8 : 3;
        if (line.Length < 1 + idDigits || !Hex.TryReadUInt(line.Slice(1, idDigits), out var id)) return SerialCanFault.BadIdentifier;
        if (id > (isExtended ? CanFrame.MaxExtendedId : CanFrame.MaxStandardId)) return SerialCanFault.IdentifierOutOfRange;

        var rest = line[(1 + idDigits)..];
        var code = rest.IsEmpty ? -1 : Hex.Digit(rest[0]);
        if (code < 0 || !isFd && code > 8) return SerialCanFault.BadLength;
        rest = rest[1..];
        var length = isFd ? CanFrame.FdLengths[code] : code;
        var digits = (flags & CanFrameFlags.Remote) == CanFrameFlags.Remote ? 0 : 2 * length;
        if (rest.Length < digits) return SerialCanFault.DataTooShort;
        if (digits > 0 && !Hex.TryReadBytes(rest[..digits], frame.Buffer[..length])) return SerialCanFault.DataNotHex;

        rest = rest[digits..];
        frame.AdapterTimeMs = null;
        if (!rest.IsEmpty)
        {
            if (rest.Length != 4 || !Hex.TryReadUInt(rest, out var stamp) || stamp > LastStampMs) return SerialCanFault.TrailingText;
            frame.AdapterTimeMs = (int)stamp;
        }

        frame.Id = id;
        frame.Flags = flags;
        frame.Length = (byte)length;
        return SerialCanFault.None;
    }

    private static SerialCanLineKind ReadStatus(ReadOnlySpan<byte> line, out SerialCanFault fault)
    {
        fault = SerialCanFault.None;
        switch (line[0])
        {
            case (byte)'z' or (byte)'Z':
                if (line.Length == 1) return SerialCanLineKind.Accepted;
                break;
            case (byte)'V' or (byte)'v':
                if (IsPrintable(line)) return SerialCanLineKind.Version;
                break;
            case (byte)'N':
                if (line.Length is > 1 and <= 33 && IsPrintable(line)) return SerialCanLineKind.SerialNumber;
                break;
            case (byte)'F':
                if (line.Length == 3 && Hex.TryReadUInt(line[1..], out _)) return SerialCanLineKind.StatusFlags;
                break;
            case (byte)'s':
                if (SerialCanStatus.TryReadBusState(line, out _)) return SerialCanLineKind.BusState;
                break;
            case (byte)'e':
                if (SerialCanStatus.TryReadErrorLetters(line, out _)) return SerialCanLineKind.BusErrors;
                break;
            default:
                fault = SerialCanFault.UnknownLine;
                return SerialCanLineKind.Rejected;
        }

        fault = SerialCanFault.BadStatus;
        return SerialCanLineKind.Rejected;
    }

    private static bool IsPrintable(ReadOnlySpan<byte> line) => line.IndexOfAnyExceptInRange((byte)' ', (byte)'~') < 0;
}
