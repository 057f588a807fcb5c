using CellWatch.Core.Wording;

namespace CellWatch.Core.History;

/// <summary>
/// What may be attached. A short list of kinds, none of which a browser runs as a page, and none of which a form of a strange page can send without
/// asking first; the content must begin as its kind does.
/// </summary>
public static class AttachmentRules
{
    /// <summary>Most bytes of one attachment: a photograph in full size, a scanned certificate.</summary>
    public const int MostBytes = 16 * 1024 * 1024;

    /// <summary>Room that must be left on the disk after it: photographs must never end the record.</summary>
    public const long LeaveFreeBytes = 256L * 1024 * 1024;

    private const int LongestName = 100;

    private static readonly (string MediaType, string[] Endings, byte[] Begins, int At)[] Kinds =
    [
        ("image/png", [".png"], [0x89, 0x50, 0x4E, 0x47, 0x0D, 0x0A, 0x1A, 0x0A], 0),
        ("image/jpeg", [".jpg", ".jpeg"], [0xFF, 0xD8, 0xFF], 0),
        ("image/webp", [".webp"], "WEBP"u8.ToArray(), 8),
        ("application/pdf", [".pdf"], "%PDF-"u8.ToArray(), 0),
        ("application/zip", [".zip"], [0x50, 0x4B], 0),
        ("application/vnd.apache.parquet", [".parquet"], "PAR1"u8.ToArray(), 0),
        ("application/json", [".json"], [], 0),
        ("text/csv", [".csv"], [], 0),
        ("application/octet-stream", [], [], 0),
    ];

    /// <summary>The kind a file's ending says; empty where none on the list has it.</summary>
    public static string KindOfName(string name) => Array.Find(Kinds, k => k.Endings.Any(e => name.EndsWith(e, StringComparison.OrdinalIgnoreCase))).MediaType ?? "";

    /// <summary>What is said of a file that is too large.</summary>
    public static string TooLarge => $"An attachment has at most {MostBytes / 1024 / 1024} MiB. Make the picture smaller, or keep the file elsewhere and write a note.";

    /// <summary>Whether a kind is on the list.</summary>
    public static bool TryKind(string mediaType, out string refusal)
    {
        var known = Kinds.Select(k => k.MediaType).ToList();
        refusal = known.Contains(mediaType, StringComparer.Ordinal)
            ? ""
            : $"The content type is '{mediaType}'{NearestName.Suggestion(mediaType, known)} Allowed are {string.Join(", ", known)}.";
        return refusal.Length == 0;
    }

    /// <summary>Whether a name can be that of a file everywhere, and fits its kind.</summary>
    public static bool TryName(string? name, string mediaType, out string refusal)
    {
        var kind = Array.Find(Kinds, k => k.MediaType == mediaType);
        refusal = name switch
        {
            null or "" => "'name' is missing: the file's name, for example link3.jpg.",
            { Length: > LongestName } => $"'name' has {name.Length} characters; {LongestName} are the most.",
            _ when name.Any(FileName.IsForbidden) => "'name' holds a character that a file's name may not: / \\ : * ? \" < > | or a control character. Give the name alone, without a folder.",
            _ when name[0] is '.' or ' ' || name[^1] is '.' or ' ' => "'name' may neither begin nor end with a dot or a space.",
            _ when kind.Endings is { Length: > 0 } endings && !endings.Any(e => name.EndsWith(e, StringComparison.OrdinalIgnoreCase)) => $"'name' is '{name}'; a file of {mediaType} ends in {string.Join(" or ", endings)}.",
            _ => "",
        };
        return refusal.Length == 0;
    }

    /// <summary>Whether content begins as its kind does.</summary>
    public static bool TryContent(string mediaType, ReadOnlySpan<byte> content, out string refusal)
    {
        var kind = Array.Find(Kinds, k => k.MediaType == mediaType);
        var begins = content.Length >= kind.At + kind.Begins.Length && content.Slice(kind.At, kind.Begins.Length).SequenceEqual(kind.Begins);
        refusal = content.Length == 0 ? "The attachment is empty: send the file as the body of the request." : begins ? "" : $"What was sent does not begin as {mediaType} does.";
        return refusal.Length == 0;
    }
}
