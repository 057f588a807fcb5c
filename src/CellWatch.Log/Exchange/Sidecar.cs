using System.Text.Json;
using System.Text.Json.Nodes;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Store;

namespace CellWatch.Log.Exchange;

/// <summary>The file beside an export that says what its columns are: the layout, and that values of a model are no measurements.</summary>
internal static class Sidecar
{
    private const string Format = "cell log export, version 1";
    private static readonly JsonSerializerOptions Indented = new() { WriteIndented = true, Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    public static string PathFor(string data) => data + ".json";

    /// <summary>Its text; the same data give the same text.</summary>
    public static string Text(ChannelMap map, long rows, bool simulated) => new JsonObject
    {
        ["format"] = Format,
        ["site"] = map.Layout.SiteName,
        ["simulated"] = simulated,
        ["rows"] = rows,
        ["positiveCurrent"] = "charges",
        ["time"] = "wall clock, UTC; a label that may jump",
        ["elapsed"] = "seconds on a clock that never goes back within a run of the program; starts anew with each start of the machine",
        ["marks"] = "quality, origin and proof of channels (counted from 1 in the order of the columns) that changed since the row before",
        ["layout"] = JsonNode.Parse(LayoutText.Of(map, Resolutions.Usual)),
    }.ToJsonString(Indented) + "\n";

    /// <summary>Writes it; it appears under its name only when it is whole.</summary>
    public static void Write(string data, ChannelMap map, long rows, bool simulated) => PartFile.Write(PathFor(data), Text(map, rows, simulated));

    /// <summary>The channels an export holds.</summary>
    /// <exception cref="InvalidDataException">There is no such file, or it is not ours.</exception>
    public static ChannelMap ReadMap(string data)
    {
        var path = PathFor(data);
        if (!File.Exists(path)) throw new InvalidDataException($"{data}: the file {Path.GetFileName(path)}, which says what its columns are, is not beside it");
        try
        {
            var json = JsonNode.Parse(File.ReadAllText(path))!;
            if ((string?)json["format"] != Format) throw new InvalidDataException($"{path} is not of '{Format}'");
            return LayoutText.Parse(0, json["layout"]!.ToJsonString()).Map;
        }
        catch (Exception e) when (e is JsonException or InvalidOperationException or NullReferenceException)
        {
            throw new InvalidDataException($"{path} does not read: {e.Message}", e);
        }
    }

    /// <summary>Whether a file is an export of ours, by what stands beside it.</summary>
    public static bool IsBeside(string data) => File.Exists(PathFor(data)) && File.ReadAllText(PathFor(data)).Contains(Format, StringComparison.Ordinal);
}
