using System.Collections.Immutable;

namespace CellWatch.Core.Inputs;

/// <summary>
/// Names of keys a foot pedal may send, as browsers name them (W3C UI Events, KeyboardEvent code values), without those the pages or a
/// browser use themselves.
/// </summary>
public static class KeyCodes
{
    private const string LettersOfThePages = "ACEHKPRSTV";

    /// <summary>Keys that may be given to a pedal.</summary>
    public static ImmutableArray<string> Free { get; } =
    [
        .. "ABCDEFGHIJKLMNOPQRSTUVWXYZ".Where(c => !LettersOfThePages.Contains(c, StringComparison.Ordinal)).Select(c => $"Key{c}"),
        .. Enumerable.Range(0, 10).Select(n => FormattableString.Invariant($"Digit{n}")),
        .. Enumerable.Range(0, 10).Select(n => FormattableString.Invariant($"Numpad{n}")),
        "F2", "F4", "F8", "F9", .. Enumerable.Range(13, 12).Select(n => FormattableString.Invariant($"F{n}")),
        "Pause", "ScrollLock", "Insert", "NumpadMultiply", "NumpadDecimal", "NumpadEnter", "IntlBackslash",
    ];

    /// <summary>Why a key cannot be given to a pedal; null where it can.</summary>
    public static string? WhyNot(string code)
    {
        if (Free.Contains(code)) return null;
        if (code.Length == 4 && code.StartsWith("Key", StringComparison.Ordinal) && LettersOfThePages.Contains(code[3], StringComparison.Ordinal))
            return T($"'{code}' is a key of the pages themselves (see Keys): set the pedal to another one, for example F13");
        return T($"'{code}' is no key a pedal may send: the pages and the browser use the others themselves{Wording.NearestName.Suggestion(code, Free)}");
    }
}
