using CellWatch.Core.Rules;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Pages;

/// <summary>Parts an alarm's words for the page: the one thing to do, large, and what comes after it.</summary>
/// <param name="Do">The first instruction.</param>
/// <param name="Then">The rest; empty where there is none.</param>
public sealed record AlarmWords(string Do, string Then)
{
    /// <summary>A stop or a leave that the message begins with comes before everything; otherwise the first sentence of what to do first.</summary>
    public static AlarmWords Of(AlarmView alarm)
    {
        if (IsOrder(alarm.Message)) return new AlarmWords(Split(alarm.Message).First, alarm.DoFirst);
        var (first, rest) = Split(alarm.DoFirst);
        return new AlarmWords(first, rest);
    }

    /// <summary>The message without an order that is already said large.</summary>
    public static string Fact(AlarmView alarm)
    {
        var (first, rest) = Split(alarm.Message);
        return rest.Length > 0 && IsOrder(first) ? rest : alarm.Message;
    }

    /// <summary>A phrase as a sentence.</summary>
    public static string Sentence(string text) => text.Length == 0 || text[^1] is '.' or '?' or '!' ? Figures.Capital(text) : Figures.Capital(text) + ".";

    // The words every order to stop or to leave begins with, in any language.
    private static bool IsOrder(string text) => text.StartsWith(T("STOP "), StringComparison.Ordinal) || text.StartsWith(T("LEAVE "), StringComparison.Ordinal);

    // A full stop inside a name or a figure (B11.2, 4.203) is followed by no space.
    private static (string First, string After) Split(string text)
    {
        var end = text.IndexOf(". ", StringComparison.Ordinal);
        return end < 0 ? (text, "") : (text[..(end + 1)], text[(end + 2)..].Trim());
    }
}
