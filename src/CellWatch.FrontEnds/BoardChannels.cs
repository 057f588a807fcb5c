using System.Collections.Immutable;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.FrontEnds;

/// <summary>
/// The channels of the pack one board measures: its modules in the order the board numbers them (from 1), the channels beside the pack
/// in the order of its options, and whether it measures current and string voltage. Immutable.
/// </summary>
public sealed record BoardChannels
{
    private readonly int[] _modules;
    private readonly int[] _auxiliaries;

    /// <param name="map">The pack's channels.</param>
    /// <param name="modules">Indices into the layout's modules, in the board's order.</param>
    /// <param name="measuresPack">Whether it measures current and string voltage.</param>
    /// <param name="auxiliaries">Indices into the layout's auxiliaries, in the board's order.</param>
    public BoardChannels(ChannelMap map, IEnumerable<int> modules, bool measuresPack, IEnumerable<int> auxiliaries)
    {
        Map = map;
        MeasuresPack = measuresPack;
        _modules = [.. modules];
        _auxiliaries = [.. auxiliaries];
        All = [.. Collect()];
    }

    /// <summary>The pack's channels.</summary>
    public ChannelMap Map { get; }

    /// <summary>Modules on this board.</summary>
    public int ModuleCount => _modules.Length;

    /// <summary>Channels beside the pack on this board.</summary>
    public int AuxiliaryCount => _auxiliaries.Length;

    /// <summary>Whether current and string voltage are taken from this board.</summary>
    public bool MeasuresPack { get; }

    /// <summary>Every channel it provides, ascending within each kind.</summary>
    public ImmutableArray<int> All { get; init; }

    /// <summary>The module of a board's number (from 1).</summary>
    public PackModule ModuleOf(int number) => Map.Layout.Modules[_modules[number - 1]];

    /// <summary>Cells of a module.</summary>
    public int CellCount(int number) => ModuleOf(number).Topology.Series;

    /// <summary>Temperature sensors of a module.</summary>
    public int TemperatureCount(int number) => ModuleOf(number).TemperatureSensors;

    /// <summary>Channel of a cell's voltage; both numbers from 1.</summary>
    public int Cell(int number, int cell) => Map.Layout.FirstCell(_modules[number - 1]) + cell - 1;

    /// <summary>Channel of a cell's bleed flag; both numbers from 1.</summary>
    public int Bleed(int number, int cell) => Map.FirstBleed + Cell(number, cell);

    /// <summary>Channel of a temperature; both numbers from 1.</summary>
    public int Temperature(int number, int sensor) => Map.FirstTemperature + Map.Layout.FirstTemperature(_modules[number - 1]) + sensor - 1;

    /// <summary>Channel of a quantity beside the pack; the number counts on this board from 1.</summary>
    public int Auxiliary(int number) => Map.FirstAuxiliary + _auxiliaries[number - 1];

    /// <summary>Its modules in words: <c>B01-B06</c> or <c>B01, B04</c>.</summary>
    public string ModulesInWords => ModuleRange.Contract([.. _modules.Select(m => Map.Layout.Modules[m].Id)]);

    private IEnumerable<int> Collect()
    {
        for (var n = 1; n <= ModuleCount; n++)
            for (var c = 1; c <= CellCount(n); c++) yield return Cell(n, c);
        for (var n = 1; n <= ModuleCount; n++)
            for (var t = 1; t <= TemperatureCount(n); t++) yield return Temperature(n, t);
        if (MeasuresPack)
        {
            yield return Map.PackCurrent;
            yield return Map.StringVoltage;
        }

        for (var n = 1; n <= ModuleCount; n++)
            for (var c = 1; c <= CellCount(n); c++) yield return Bleed(n, c);
        for (var a = 1; a <= AuxiliaryCount; a++) yield return Auxiliary(a);
    }
}
