using System.Globalization;
using CellWatch.Core.History;

namespace CellWatch.Log.Store;

/// <summary>
/// The checksum of an attachment, kept as a parameter of its media type: <c>image/png;crc32=cbf43926</c>. Attachments of older logs have none and are not
/// checked.
/// </summary>
internal static class AttachmentSeal
{
    private const string Mark = ";crc32=";

    /// <summary>The media type as it is kept.</summary>
    public static string Seal(string mediaType, ReadOnlySpan<byte> content) => string.Create(CultureInfo.InvariantCulture, $"{Bare(mediaType)}{Mark}{Crc32.Of(content):x8}");

    /// <summary>The media type as it was given.</summary>
    public static string Bare(string kept) => kept.LastIndexOf(Mark, StringComparison.Ordinal) is >= 0 and var at ? kept[..at] : kept;

    /// <summary>Whether content is what was kept.</summary>
    public static bool Holds(string kept, ReadOnlySpan<byte> content)
    {
        var at = kept.LastIndexOf(Mark, StringComparison.Ordinal);
        return at < 0 || (uint.TryParse(kept.AsSpan(at + Mark.Length), NumberStyles.HexNumber, CultureInfo.InvariantCulture, out var crc) && crc == Crc32.Of(content));
    }
}
