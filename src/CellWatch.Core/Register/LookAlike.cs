using System.Text;
using CellWatch.Core.Pack;

namespace CellWatch.Core.Register;

/// <summary>
/// Whether two identities can be taken for each other on a dirty label: letters that look like digits count as these, and leading zeros
/// of a number count for nothing (<c>B7</c> and <c>B07</c>). Source: common practice, no source.
/// </summary>
public static class LookAlike
{
    /// <summary>True when the two differ and can be taken for each other.</summary>
    public static bool Confuses(ModuleId a, ModuleId b)
    {
        if (a == b) return false;
        string shortA = WithoutLeadingZeros(a.Text), shortB = WithoutLeadingZeros(b.Text);
        return shortA == shortB || Folded(a.Text) == Folded(b.Text) || Folded(shortA) == Folded(shortB);
    }

    private static string Folded(string text) => string.Concat(text.Select(Fold));

    private static string WithoutLeadingZeros(string text)
    {
        var kept = new StringBuilder();
        var numberStarts = true;
        for (var i = 0; i < text.Length; i++)
        {
            if (numberStarts && text[i] == '0' && i + 1 < text.Length && char.IsAsciiDigit(text[i + 1])) continue;
            numberStarts = char.IsAsciiLetter(text[i]);
            kept.Append(text[i]);
        }

        return kept.ToString();
    }

    private static char Fold(char c) => c switch
    {
        'O' or 'Q' => '0',
        'I' or 'L' => '1',
        'Z' => '2',
        'S' => '5',
        'G' => '6',
        'B' => '8',
        _ => c,
    };
}
