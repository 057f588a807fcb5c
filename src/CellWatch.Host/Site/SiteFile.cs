using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;
using CellWatch.Core.Pack;
using CellWatch.Core.Wording;

namespace CellWatch.Host.Site;

/// <summary>Reads a site file: all its faults at once, each with line, value, what is allowed and the nearest valid name.</summary>
public static class SiteFile
{
    /// <summary>How the file is read and written: camelCase, comments and trailing commas allowed, unknown names refused.</summary>
    public static JsonSerializerOptions Json { get; } = new(JsonSerializerDefaults.Web)
    {
        TypeInfoResolver = new DefaultJsonTypeInfoResolver(),
        ReadCommentHandling = JsonCommentHandling.Skip,
        AllowTrailingCommas = true,
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        NumberHandling = JsonNumberHandling.Strict,
        PropertyNameCaseInsensitive = false,
        WriteIndented = true,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.CamelCase, allowIntegerValues: false) },
    };

    /// <summary>Reads and checks a file.</summary>
    /// <exception cref="SiteFileException">It cannot be used; the message lists every fault.</exception>
    /// <exception cref="IOException">It cannot be read.</exception>
    public static Site Read(string file) => Parse(File.ReadAllBytes(file), file);

    /// <summary>Checks a text.</summary>
    /// <param name="utf8">The text.</param>
    /// <param name="file">Its name for messages; relative paths in it start from its folder.</param>
    /// <exception cref="SiteFileException">It cannot be used.</exception>
    public static Site Parse(byte[] utf8, string file)
    {
        JsonLines lines;
        try
        {
            lines = JsonLines.Of(utf8);
        }
        catch (JsonException fault)
        {
            throw new SiteFileException(file, [new SiteFault("$", (int)(fault.LineNumber ?? 0) + 1, $"This is no JSON: {FirstSentence(fault.Message)}")]);
        }

        var faults = new List<SiteFault>();
        void Refuse(string path, string message) => faults.Add(new SiteFault(path, lines.LineOf(path), message));

        using (var tree = JsonDocument.Parse(utf8, new JsonDocumentOptions { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true }))
            NameCheck.Run(tree.RootElement, typeof(SiteDocument), "$", Json, Refuse);
        if (faults.Count > 0) throw new SiteFileException(file, faults);

        SiteDocument document;
        try
        {
            document = JsonSerializer.Deserialize<SiteDocument>(utf8, Json)!;
        }
        catch (JsonException fault)
        {
            var path = fault.Path ?? "$";
            throw new SiteFileException(file, [new SiteFault(path, lines.LineOf(path), FirstSentence(fault.Message))]);
        }

        var site = SiteCheck.Run(document, Path.GetDirectoryName(Path.GetFullPath(file))!, Refuse);
        return faults.Count == 0 ? site! : throw new SiteFileException(file, [.. faults.OrderBy(f => f.Line)]);
    }

    private static string FirstSentence(string message)
    {
        var cut = message.IndexOf(" Path:", StringComparison.Ordinal);
        return cut > 0 ? message[..cut] : message;
    }
}
