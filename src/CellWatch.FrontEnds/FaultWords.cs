using CellWatch.FrontEnds.FrameFiles;
using CellWatch.FrontEnds.SerialCan;
using CellWatch.FrontEnds.TextLines;

namespace CellWatch.FrontEnds;

/// <summary>Reasons for thrown-away input in words, one word for one thing in counts, files and pages.</summary>
public static class FaultWords
{
    /// <summary>A serial-line CAN fault in words.</summary>
    public static string Of(SerialCanFault fault) => fault switch
    {
        SerialCanFault.None => "",
        SerialCanFault.TooLong => "line too long",
        SerialCanFault.UnknownLine => "unknown line",
        SerialCanFault.BadIdentifier => "identifier is not hex",
        SerialCanFault.IdentifierOutOfRange => "identifier out of range",
        SerialCanFault.BadLength => "length is not 0 to 8",
        SerialCanFault.DataTooShort => "data shorter than its length",
        SerialCanFault.DataNotHex => "data are not hex",
        SerialCanFault.TrailingText => "text after the data",
        SerialCanFault.FdNotOn => "CAN FD frame, not switched on",
        _ => "malformed status line",
    };

    /// <summary>A text-line fault in words.</summary>
    public static string Of(TextLineFault fault) => fault switch
    {
        TextLineFault.None => "",
        TextLineFault.TooLong => "line too long",
        TextLineFault.NotASentence => "not a sentence",
        TextLineFault.HalfLine => "half line",
        TextLineFault.WrongChecksum => "wrong checksum",
        TextLineFault.UnknownVersion => "unknown version of the sentence",
        TextLineFault.UnknownKind => "unknown kind",
        TextLineFault.WrongFieldCount => "wrong number of fields",
        TextLineFault.BadNumber => "not a number",
        TextLineFault.UnknownModule => "module number not set up",
        TextLineFault.NotMeasuredHere => "current or string voltage from a board not set up to measure them",
        TextLineFault.Repeated => "sentence repeated",
        _ => "another identity",
    };

    /// <summary>A candump fault in words.</summary>
    public static string Of(CandumpFault fault) => fault switch
    {
        CandumpFault.None => "",
        CandumpFault.TooLong => "line too long",
        CandumpFault.BadTime => "no time in brackets at its beginning",
        CandumpFault.BadLayout => "no channel and identifier#data",
        CandumpFault.BadIdentifier => "identifier is not 3 or 8 hex digits in range",
        CandumpFault.DataNotHex => "data are not pairs of hex digits",
        CandumpFault.BadLength => "no frame has this length",
        _ => "text after the data",
    };
}
