using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Store;

namespace CellWatch.Log.Queries;

/// <summary>What a question asks of a layout: either single channels, each a series of the answer, or a kind of channel taken together.</summary>
internal sealed class Wanted
{
    private readonly string[] _names = [];
    private readonly EnvelopeOf? _pack;

    public Wanted(IEnumerable<string> names) => _names = [.. names];

    public Wanted(EnvelopeOf pack) => _pack = pack;

    /// <summary>Series of the answer.</summary>
    public int Count => _pack is null ? _names.Length : 1;

    /// <summary>Whether all channels go into one series.</summary>
    public bool Merge => _pack is not null;

    /// <summary>Channels to read from full-rate blocks: for each series its channel, or all that are merged; -1 where the layout has none.</summary>
    public int[] ChannelsOf(KnownLayout layout) => _pack is null
        ? [.. _names.Select(layout.Find)]
        : [.. Enumerable.Range(0, layout.Map.Count).Where(c => layout.Map.KindOf(c) == Kind)];

    /// <summary>Series to read from roll-ups: for each series of the answer its number; -1 where the layout has none.</summary>
    public int[] SeriesOf(KnownLayout layout) => _pack is null ? ChannelsOf(layout) : [layout.Map.Count + (_pack == EnvelopeOf.Cells ? 0 : 1)];

    private ChannelKind Kind => _pack == EnvelopeOf.Cells ? ChannelKind.CellVoltage : ChannelKind.Temperature;
}
