using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Store;

/// <summary>
/// In which steps a channel is kept. A step that does not fit the instrument loses nothing, every value comes back bit for bit, but costs
/// space: give the instrument's own where it is not decimal.
/// </summary>
public static class Resolutions
{
    /// <summary>Steps per unit: 10,000 (0.1 mV) for cells, 1,000 (1 mV, 1 mA) for string voltage and current, 100 (0.01 K) for temperatures, 1 for flags.</summary>
    public static double Usual(ChannelMap map, int channel) => map.KindOf(channel) switch
    {
        ChannelKind.CellVoltage => 10_000,
        ChannelKind.StringVoltage or ChannelKind.PackCurrent => 1000,
        ChannelKind.Temperature => 100,
        ChannelKind.Bleed => 1,
        _ => map.UnitOf(channel) switch { "" => 1, "degC" => 100, _ => 1000 },
    };
}
