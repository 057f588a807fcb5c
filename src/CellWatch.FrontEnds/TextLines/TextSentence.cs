using System.Buffers.Text;

namespace CellWatch.FrontEnds.TextLines;

/// <summary>Why a text sentence was thrown away.</summary>
public enum TextLineFault : byte
{
    /// <summary>It was not.</summary>
    None,

    /// <summary>Longer than any sentence.</summary>
    TooLong,

    /// <summary>No sentence of this wire at all: noise, or another device.</summary>
    NotASentence,

    /// <summary>Its beginning or its end is missing.</summary>
    HalfLine,

    /// <summary>The checksum is another one than the bytes give.</summary>
    WrongChecksum,

    /// <summary>A version of the sentence this program does not know.</summary>
    UnknownVersion,

    /// <summary>A kind letter this program does not know.</summary>
    UnknownKind,

    /// <summary>Other than the expected number of values.</summary>
    WrongFieldCount,

    /// <summary>A field that should be a number is none.</summary>
    BadNumber,

    /// <summary>A module number this board is not set up for.</summary>
    UnknownModule,

    /// <summary>Current or string voltage from a board that is not set up to measure them.</summary>
    NotMeasuredHere,

    /// <summary>The same sequence number as the sentence before.</summary>
    Repeated,

    /// <summary>From a front end with another identity.</summary>
    OtherIdentity,
}

/// <summary>
/// One sentence of the text-line wire, split but not yet read. Its layout, byte by byte, is in <c>hardware-notes/text-line-wire.md</c>:
/// <code>@1,FE0412,731,V,3,3.9120,3.9131,3.9118,-,3.9125,3.9121#hhhh CR LF</code>
/// The checksum is <see cref="Crc16"/> over everything between <c>@</c> and <c>#</c>.
/// </summary>
public readonly ref struct TextSentence
{
    /// <summary>Longest sentence without its line end; 32 voltages of 8 characters fit.</summary>
    public const int Longest = 330;

    /// <summary>First byte of a sentence.</summary>
    public const byte Start = (byte)'@';

    /// <summary>Stands before the checksum.</summary>
    public const byte ChecksumMark = (byte)'#';

    /// <summary>Longest serial of a front end.</summary>
    public const int LongestSerial = 16;

    private TextSentence(ReadOnlySpan<byte> serial, ushort sequence, byte kind, ReadOnlySpan<byte> fields)
    {
        Serial = serial;
        Sequence = sequence;
        Kind = kind;
        Fields = fields;
    }

    /// <summary>The front end's serial.</summary>
    public ReadOnlySpan<byte> Serial { get; }

    /// <summary>Counts up by one each sentence and wraps at 65 535.</summary>
    public ushort Sequence { get; }

    /// <summary>Kind letter.</summary>
    public byte Kind { get; }

    /// <summary>What follows the kind, fields parted by commas.</summary>
    public ReadOnlySpan<byte> Fields { get; }

    /// <summary>Checks the frame of a sentence and splits it. No allocation.</summary>
    public static TextLineFault TryRead(ReadOnlySpan<byte> line, out TextSentence sentence)
    {
        sentence = default;
        var hasStart = line.Length > 0 && line[0] == Start;
        var hasEnd = line.Length > 5 && line[^5] == ChecksumMark;
        if (!hasStart || !hasEnd) return hasStart || hasEnd ? TextLineFault.HalfLine : TextLineFault.NotASentence;
        if (!Hex.TryReadUInt(line[^4..], out var stated)) return TextLineFault.HalfLine;
        var body = line[1..^5];
        if (Crc16.Of(body) != stated) return TextLineFault.WrongChecksum;

        var fields = new FieldReader(body, (byte)',');
        if (!fields.TryTake(out var version) || !version.SequenceEqual("1"u8)) return TextLineFault.UnknownVersion;
        if (!fields.TryTake(out var serial) || !IsSerial(serial)) return TextLineFault.BadNumber;
        if (!fields.TryTake(out var sequenceText) || !Utf8Parser.TryParse(sequenceText, out ushort sequence, out var used) || used != sequenceText.Length)
            return TextLineFault.BadNumber;
        if (!fields.TryTake(out var kind) || kind.Length != 1) return TextLineFault.UnknownKind;
        sentence = new TextSentence(serial, sequence, kind[0], fields.Rest);
        return TextLineFault.None;
    }

    /// <summary>One to sixteen letters, digits, <c>-</c>, <c>_</c> or <c>.</c></summary>
    public static bool IsSerial(ReadOnlySpan<byte> text)
    {
        foreach (var c in text)
            if (!char.IsAsciiLetterOrDigit((char)c) && c is not ((byte)'-' or (byte)'_' or (byte)'.')) return false;
        return text.Length is >= 1 and <= LongestSerial;
    }
}
