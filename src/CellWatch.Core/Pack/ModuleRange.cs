using System.Globalization;

namespace CellWatch.Core.Pack;

/// <summary>Writes many identities as one: <c>B01-B12</c>.</summary>
public static class ModuleRange
{
    /// <summary>Most modules a range may name.</summary>
    public const int Most = 200;

    /// <summary>Expands <c>B07</c> to one identity, <c>B01-B12</c> to twelve.</summary>
    /// <returns>Null when the text names none; <paramref name="why"/> says so.</returns>
    public static IReadOnlyList<ModuleId>? Expand(string text, out string why)
    {
        why = "";
        var ends = text.Split('-', StringSplitOptions.TrimEntries);
        if (ends.Length == 1 && ModuleId.IsValid(ends[0])) return [new ModuleId(ends[0])];
        if (ends.Length == 2 && Split(ends[0], out var stem, out var first, out var digits) && Split(ends[1], out var lastStem, out var last, out _)
            && string.Equals(stem, lastStem, StringComparison.OrdinalIgnoreCase) && first <= last && last - first < Most)
        {
            var format = "D" + digits.ToString(CultureInfo.InvariantCulture);
            return [.. Enumerable.Range(first, last - first + 1).Select(n => new ModuleId(stem + n.ToString(format, CultureInfo.InvariantCulture)))];
        }

        why = $"'{text}' names no modules: write one identity (B07) or a rising range (B01-B12) of at most {Most}";
        return null;
    }

    /// <summary>
    /// A list of identities as text, in its order: runs of three or more that rise by one become ranges (<c>B01-B03, B07, B05, B06</c>).
    /// </summary>
    public static string Contract(IReadOnlyList<ModuleId> modules)
    {
        var parts = new List<string>();
        for (var first = 0; first < modules.Count;)
        {
            var last = first;
            while (last + 1 < modules.Count && Follows(modules[last], modules[last + 1])) last++;
            if (last - first >= 2) parts.Add($"{modules[first]}-{modules[last]}");
            else parts.AddRange(modules.Skip(first).Take(last - first + 1).Select(m => m.Text));
            first = last + 1;
        }

        return string.Join(", ", parts);
    }

    private static bool Follows(ModuleId module, ModuleId next) => Expand($"{module}-{next}", out _) is { Count: 2 } pair && pair[1] == next;

    private static bool Split(string text, out string stem, out int number, out int digits)
    {
        var at = text.Length;
        while (at > 0 && char.IsAsciiDigit(text[at - 1])) at--;
        stem = text[..at];
        digits = text.Length - at;
        number = 0;
        return ModuleId.IsValid(text) && digits is >= 1 and <= 6 && int.TryParse(text.AsSpan(at), NumberStyles.None, CultureInfo.InvariantCulture, out number);
    }
}
