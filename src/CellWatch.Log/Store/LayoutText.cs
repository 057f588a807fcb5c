using System.Text.Json;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Store;

/// <summary>A layout as it stands in the file: what is wired to what, and each channel's resolution.</summary>
internal sealed record LayoutText(string Site, LayoutText.Module[] Modules, LayoutText.Auxiliary[] Auxiliaries, double[] StepsPerUnit)
{
    internal sealed record Module(string Id, int Series, int Parallel, int Temperatures, int Slot, string Box);

    internal sealed record Auxiliary(string Name, AuxiliaryKind Kind, string Unit);

    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web) { Converters = { new System.Text.Json.Serialization.JsonStringEnumConverter() } };

    /// <summary>As text; the same layout always gives the same text.</summary>
    public static string Of(ChannelMap map, Func<ChannelMap, int, double> stepsPerUnit) => JsonSerializer.Serialize(
        new LayoutText(
            map.Layout.SiteName,
            [.. map.Layout.Modules.Select(m => new Module(m.Id.Text, m.Topology.Series, m.Topology.Parallel, m.TemperatureSensors, m.Slot, m.Box))],
            [.. map.Layout.Auxiliaries.Select(a => new Auxiliary(a.Name, a.Kind, a.Unit))],
            [.. Enumerable.Range(0, map.Count).Select(c => stepsPerUnit(map, c))]),
        Json);

    /// <summary>Reads it back.</summary>
    /// <exception cref="InvalidDataException">It does not make sense.</exception>
    public static KnownLayout Parse(int revision, string text)
    {
        try
        {
            var read = JsonSerializer.Deserialize<LayoutText>(text, Json) ?? throw new InvalidDataException("it is empty");
            var layout = new PackLayout(
                read.Site,
                read.Modules.Select(m => new PackModule(new ModuleId(m.Id), new ModuleTopology(m.Series, m.Parallel), m.Temperatures, m.Slot, m.Box)),
                read.Auxiliaries.Select(a => new AuxiliaryChannel(a.Name, a.Kind, a.Unit)));
            return new KnownLayout(revision, text, new ChannelMap(layout), read.StepsPerUnit);
        }
        catch (Exception e) when (e is JsonException or ArgumentException or NullReferenceException)
        {
            throw new InvalidDataException($"layout {revision} does not read: {e.Message}", e);
        }
    }
}

/// <summary>A revision of the layout.</summary>
internal sealed class KnownLayout(int revision, string text, ChannelMap map, double[] stepsPerUnit)
{
    private readonly Dictionary<string, int> _channels = Enumerable.Range(0, map.Count).ToDictionary(map.NameOf, StringComparer.Ordinal);

    public int Revision => revision;

    public string Text => text;

    public ChannelMap Map => map;

    public double[] StepsPerUnit => stepsPerUnit;

    /// <summary>Kind of each channel.</summary>
    public ChannelKind[] Kinds { get; } = [.. Enumerable.Range(0, map.Count).Select(map.KindOf)];

    /// <summary>A channel's index from its name; -1 where this layout has none of that name.</summary>
    public int Find(string channel) => _channels.GetValueOrDefault(channel, -1);
}
