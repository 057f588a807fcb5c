using System.Text;

namespace CellWatch.FrontEnds.Running;

/// <summary>The last raw lines, each cut to a fixed length, for a person who looks for a fault. No allocation while lines are added.</summary>
internal sealed class LineRing(int lines, int longest)
{
    private readonly byte[] _bytes = new byte[lines * longest];
    private readonly int[] _lengths = new int[lines];
    private readonly long[] _wallMs = new long[lines];
    private readonly byte[] _reasons = new byte[lines];
    private long _count;

    /// <summary>Lines added so far.</summary>
    public long Count => _count;

    public void Add(ReadOnlySpan<byte> line, long wallMs, byte reason = 0)
    {
        var slot = (int)(_count++ % lines);
        if (line.Length > longest) line = line[..longest];
        line.CopyTo(_bytes.AsSpan(slot * longest));
        _lengths[slot] = line.Length;
        _wallMs[slot] = wallMs;
        _reasons[slot] = reason;
    }

    /// <summary>The lines, oldest first, with the time of day in UTC and, where there is a reason, its words.</summary>
    public IEnumerable<string> Texts(Func<byte, string>? words)
    {
        for (var i = Math.Max(0, _count - lines); i < _count; i++)
        {
            var slot = (int)(i % lines);
            var time = DateTimeOffset.FromUnixTimeMilliseconds(_wallMs[slot]).ToString("HH:mm:ss.fff'Z'", System.Globalization.CultureInfo.InvariantCulture);
            var text = Printable(_bytes.AsSpan(slot * longest, _lengths[slot]));
            yield return words is null ? $"{time} {text}" : $"{time} {words(_reasons[slot])}: {text}";
        }
    }

    /// <summary>Bytes that are no printable ASCII become <c>\x1F</c>.</summary>
    private static string Printable(ReadOnlySpan<byte> bytes)
    {
        var text = new StringBuilder(bytes.Length);
        foreach (var b in bytes)
            if (b is >= 0x20 and < 0x7F) text.Append((char)b);
            else text.Append(System.Globalization.CultureInfo.InvariantCulture, $"\\x{b:X2}");
        return text.ToString();
    }
}
