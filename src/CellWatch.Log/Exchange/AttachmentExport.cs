using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using CellWatch.Core.History;

namespace CellWatch.Log.Exchange;

/// <summary>
/// Writes the attachments of a range as files, each under its number and name, and a table of them (RFC 4180) with the runs they belong to and their
/// SHA-256.
/// </summary>
public static class AttachmentExport
{
    /// <summary>Name of the table.</summary>
    public const string TableName = "attachments.csv";

    /// <summary>Writes the files; one whose content does not read is left out and said in the table.</summary>
    /// <param name="history">The log.</param>
    /// <param name="range">When they were attached, or what instant they are about.</param>
    /// <param name="folder">Where to; it is there.</param>
    /// <param name="progress">Share done, 0 to 1.</param>
    /// <param name="cancellation">Stops it; no half file is left under a final name.</param>
    /// <returns>The files written, the table last; empty where there are no attachments.</returns>
    public static async Task<IReadOnlyList<string>> WriteAsync(IHistory history, TimeRange range, string folder, IProgress<double>? progress = null, CancellationToken cancellation = default)
    {
        var all = await history.ReadAttachmentsAsync(range, cancellation);
        var written = new List<string>();
        if (all.IsEmpty) return written;
        var table = new StringBuilder("id,time,run,name,media type,bytes,by,sha256,file\r\n");
        for (var i = 0; i < all.Length; i++)
        {
            cancellation.ThrowIfCancellationRequested();
            var about = all[i];
            var (file, hash) = ("", "does not read");
            if (await ContentAsync(history, about.Id, cancellation) is { } content)
            {
                file = string.Create(CultureInfo.InvariantCulture, $"{about.Id}-{Safe(about.Name)}");
                hash = Convert.ToHexStringLower(SHA256.HashData(content));
                written.Add(await WriteAsync(Path.Combine(folder, file), content, cancellation));
            }

            string[] fields =
            [
                about.Id.ToString(CultureInfo.InvariantCulture), DateTimeOffset.FromUnixTimeMilliseconds(about.WallUnixMs).ToString("yyyy-MM-ddTHH:mm:ss.fffZ", CultureInfo.InvariantCulture),
                about.Run?.ToString(CultureInfo.InvariantCulture) ?? "", about.Name, about.MediaType, about.Length.ToString(CultureInfo.InvariantCulture), about.By, hash, file,
            ];
            table.AppendJoin(',', fields.Select(f => Core.Wording.CsvField.Of(f))).Append("\r\n");
            progress?.Report((i + 1.0) / all.Length);
        }

        written.Add(await WriteAsync(Path.Combine(folder, TableName), Encoding.UTF8.GetBytes(table.ToString()), cancellation));
        return written;
    }

    private static async Task<byte[]?> ContentAsync(IHistory history, long id, CancellationToken cancellation)
    {
        try
        {
            return await history.ReadAttachmentAsync(id, cancellation);
        }
        catch (InvalidDataException)
        {
            return null;
        }
    }

    private static async Task<string> WriteAsync(string path, byte[] content, CancellationToken cancellation)
    {
        using var part = new PartFile(path);
        await part.Stream.WriteAsync(content, cancellation);
        part.Complete();
        return path;
    }

    /// <summary>What came by code need not be a name of a file.</summary>
    private static string Safe(string name) => string.Concat(name.Select(c => Core.Wording.FileName.IsForbidden(c) ? '_' : c));
}
