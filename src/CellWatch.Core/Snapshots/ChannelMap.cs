using CellWatch.Core.Pack;

namespace CellWatch.Core.Snapshots;

/// <summary>What kind of quantity a channel carries.</summary>
public enum ChannelKind : byte
{
    /// <summary>A cell's voltage, V.</summary>
    CellVoltage,

    /// <summary>A temperature in a module, degC.</summary>
    Temperature,

    /// <summary>The string's current, A, positive charging.</summary>
    PackCurrent,

    /// <summary>The string's terminal voltage, V.</summary>
    StringVoltage,

    /// <summary>Whether a cell's bleed switch is on: 1 on, 0 off.</summary>
    Bleed,

    /// <summary>A channel beside the pack, in its own unit.</summary>
    Auxiliary,
}

/// <summary>
/// One flat numbering for everything that is measured, so that quality, origin and age are plain arrays:
/// <code>
/// | cells 0..N-1 | temperatures N..N+T-1 | pack current | string voltage | bleed of cell 0..N-1 | auxiliaries |
/// </code>
/// Immutable.
/// </summary>
public sealed class ChannelMap
{
    private readonly ChannelKind[] _kind;

    /// <summary>Numbers the channels of a pack.</summary>
    public ChannelMap(PackLayout layout)
    {
        Layout = layout;
        FirstTemperature = layout.CellCount;
        PackCurrent = FirstTemperature + layout.TemperatureCount;
        StringVoltage = PackCurrent + 1;
        FirstBleed = StringVoltage + 1;
        FirstAuxiliary = FirstBleed + layout.CellCount;
        Count = FirstAuxiliary + layout.Auxiliaries.Length;

        _kind = new ChannelKind[Count];
        // The first CellCount entries are CellVoltage already: it is the default of the enumeration.
        _kind.AsSpan(FirstTemperature, TemperatureCount).Fill(ChannelKind.Temperature);
        _kind[PackCurrent] = ChannelKind.PackCurrent;
        _kind[StringVoltage] = ChannelKind.StringVoltage;
        _kind.AsSpan(FirstBleed, CellCount).Fill(ChannelKind.Bleed);
        _kind.AsSpan(FirstAuxiliary).Fill(ChannelKind.Auxiliary);
    }

    /// <summary>The pack whose channels these are.</summary>
    public PackLayout Layout { get; }

    /// <summary>All channels.</summary>
    public int Count { get; }

    /// <summary>Cells; they are channels 0 to this minus one.</summary>
    public int CellCount => Layout.CellCount;

    /// <summary>Temperature sensors.</summary>
    public int TemperatureCount => Layout.TemperatureCount;

    /// <summary>Channel of the first temperature.</summary>
    public int FirstTemperature { get; }

    /// <summary>Channel of the string's current, A, positive charging.</summary>
    public int PackCurrent { get; }

    /// <summary>Channel of the string's terminal voltage, V.</summary>
    public int StringVoltage { get; }

    /// <summary>Channel of the first cell's bleed flag.</summary>
    public int FirstBleed { get; }

    /// <summary>Channel of the first auxiliary.</summary>
    public int FirstAuxiliary { get; }

    /// <summary>What a channel carries.</summary>
    public ChannelKind KindOf(int channel) => _kind[channel];

    /// <summary>
    /// A channel's name, stable for as long as the module keeps its identity: <c>B07.3</c>, <c>B07.t1</c>, <c>packCurrentA</c>,
    /// <c>stringVoltageV</c>, <c>B07.3.bleed</c>, or the auxiliary's own name.
    /// </summary>
    public string NameOf(int channel) => _kind[channel] switch
    {
        ChannelKind.CellVoltage => Layout.CellAt(channel).ToString(),
        ChannelKind.Temperature => TemperatureName(channel - FirstTemperature),
        ChannelKind.PackCurrent => "packCurrentA",
        ChannelKind.StringVoltage => "stringVoltageV",
        ChannelKind.Bleed => $"{Layout.CellAt(channel - FirstBleed)}.bleed",
        _ => Layout.Auxiliaries[channel - FirstAuxiliary].Name,
    };

    /// <summary>A channel's unit as shown; empty for a flag.</summary>
    public string UnitOf(int channel) => _kind[channel] switch
    {
        ChannelKind.CellVoltage or ChannelKind.StringVoltage => "V",
        ChannelKind.Temperature => "degC",
        ChannelKind.PackCurrent => "A",
        ChannelKind.Auxiliary => Layout.Auxiliaries[channel - FirstAuxiliary].Unit,
        _ => "",
    };

    private string TemperatureName(int temperature) =>
        $"{Layout.Modules[Layout.ModuleOfTemperature(temperature)].Id}.t{Layout.SensorNumber(temperature)}";
}
