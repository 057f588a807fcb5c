using System.Buffers.Binary;
using CellWatch.Core.History;

namespace CellWatch.Core.Register;

/// <summary>
/// Whether a picture came whole. A transfer that broke off, or a bad memory card, leaves a file that begins well: a PNG is walked chunk by chunk with
/// its checksums (PNG specification, section 5), a JPEG segment by segment to its end mark (ITU-T T.81, annex B), of WebP the length is compared
/// with its own (RIFF container). What a picture shows is not looked at.
/// </summary>
public static class PictureFile
{
    private const byte StartOfScan = 0xDA, EndOfImage = 0xD9, App1 = 0xE1;

    /// <summary>Whether a kind is a picture that a browser draws.</summary>
    public static bool IsPicture(string mediaType) => mediaType is "image/png" or "image/jpeg" or "image/webp";

    /// <summary>What is wrong with a picture, in words; null where nothing is, and for every other kind.</summary>
    /// <param name="mediaType">Its kind.</param>
    /// <param name="content">The whole file; it begins as its kind does.</param>
    public static string? Fault(string mediaType, ReadOnlySpan<byte> content) => mediaType switch
    {
        "image/png" => FaultOfPng(content),
        "image/jpeg" => FaultOfJpeg(content),
        "image/webp" => content.Length >= 12 && BinaryPrimitives.ReadUInt32LittleEndian(content[4..]) + 8L <= content.Length ? null : T("it breaks off before its end"),
        _ => null,
    };

    /// <summary>How far a JPEG is to be turned clockwise to stand upright, degrees: 0, 90, 180 or 270 (Exif 2.3, tag 0112; mirrored forms count as not turned).</summary>
    public static int TurnOf(ReadOnlySpan<byte> jpeg)
    {
        for (var at = 2; at + 4 <= jpeg.Length && jpeg[at] == 0xFF && jpeg[at + 1] != StartOfScan;)
        {
            int marker = jpeg[at + 1], length = BinaryPrimitives.ReadUInt16BigEndian(jpeg[(at + 2)..]);
            if (length < 2 || at + 2 + length > jpeg.Length) return 0;
            var body = jpeg.Slice(at + 4, length - 2);
            if (marker == App1 && body.StartsWith("Exif\0\0"u8)) return TurnOfExif(body[6..]);
            at += 2 + length;
        }

        return 0;
    }

    private static string? FaultOfPng(ReadOnlySpan<byte> png)
    {
        var (at, first, pixels) = (8, true, false);
        while (at + 12 <= png.Length)
        {
            var length = BinaryPrimitives.ReadUInt32BigEndian(png[at..]);
            if (length > png.Length - at - 12) return T("it breaks off before its end");
            var chunk = png.Slice(at + 4, 4 + (int)length);
            if (Crc32.Of(chunk) != BinaryPrimitives.ReadUInt32BigEndian(png[(at + 8 + (int)length)..])) return T("a part of it does not fit its checksum");
            var type = chunk[..4];
            if (first && !(type.SequenceEqual("IHDR"u8) && length == 13)) return T("it does not begin with its size");
            if (type.SequenceEqual("IDAT"u8)) pixels = true;
            if (type.SequenceEqual("IEND"u8)) return pixels ? null : T("it holds no picture");
            (at, first) = (at + 12 + (int)length, false);
        }

        return T("it breaks off before its end");
    }

    private static string? FaultOfJpeg(ReadOnlySpan<byte> jpeg)
    {
        var (at, sized) = (2, false);
        while (at + 4 <= jpeg.Length)
        {
            if (jpeg[at] != 0xFF) return T("its parts do not follow each other");
            var marker = jpeg[at + 1];
            if (marker == 0xFF)
            {
                // A fill byte.
                at++;
                continue;
            }

            var length = BinaryPrimitives.ReadUInt16BigEndian(jpeg[(at + 2)..]);
            if (length < 2 || at + 2 + length > jpeg.Length) return T("it breaks off before its end");
            if (marker is >= 0xC0 and <= 0xCF and not (0xC4 or 0xC8 or 0xCC)) sized = true;
            at += 2 + length;
            if (marker != StartOfScan) continue;
            // Within the scan FF is followed by 00 or a restart; a camera may add bytes of its own behind the end mark.
            return !sized ? T("it does not say its size") : jpeg[at..].IndexOf((ReadOnlySpan<byte>)[0xFF, EndOfImage]) >= 0 ? null : T("it breaks off before its end");
        }

        return T("it breaks off before its end");
    }

    private static int TurnOfExif(ReadOnlySpan<byte> tiff)
    {
        if (tiff.Length < 10) return 0;
        var little = tiff[0] == 'I';
        uint U32(ReadOnlySpan<byte> b) => little ? BinaryPrimitives.ReadUInt32LittleEndian(b) : BinaryPrimitives.ReadUInt32BigEndian(b);
        ushort U16(ReadOnlySpan<byte> b) => little ? BinaryPrimitives.ReadUInt16LittleEndian(b) : BinaryPrimitives.ReadUInt16BigEndian(b);
        var directory = U32(tiff[4..]);
        if (directory + 2L > tiff.Length) return 0;
        int entries = U16(tiff[(int)directory..]), at = (int)directory + 2;
        for (var e = 0; e < entries && at + 12 <= tiff.Length; e++, at += 12)
        {
            if (U16(tiff[at..]) != 0x0112) continue;
            return U16(tiff[(at + 8)..]) switch { 3 => 180, 6 => 90, 8 => 270, _ => 0 };
        }

        return 0;
    }
}
