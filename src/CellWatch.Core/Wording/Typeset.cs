using System.Text.RegularExpressions;

namespace CellWatch.Core.Wording;

/// <summary>
/// Sets a sentence of the records, which are plain letters, as people read it on a page: true minus, plus-minus, arrows, degree and ohm signs, a narrow
/// space between a figure and its unit, no minus before a zero.
/// </summary>
public static partial class Typeset
{
    /// <summary>Narrow no-break space.</summary>
    public const string Narrow = "\u202f";

    /// <summary>The sentence, set.</summary>
    /// <param name="text">Plain letters.</param>
    /// <param name="space">Between figure and unit; a face on paper may lack the narrow one.</param>
    public static string Of(string text, string space = Narrow)
    {
        var t = text.Replace("+-", "\u00b1", StringComparison.Ordinal).Replace("->", "\u2192", StringComparison.Ordinal)
            .Replace(">=", "\u2265", StringComparison.Ordinal).Replace("<=", "\u2264", StringComparison.Ordinal);
        t = MinusZero().Replace(t, "$1");
        t = Minus().Replace(t, "\u2212");
        t = t.Replace("degC", "\u00b0C", StringComparison.Ordinal).Replace("micro-ohm", "\u00b5\u03a9", StringComparison.Ordinal);
        t = Ohm().Replace(t, "$1\u03a9");
        return Unit().Replace(t, "$1" + space + "$2");
    }

    [GeneratedRegex(@"(?<=^|[\s(])-(?=\d)")]
    private static partial Regex Minus();

    [GeneratedRegex(@"(?<=^|[\s(])-(0(?:\.0+)?)(?![\d.])")]
    private static partial Regex MinusZero();

    [GeneratedRegex(@"\b([mkM])Ohm\b")]
    private static partial Regex Ohm();

    // A number stands for itself: the 07 of B07 takes no unit.
    [GeneratedRegex(@"((?<![\w.])\d[\d.,]*) (Ah|A|V|mV|mA|kg|kWh|Wh|m|mm|h|d|days|min|s|K|K/min|%|°C|mΩ|MΩ|kΩ|µΩ|Nm)(?![\w])")]
    private static partial Regex Unit();
}
