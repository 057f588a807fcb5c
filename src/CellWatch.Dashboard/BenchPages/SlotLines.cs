using System.Collections.Immutable;
using CellWatch.Core.Planning;
using CellWatch.Core.Register;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.BenchPages;

/// <summary>Slots as lines of text, one a slot: typed by hand or taken from a spreadsheet. Fields are parted by a semicolon or a tab.</summary>
public static class SlotLines
{
    private const int Fields = 8;

    /// <summary>What stands in a line, in order.</summary>
    public static string Order => T("number; box; aft, m; to port, m; up, m; cooling rank; warmer, K; reachable");

    /// <summary>A line as an example.</summary>
    public static string Example => $"1; {T("fore box")}; 1.20; -0.35; 0.20; 1; 0.0; {T("yes")}";

    /// <summary>Reads the lines; empty ones are passed over.</summary>
    /// <exception cref="RefusedException">A line has other fields, or one is no number: the sentence says which and where.</exception>
    public static ImmutableArray<Slot> Read(string text) =>
        [.. text.Split('\n').Select((line, i) => (Text: line.Trim(), Number: i + 1)).Where(l => l.Text.Length > 0).Select(l => Read(l.Text, l.Number))];

    private static Slot Read(string text, int line)
    {
        var fields = text.Split(text.Contains('\t', StringComparison.Ordinal) ? '\t' : ';', StringSplitOptions.TrimEntries);
        RefusedException.Unless(fields.Length == Fields, T($"Line {line} has {fields.Length} fields, not {Fields}: write {Order}."));
        return new Slot(
            Whole(0, T("number")), fields[1], Number(2, T("aft")), Number(3, T("to port")), Number(4, T("up")), Whole(5, T("cooling rank")), Number(6, T("warmer")), Yes(fields[7]));

        double Number(int field, string name)
        {
            RefusedException.Unless(fields[field].Length > 0, T($"Line {line}, {name}: still to be measured."));
            return Figures.Typed(fields[field]) ?? throw new RefusedException(T($"Line {line}, {name}: “{fields[field]}” is no number."));
        }

        int Whole(int field, string name)
        {
            var value = Number(field, name);
            RefusedException.Unless(value is >= 1 and <= 10_000 && value == Math.Floor(value), T($"Line {line}, {name}: “{fields[field]}” is no whole number from 1."));
            return (int)value;
        }

        bool Yes(string word) => string.Equals(word, T("yes"), StringComparison.OrdinalIgnoreCase) ? true
            : string.Equals(word, T("no"), StringComparison.OrdinalIgnoreCase) ? false
            : throw new RefusedException(T($"Line {line}, reachable: write {T("yes")} or {T("no")}, not “{word}”."));
    }
}
