using CellWatch.Core.Engine;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Rules;

/// <summary>Names of the places alarms are about, and how they are found again from an alarm's identity.</summary>
internal sealed class Places
{
    private readonly ChannelMap _map;
    private readonly InstrumentList _instruments;

    public Places(ChannelMap map, InstrumentList instruments)
    {
        _map = map;
        _instruments = instruments;
        SmokeInputs = [.. map.Layout.Auxiliaries.Select((a, i) => (a, i)).Where(x => x.a.Kind == AuxiliaryKind.Smoke).Select(x => map.FirstAuxiliary + x.i)];
    }

    /// <summary>Channels of the smoke inputs.</summary>
    public int[] SmokeInputs { get; }

    /// <summary>A place as a person reads it.</summary>
    public string NameOf(PlaceKind kind, int place) => kind switch
    {
        PlaceKind.Cell => _map.NameOf(place),
        PlaceKind.Sensor => _map.NameOf(_map.FirstTemperature + place),
        PlaceKind.Module => _map.Layout.Modules[place].Id.Text,
        PlaceKind.Instrument => _instruments.WordsOf(place),
        PlaceKind.SmokeInput => _map.NameOf(SmokeInputs[place]),
        _ => T("pack"),
    };

    /// <summary>Slot of a place in words; empty where it has none.</summary>
    public string SlotOf(PlaceKind kind, int place) => ModuleOf(kind, place) is { } module ? _map.Layout.Modules[module].SlotInWords : "";

    /// <summary>Module of a place; null where it has none.</summary>
    public int? ModuleOf(PlaceKind kind, int place) => kind switch
    {
        PlaceKind.Cell => _map.Layout.ModuleOfCell(place),
        PlaceKind.Sensor => _map.Layout.ModuleOfTemperature(place),
        PlaceKind.Module => place,
        _ => null,
    };

    /// <summary>An alarm's identity.</summary>
    public string IdOf(Rule rule, int place) => AlarmIdentity.Of(rule.Name, KeyOf(Quantities.PlaceOf(rule.Quantity), place));

    // The same in every language.
    private string KeyOf(PlaceKind kind, int place) => kind switch
    {
        PlaceKind.Instrument => _instruments.NameOf(place),
        PlaceKind.Cell or PlaceKind.Sensor or PlaceKind.Module or PlaceKind.SmokeInput => NameOf(kind, place),
        _ => "pack",
    };
}
