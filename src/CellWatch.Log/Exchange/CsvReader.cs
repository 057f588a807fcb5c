using System.Text;

namespace CellWatch.Log.Exchange;

/// <summary>
/// Rows of comma-separated text after RFC 4180: fields with a comma, a line break or a quotation mark are quoted, the mark is doubled inside.
/// A mark of byte order and plain line feeds are accepted when reading; CR LF is written.
/// </summary>
internal sealed class CsvReader(TextReader text)
{
    private readonly StringBuilder _field = new();

    /// <summary>The line the row read last began on, from 1.</summary>
    public int Line { get; private set; }

    private int _linesRead;

    /// <summary>Reads a row.</summary>
    /// <param name="fields">Receives its fields.</param>
    /// <returns>False at the end.</returns>
    /// <exception cref="InvalidDataException">A quotation mark is not closed; the message names the line.</exception>
    public bool TryRead(List<string> fields)
    {
        fields.Clear();
        Line = _linesRead + 1;
        if (text.Peek() < 0) return false;
        _linesRead++;
        while (true)
        {
            ReadField(out var last);
            fields.Add(_field.ToString());
            if (!last) continue;
            if (Line == 1 && fields[0].StartsWith('\uFEFF')) fields[0] = fields[0][1..];
            return true;
        }
    }

    private void ReadField(out bool last)
    {
        _field.Clear();
        if (text.Peek() == '"')
        {
            _ = text.Read();
            ReadQuoted();
        }

        while (true)
        {
            var c = text.Read();
            switch (c)
            {
                case ',':
                    last = false;
                    return;
                case '\r' when text.Peek() == '\n':
                    continue;
                case '\n' or '\r' or < 0:
                    last = true;
                    return;
                default:
                    _field.Append((char)c);
                    break;
            }
        }
    }

    private void ReadQuoted()
    {
        while (true)
        {
            var c = text.Read();
            if (c < 0) throw new InvalidDataException($"line {Line}: a quotation mark is not closed");
            if (c == '"')
            {
                if (text.Peek() != '"') return;
                _ = text.Read();
            }

            if (c == '\n') _linesRead++;
            _field.Append((char)c);
        }
    }
}
