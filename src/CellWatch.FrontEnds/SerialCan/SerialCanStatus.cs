using System.Buffers;
using System.Buffers.Text;

namespace CellWatch.FrontEnds.SerialCan;

/// <summary>State of the bus as the adapter's CAN controller sees it.</summary>
public enum BusCondition : byte
{
    /// <summary>Takes part fully.</summary>
    ErrorActive,

    /// <summary>An error count is above 95.</summary>
    ErrorWarning,

    /// <summary>An error count is above 127.</summary>
    ErrorPassive,

    /// <summary>Switched itself off the bus.</summary>
    BusOff,
}

/// <summary>State of the bus with both error counts.</summary>
/// <param name="Condition">The state.</param>
/// <param name="ReceiveErrors">0..999 as written.</param>
/// <param name="TransmitErrors">0..999 as written.</param>
public readonly record struct BusStateReport(BusCondition Condition, int ReceiveErrors, int TransmitErrors);

/// <summary>Reads the status lines of a serial-line CAN adapter.</summary>
public static class SerialCanStatus
{
    private static readonly SearchValues<byte> ErrorLetters = SearchValues.Create("abBcfoOs"u8);

    private static readonly string[] FlagNames =
    [
        "receive FIFO full", "transmit FIFO full", "error warning", "data overrun",
        "", "error passive", "arbitration lost", "bus error",
    ];

    /// <summary>
    /// What the bits of an <c>Fxx</c> line commonly mean (adapter manual as quoted publicly). Some adapters use other bits: show the raw
    /// value beside the words.
    /// </summary>
    public static IReadOnlyList<string> FlagWords(byte value) =>
        [.. Enumerable.Range(0, 8).Where(bit => (value >> bit & 1) != 0 && FlagNames[bit].Length > 0).Select(bit => FlagNames[bit])];

    /// <summary>Reads <c>F01</c>; false when it has another form.</summary>
    public static bool TryReadFlags(ReadOnlySpan<byte> line, out byte value)
    {
        value = 0;
        if (line.Length != 3 || line[0] != (byte)'F' || !Hex.TryReadUInt(line[1..], out var bits)) return false;
        value = (byte)bits;
        return true;
    }

    /// <summary>Reads <c>sb256256</c>: state, three decimals of receive errors, three of transmit errors (Linux slcan).</summary>
    public static bool TryReadBusState(ReadOnlySpan<byte> line, out BusStateReport report)
    {
        report = default;
        if (line.Length != 8 || line[0] != (byte)'s') return false;
        var condition = "awpb"u8.IndexOf(line[1]);
        if (condition < 0) return false;
        if (!Utf8Parser.TryParse(line.Slice(2, 3), out ushort receive, out var used) || used != 3) return false;
        if (!Utf8Parser.TryParse(line.Slice(5, 3), out ushort transmit, out used) || used != 3) return false;
        report = new BusStateReport((BusCondition)condition, receive, transmit);
        return true;
    }

    /// <summary>Reads <c>e3bcO</c>: a count and that many letters (Linux slcan); gives the letters.</summary>
    public static bool TryReadErrorLetters(ReadOnlySpan<byte> line, out ReadOnlySpan<byte> letters)
    {
        letters = default;
        if (line.Length < 2 || line[0] != (byte)'e') return false;
        var count = line[1] - '0';
        if (count is < 1 or > 9 || line.Length != 2 + count) return false;
        if (line[2..].IndexOfAnyExcept(ErrorLetters) >= 0) return false;
        letters = line[2..];
        return true;
    }

    /// <summary>One error letter in words.</summary>
    public static string ErrorWord(byte letter) => (char)letter switch
    {
        'a' => "ack",
        'b' => "bit0",
        'B' => "bit1",
        'c' => "crc",
        'f' => "form",
        'o' => "rx overrun",
        'O' => "tx overrun",
        's' => "stuff",
        _ => "unknown",
    };
}
