using CellWatch.Core.History;
using Microsoft.Net.Http.Headers;

namespace CellWatch.Host.Api;

/// <summary>A file as the plain body of a request, for the log and for the bench alike.</summary>
internal static class UploadedFile
{
    /// <summary>Its content type without parameters, lower case; empty where none is said.</summary>
    public static string KindOf(HttpRequest request) => MediaTypeHeaderValue.TryParse(request.ContentType, out var parsed) ? parsed.MediaType.Value!.ToLowerInvariant() : "";

    /// <summary>The body, read no further than the most that is taken; null where it is longer.</summary>
    public static async Task<byte[]?> ReadAsync(HttpRequest request, CancellationToken cancellation)
    {
        if (request.ContentLength > AttachmentRules.MostBytes) return null;
        using var content = new MemoryStream((int)(request.ContentLength ?? 0));
        var block = new byte[65_536];
        while (await request.Body.ReadAsync(block, cancellation) is > 0 and var read)
        {
            if (content.Length + read > AttachmentRules.MostBytes) return null;
            content.Write(block, 0, read);
        }

        return content.ToArray();
    }

    /// <summary>The answer to one that is too large.</summary>
    public static IResult TooLarge() => Results.Problem(AttachmentRules.TooLarge, statusCode: StatusCodes.Status413PayloadTooLarge);

    /// <summary>The answer where the disk is nearly full; null where there is room.</summary>
    public static async Task<IResult?> NoRoomAsync(IHistory history, long bytes, CancellationToken cancellation) =>
        (await history.ReadStorageAsync(cancellation)).FreeBytes - bytes < AttachmentRules.LeaveFreeBytes
            ? Results.Problem("The disk of the log is nearly full; what is measured comes first. Make room and attach it again.", statusCode: StatusCodes.Status507InsufficientStorage)
            : null;
}
