using System.Buffers.Text;

namespace CellWatch.FrontEnds;

/// <summary>
/// Takes fields off a line one by one, without allocation. Fields are parted by one byte (<c>a,,b</c> holds three), or where none is given by runs of
/// blanks and tabs. An empty line holds no field.
/// </summary>
internal ref struct FieldReader(ReadOnlySpan<byte> line, byte? separator)
{
    private bool _isDone = line.IsEmpty;

    /// <summary>What has not been taken.</summary>
    public ReadOnlySpan<byte> Rest { get; private set; } = line;

    public bool TryTake(out ReadOnlySpan<byte> field)
    {
        field = default;
        if (_isDone) return false;
        var at = separator is { } one ? Rest.IndexOf(one) : Rest.IndexOfAny((byte)' ', (byte)'\t');
        if (at < 0)
        {
            field = Rest;
            Rest = default;
            _isDone = true;
            return true;
        }

        field = Rest[..at];
        Rest = separator is null ? Rest[at..].TrimStart(" \t"u8) : Rest[(at + 1)..];
        return true;
    }

    /// <summary>Fields not taken yet.</summary>
    public readonly int Count
    {
        get
        {
            var rest = this;
            var count = 0;
            while (rest.TryTake(out _)) count++;
            return count;
        }
    }

    /// <summary>Reads a plain decimal number that fills its field; infinities and "nan" are none.</summary>
    public static bool TryNumber(ReadOnlySpan<byte> field, out double value)
    {
        value = 0;
        return !field.IsEmpty && Utf8Parser.TryParse(field, out value, out var used) && used == field.Length && double.IsFinite(value);
    }
}
