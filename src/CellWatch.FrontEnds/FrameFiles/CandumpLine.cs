using System.Buffers.Text;
using System.Globalization;

namespace CellWatch.FrontEnds.FrameFiles;

/// <summary>What a line of a candump log is.</summary>
public enum CandumpLineKind : byte
{
    /// <summary>Malformed; see the reason.</summary>
    Rejected,

    /// <summary>A frame.</summary>
    Frame,

    /// <summary>A note that the kernel dropped frames: data were lost.</summary>
    Dropped,

    /// <summary>Nothing.</summary>
    Blank,
}

/// <summary>Why a candump line was thrown away.</summary>
public enum CandumpFault : byte
{
    /// <summary>It was not.</summary>
    None,

    /// <summary>Longer than any line of a log.</summary>
    TooLong,

    /// <summary>No <c>(seconds.fraction)</c> at its beginning.</summary>
    BadTime,

    /// <summary>No channel or no <c>#</c> behind the identifier.</summary>
    BadLayout,

    /// <summary>The identifier is not 3 or 8 hex digits, or too large.</summary>
    BadIdentifier,

    /// <summary>The data are not pairs of hex digits.</summary>
    DataNotHex,

    /// <summary>No frame has that many bytes.</summary>
    BadLength,

    /// <summary>Something unknown after the data.</summary>
    TrailingText,
}

/// <summary>Time stamp of a log line, with as many digits as written: nanoseconds do not fit a double.</summary>
/// <param name="Seconds">Whole seconds, usually since 1970.</param>
/// <param name="Fraction">The digits behind the point as a number.</param>
/// <param name="FractionDigits">How many digits, 0..9.</param>
public readonly record struct CandumpTime(long Seconds, int Fraction, int FractionDigits)
{
    /// <summary>As whole microseconds; what is finer is cut off.</summary>
    public long Microseconds
    {
        get
        {
            long us = Fraction;
            for (var digits = FractionDigits; digits < 6; digits++) us *= 10;
            for (var digits = FractionDigits; digits > 6; digits--) us /= 10;
            return (Seconds * 1_000_000) + us;
        }
    }

    /// <inheritdoc/>
    public override string ToString() => FractionDigits == 0
        ? Seconds.ToString(CultureInfo.InvariantCulture)
        : string.Create(CultureInfo.InvariantCulture, $"{Seconds}.{Fraction.ToString(CultureInfo.InvariantCulture).PadLeft(FractionDigits, '0')}");
}

/// <summary>
/// Reads lines of a candump log: <c>(1436509052.249713) can0 044#2A366C2BBA</c>. No allocation. Source: can-utils <c>lib.h</c>,
/// <c>candump.c</c>; checked in the tests against its <c>log2long</c>.
/// </summary>
public static class CandumpLine
{
    /// <summary>Longest line kept; a CAN FD line with nanoseconds has about 170 characters.</summary>
    public const int Longest = 300;

    private const uint ErrorBit = 0x2000_0000;

    /// <summary>Reads one line without its end.</summary>
    /// <param name="line">The line.</param>
    /// <param name="frame">Filled when the line is a frame.</param>
    /// <param name="time">Its stamp.</param>
    /// <param name="fault">Why it was rejected.</param>
    public static CandumpLineKind Read(ReadOnlySpan<byte> line, ref CanFrame frame, out CandumpTime time, out CandumpFault fault)
    {
        time = default;
        fault = CandumpFault.None;
        line = line.Trim(" \t"u8);
        if (line.IsEmpty) return CandumpLineKind.Blank;
        if (line.StartsWith("DROPCOUNT:"u8)) return CandumpLineKind.Dropped;
        fault = ReadFrame(line, ref frame, out time);
        return fault == CandumpFault.None ? CandumpLineKind.Frame : CandumpLineKind.Rejected;
    }

    /// <summary>Frames lost according to a line <c>DROPCOUNT: dropped 3 CAN frames on 'can0' socket (total drops 7)</c>; 0 when it names no number.</summary>
    public static long DroppedFrames(ReadOnlySpan<byte> line)
    {
        var digit = line.IndexOfAnyInRange((byte)'0', (byte)'9');
        return digit >= 0 && Utf8Parser.TryParse(line[digit..], out long count, out _) ? count : 0;
    }

    private static CandumpFault ReadFrame(ReadOnlySpan<byte> line, ref CanFrame frame, out CandumpTime time)
    {
        if (!TryReadTime(ref line, out time)) return CandumpFault.BadTime;
        line = line.TrimStart((byte)' ');
        var blank = line.IndexOf((byte)' ');
        if (blank < 1) return CandumpFault.BadLayout;
        line = line[(blank + 1)..].TrimStart((byte)' ');
        var hash = line.IndexOf((byte)'#');
        if (hash < 0) return CandumpFault.BadLayout;
        if (!Hex.TryReadUInt(line[..hash], out var id)) return CandumpFault.BadIdentifier;
        line = line[(hash + 1)..];

        var flags = CanFrameFlags.None;
        switch (hash)
        {
            case 3 when id <= CanFrame.MaxStandardId: break;
            case 8 when (id & ErrorBit) != 0:
                flags |= CanFrameFlags.Error;
                id &= ~ErrorBit;
                break;
            case 8 when id <= CanFrame.MaxExtendedId: flags |= CanFrameFlags.Extended; break;
            default: return CandumpFault.BadIdentifier;
        }

        frame.Id = id;
        frame.Flags = flags;
        frame.AdapterTimeMs = null;
        line = TrimDirection(line);
        return line switch
        {
            [(byte)'R', ..] => ReadRemote(line[1..], ref frame),
            [(byte)'#', ..] => ReadFd(line[1..], ref frame),
            _ => ReadClassical(line, ref frame),
        };
    }

    private static bool TryReadTime(ref ReadOnlySpan<byte> line, out CandumpTime time)
    {
        time = default;
        var close = line.IndexOf((byte)')');
        if (line[0] != (byte)'(' || close < 2) return false;
        var text = line[1..close];
        line = line[(close + 1)..];
        if (text[0] is < (byte)'0' or > (byte)'9' || !Utf8Parser.TryParse(text, out long seconds, out var used)) return false;
        var fraction = 0;
        var digits = 0;
        if (used < text.Length)
        {
            text = text[(used + 1)..];
            digits = text.Length;
            if (digits is < 1 or > 9 || text[0] is < (byte)'0' or > (byte)'9'
                || !Utf8Parser.TryParse(text, out fraction, out used) || used != digits) return false;
        }

        time = new CandumpTime(seconds, fraction, digits);
        return true;
    }

    private static ReadOnlySpan<byte> TrimDirection(ReadOnlySpan<byte> line) =>
        line.EndsWith(" R"u8) || line.EndsWith(" T"u8) ? line[..^2].TrimEnd((byte)' ') : line;

    private static CandumpFault ReadRemote(ReadOnlySpan<byte> rest, ref CanFrame frame)
    {
        frame.Flags |= CanFrameFlags.Remote;
        frame.Length = 0;
        if (rest.IsEmpty) return CandumpFault.None;
        var length = Hex.Digit(rest[0]);
        if (length is < 0 or > 8) return CandumpFault.BadLength;
        frame.Length = (byte)length;
        return rest.Length == 1 || IsRawLengthCode(rest[1..], length) ? CandumpFault.None : CandumpFault.TrailingText;
    }

    private static CandumpFault ReadFd(ReadOnlySpan<byte> rest, ref CanFrame frame)
    {
        if (rest.IsEmpty || Hex.Digit(rest[0]) is var bits && bits < 0) return CandumpFault.DataNotHex;
        frame.Flags |= CanFrameFlags.Fd;
        if ((bits & 1) != 0) frame.Flags |= CanFrameFlags.BitRateSwitch;
        if ((bits & 2) != 0) frame.Flags |= CanFrameFlags.ErrorStateIndicator;
        var fault = ReadData(rest[1..], CanFrame.MaxLength, ref frame, out rest);
        if (fault != CandumpFault.None) return fault;
        if (!rest.IsEmpty) return CandumpFault.TrailingText;
        return CanFrame.FdLengths.Contains(frame.Length) ? CandumpFault.None : CandumpFault.BadLength;
    }

    private static CandumpFault ReadClassical(ReadOnlySpan<byte> rest, ref CanFrame frame)
    {
        var fault = ReadData(rest, 8, ref frame, out rest);
        if (fault != CandumpFault.None) return fault;
        return rest.IsEmpty || IsRawLengthCode(rest, frame.Length) ? CandumpFault.None : CandumpFault.TrailingText;
    }

    /// <summary><c>_9</c> to <c>_F</c> behind eight bytes: the length code on the wire was above 8.</summary>
    private static bool IsRawLengthCode(ReadOnlySpan<byte> rest, int length) =>
        length == 8 && rest is [(byte)'_', var code] && Hex.Digit(code) >= 9;

    private static CandumpFault ReadData(ReadOnlySpan<byte> text, int most, scoped ref CanFrame frame, out ReadOnlySpan<byte> rest)
    {
        var length = 0;
        while (text.Length > 0 && text[0] != (byte)'_' && text[0] != (byte)' ')
        {
            if (length > 0 && text[0] == (byte)'.') text = text[1..];
            rest = text;
            if (length == most) return CandumpFault.BadLength;
            if (text.Length < 2 || !Hex.TryReadBytes(text[..2], frame.Buffer.Slice(length, 1))) return CandumpFault.DataNotHex;
            length++;
            text = text[2..];
        }

        frame.Length = (byte)length;
        rest = text;
        return CandumpFault.None;
    }
}
