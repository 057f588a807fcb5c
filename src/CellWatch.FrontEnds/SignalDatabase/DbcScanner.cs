using System.Globalization;

namespace CellWatch.FrontEnds.SignalDatabase;

/// <summary>Walks through the text of a DBC file piece by piece and knows the line it is on.</summary>
internal sealed class DbcScanner(string text, string file)
{
    private int _at;
    private int _line = 1;
    // The line on which the last piece taken ended: line breaks part receivers from the next signal.
    private int _lastLine = 1;

    /// <summary>What is being read, for the message when the file ends inside it.</summary>
    public string Inside { get; set; } = "";

    /// <summary>Line of the next piece.</summary>
    public int Line
    {
        get
        {
            SkipBlanks();
            return _line;
        }
    }

    public bool IsAtEnd
    {
        get
        {
            SkipBlanks();
            return _at >= text.Length;
        }
    }

    public char Next
    {
        get
        {
            SkipBlanks();
            return _at < text.Length ? text[_at] : throw Truncated();
        }
    }

    public DatabaseException Error(string problem, int? line = null) => new(file, line ?? _line, problem);

    /// <summary>Takes the character if it is next.</summary>
    public bool TryTake(char wanted)
    {
        SkipBlanks();
        if (_at >= text.Length || text[_at] != wanted) return false;
        Advance(_at + 1);
        return true;
    }

    public void Expect(char wanted)
    {
        if (Next != wanted) throw Error($"'{wanted}' expected in {Inside}, found '{Excerpt()}'.");
        Advance(_at + 1);
    }

    /// <summary>The next word without taking it; empty where something else is next.</summary>
    public string PeekWord()
    {
        SkipBlanks();
        var end = _at;
        while (end < text.Length && (char.IsAsciiLetterOrDigit(text[end]) || text[end] == '_')) end++;
        return end > _at && !char.IsAsciiDigit(text[_at]) ? text[_at..end] : "";
    }

    public string TakeWord(string what)
    {
        var word = PeekWord();
        if (word.Length == 0) throw IsAtEnd ? Truncated() : Error($"{what} expected in {Inside}, found '{Excerpt()}'.");
        Advance(_at + word.Length);
        return word;
    }

    public double TakeNumber(string what)
    {
        var start = StartOfPiece();
        var end = start;
        if (end < text.Length && text[end] is '+' or '-') end++;
        while (end < text.Length && (char.IsAsciiDigit(text[end]) || text[end] == '.'
            || text[end] is 'e' or 'E' || text[end] is '+' or '-' && text[end - 1] is 'e' or 'E')) end++;
        if (!double.TryParse(text.AsSpan(start, end - start), NumberStyles.Float, CultureInfo.InvariantCulture, out var number))
            throw Error($"{what} expected in {Inside}, found '{Excerpt()}'.");
        Advance(end);
        return number;
    }

    /// <summary>An unsigned whole number; a sign is not part of it.</summary>
    public ulong TakeWhole(string what)
    {
        var start = StartOfPiece();
        var end = start;
        while (end < text.Length && char.IsAsciiDigit(text[end])) end++;
        if (!ulong.TryParse(text.AsSpan(start, end - start), NumberStyles.None, CultureInfo.InvariantCulture, out var number))
            throw Error($"{what} expected in {Inside}, found '{Excerpt()}'.");
        Advance(end);
        return number;
    }

    public string TakeString(string what)
    {
        if (Next != '"') throw Error($"{what} in quotes expected in {Inside}, found '{Excerpt()}'.");
        var startLine = _line;
        var start = ++_at;
        while (_at < text.Length && text[_at] != '"')
        {
            if (text[_at] == '\n') _line++;
            _at += text[_at] == '\\' && _at + 1 < text.Length && text[_at + 1] is '"' or '\\' ? 2 : 1;
        }

        if (_at >= text.Length) throw Error($"the text that begins here in {Inside} has no closing quote; the file is cut off.", startLine);
        Advance(_at + 1);
        return text[start..(_at - 1)].Replace("\\\"", "\"", StringComparison.Ordinal);
    }

    /// <summary>Skips to behind the next semicolon that is not inside quotes.</summary>
    public void SkipStatement()
    {
        var startLine = _line;
        while (!IsAtEnd)
        {
            if (text[_at] == '"') TakeString("text");
            else if (text[_at++] == ';') return;
        }

        throw Error($"the file ends inside {Inside}, which begins here: it is cut off.", startLine);
    }

    public void SkipLine()
    {
        while (_at < text.Length && text[_at] != '\n') _at++;
    }

    /// <summary>Whether a line break lies between here and the next piece.</summary>
    public bool NextIsOnAnotherLine()
    {
        SkipBlanks();
        return _line != _lastLine || _at >= text.Length;
    }

    private void Advance(int to)
    {
        _at = to;
        _lastLine = _line;
    }

    private int StartOfPiece()
    {
        SkipBlanks();
        return _at < text.Length ? _at : throw Truncated();
    }

    private DatabaseException Truncated() => Error($"the file ends inside {Inside}: it is cut off.");

    private string Excerpt()
    {
        SkipBlanks();
        var end = text.AsSpan(_at).IndexOfAny('\r', '\n');
        end = end < 0 ? text.Length : _at + end;
        return text[_at..Math.Min(end, _at + 20)];
    }

    private void SkipBlanks()
    {
        for (; _at < text.Length && char.IsWhiteSpace(text[_at]); _at++)
            if (text[_at] == '\n') _line++;
    }
}
