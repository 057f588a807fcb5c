using System.Text.Json;

namespace CellWatch.Dashboard.Texts;

/// <summary>The texts of the scripts in <c>wwwroot</c>, handed over once with the document. A test holds that every one is here.</summary>
public static class ScriptTexts
{
    /// <summary>English texts and what is said for them, as the scripts look them up; null in English, which the scripts speak by themselves.</summary>
    public static string? Json => Spoken == English ? null : JsonSerializer.Serialize(All.ToDictionary(english => english, TextOf, StringComparer.Ordinal));

    /// <summary>Every text of the scripts, its holes numbered.</summary>
    public static IReadOnlyList<string> All { get; } =
    [
        " or beyond",
        ", not every scan was believed",
        "After",
        "Before",
        "NO DATA",
        "NO DATA while charging",
        "Pack",
        "The pedal has been held for longer than a press lasts: it counts for nothing. Let it go; if that does not help, it is stuck.",
        "The pedal was not heard: this page has no word from the program.",
        "The program has taken no new scan for {0}\u202fs. Do not rely on anything below.",
        "This page has had no word from the program for {0}\u202fs. Do not rely on anything below.",
        "This page has stopped on a fault of its own and is being read again. Do not rely on anything below.",
        "about {0}\u202fmV{1}{2}",
        "act now",
        "arrow: moved more than {0} Ah",
        "bleeding",
        "both rulers in Ah from the median cell",
        "caution",
        "doubtful",
        "end {0}",
        "high",
        "no data",
        "no value that was believed",
        "no value",
        "normal",
        "not proven",
        "nothing recorded",
        "nothing yet",
        "now",
        "slot {0}",
        "slots {0}\u2013{1}",
        "spread",
        "{0} box",
        "{0} no value",
        "{0} sensor {1}",
        "{0} {1} to {2}\u202f{3}",
    ];
}
