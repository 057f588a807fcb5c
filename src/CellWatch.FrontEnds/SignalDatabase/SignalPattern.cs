using System.Globalization;

namespace CellWatch.FrontEnds.SignalDatabase;

/// <summary>
/// A signal name with places for numbers: <c>M{module:00}_C{cell:00}_V</c>. A place is a word in braces, with zeros behind a colon for the least
/// number of digits; <c>{cell}</c> and <c>{sensor}</c> are the same place.
/// </summary>
internal static class SignalPattern
{
    public static bool Has(string pattern, string part) => TryFind(pattern, part[1..^1], out _, out _, out _);

    /// <summary>Fills in a module's number and a cell's or sensor's.</summary>
    public static string Fill(string pattern, int module, int member)
    {
        foreach (var (word, number) in new[] { ("module", module), ("cell", member), ("sensor", member) })
            while (TryFind(pattern, word, out var start, out var end, out var digits))
                pattern = $"{pattern[..start]}{number.ToString(new string('0', Math.Max(1, digits)), CultureInfo.InvariantCulture)}{pattern[end..]}";
        return pattern;
    }

    private static bool TryFind(string pattern, string word, out int start, out int end, out int digits)
    {
        digits = 0;
        end = 0;
        start = pattern.IndexOf("{" + word, StringComparison.Ordinal);
        if (start < 0) return false;
        var at = start + 1 + word.Length;
        if (at < pattern.Length && pattern[at] == ':')
            for (at++; at < pattern.Length && pattern[at] == '0'; at++) digits++;
        end = at + 1;
        return at < pattern.Length && pattern[at] == '}';
    }
}
