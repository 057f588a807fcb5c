using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Engine;

/// <summary>
/// Which instrument provides which channel. Where the options name none, each module counts as one. Channels nobody claims go to
/// the instrument of their module, so that no cell can fall silent without an alarm.
/// </summary>
internal sealed class InstrumentList
{
    private readonly int[] _ofChannel;
    private readonly string[] _names;
    private readonly string[] _words;

    private InstrumentList(int[] ofChannel, string[] names, string[] words)
    {
        _ofChannel = ofChannel;
        _names = names;
        _words = words;
    }

    public int Count => _names.Length;

    /// <summary>Its name in identities and topics.</summary>
    public string NameOf(int instrument) => _names[instrument];

    /// <summary>Its name as a person reads it.</summary>
    public string WordsOf(int instrument) => _words[instrument];

    /// <summary>Instrument of a cell or temperature channel.</summary>
    public int OfChannel(int channel) => _ofChannel[channel];

    public static InstrumentList From(ChannelMap map, EngineOptions options)
    {
        var measured = map.FirstTemperature + map.TemperatureCount;
        var ofChannel = new int[measured];
        ofChannel.AsSpan().Fill(-1);
        var names = new List<string>();
        var words = new List<string>();
        foreach (var instrument in options.Instruments)
        {
            foreach (var channel in instrument.Channels)
                if (channel >= 0 && channel < measured) ofChannel[channel] = names.Count;
            names.Add(instrument.Name);
            words.Add(instrument.InWords ?? instrument.Name);
        }

        var moduleInstrument = new int[map.Layout.Modules.Length];
        moduleInstrument.AsSpan().Fill(-1);
        for (var channel = 0; channel < measured; channel++)
        {
            if (ofChannel[channel] >= 0) continue;
            var module = channel < map.CellCount ? map.Layout.ModuleOfCell(channel) : map.Layout.ModuleOfTemperature(channel - map.FirstTemperature);
            if (moduleInstrument[module] < 0)
            {
                moduleInstrument[module] = names.Count;
                names.Add(map.Layout.Modules[module].Id.Text);
                words.Add(names[^1]);
            }

            ofChannel[channel] = moduleInstrument[module];
        }

        return new InstrumentList(ofChannel, [.. names], [.. words]);
    }
}
