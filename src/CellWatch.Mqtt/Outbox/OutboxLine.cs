using System.Globalization;
using System.Numerics;
using System.Text;

namespace CellWatch.Mqtt;

/// <summary>
/// One line of an outbox file, UTF-8, its fields parted by tabs, the last one a CRC-32C over all that stands before its tab:
/// <code>
/// N  next number                                crc     first line: numbers go on after a restart
/// A  number  R or -  topic  payload             crc     a message was added; R: retained
/// D  number                                     crc     it was delivered
/// </code>
/// A line that was torn or changed fails its CRC, is counted and left out; the lines after it are read all the same.
/// </summary>
internal readonly record struct OutboxLine(char Kind, long Number, OutboxMessage? Message)
{
    public static byte[] Next(long number) => Seal(string.Create(CultureInfo.InvariantCulture, $"N\t{number}\t"));

    public static byte[] Delivered(long number) => Seal(string.Create(CultureInfo.InvariantCulture, $"D\t{number}\t"));

    public static byte[] Added(OutboxMessage message) => Seal(string.Create(CultureInfo.InvariantCulture,
        $"A\t{message.Number}\t{(message.Retain ? 'R' : '-')}\t{message.Topic}\t{Encoding.UTF8.GetString(message.Payload.Span)}\t"));

    /// <summary>Reads a line without its line feed; false when it is torn, changed or of another form.</summary>
    public static bool TryParse(ReadOnlySpan<byte> line, out OutboxLine read)
    {
        read = default;
        var tab = line.LastIndexOf((byte)'\t');
        if (tab < 0 || !uint.TryParse(line[(tab + 1)..], NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out var crc)) return false;
        if (crc != Crc32C(line[..(tab + 1)])) return false;
        var fields = Encoding.UTF8.GetString(line[..tab]).Split('\t');
        if (fields.Length < 2 || !long.TryParse(fields[1], NumberStyles.None, CultureInfo.InvariantCulture, out var number)) return false;
        OutboxMessage? message = null;
        if (fields is ["A", _, "R" or "-", _, _])
            message = new OutboxMessage(number, fields[3], Encoding.UTF8.GetBytes(fields[4]), fields[2] == "R");
        else if (fields is not (["N", _] or ["D", _])) return false;
        read = new OutboxLine(fields[0][0], number, message);
        return true;
    }

    private static byte[] Seal(string text)
    {
        var bytes = Encoding.UTF8.GetBytes(text);
        return [.. bytes, .. Encoding.ASCII.GetBytes(Crc32C(bytes).ToString("X8", CultureInfo.InvariantCulture)), (byte)'\n'];
    }

    /// <summary>CRC-32C (Castagnoli); its check value over <c>123456789</c> is E3069283.</summary>
    internal static uint Crc32C(ReadOnlySpan<byte> bytes)
    {
        var crc = uint.MaxValue;
        foreach (var b in bytes) crc = BitOperations.Crc32C(crc, b);
        return ~crc;
    }
}
