using CellWatch.Core.Snapshots;
using CellWatch.Simulation.Stories;

namespace CellWatch.Simulation.Model;

/// <summary>How good the instruments of the simulated boards are (orders of magnitude of common parts, no source).</summary>
public sealed record InstrumentFigures
{
    /// <summary>Noise of a cell's voltage, V, root mean square.</summary>
    public double CellNoiseV { get; init; } = 0.001;

    /// <summary>Step of a cell's voltage, V.</summary>
    public double CellStepV { get; init; } = 0.0001;

    /// <summary>Highest voltage a cell's input can tell, V: 16 bits of a step.</summary>
    public double CellFullScaleV { get; init; } = 6.5535;

    /// <summary>Noise of a temperature, K.</summary>
    public double TemperatureNoiseK { get; init; } = 0.04;

    /// <summary>Constant error of each temperature, K, root mean square over the sensors.</summary>
    public double TemperatureErrorK { get; init; } = 0.15;

    /// <summary>Step of a temperature, K.</summary>
    public double TemperatureStepK { get; init; } = 0.1;

    /// <summary>Noise of the current, A.</summary>
    public double CurrentNoiseA { get; init; } = 0.03;

    /// <summary>Error of the current at zero, A.</summary>
    public double CurrentZeroA { get; init; } = 0.02;

    /// <summary>Step of the current, A.</summary>
    public double CurrentStepA { get; init; } = 0.01;

    /// <summary>Noise of the string's voltage, V.</summary>
    public double StringNoiseV { get; init; } = 0.01;

    /// <summary>Constant error of the string's voltage, V: it reads lower than the cells by this.</summary>
    public double StringLowV { get; init; } = 0.06;

    /// <summary>Step of the string's voltage, V.</summary>
    public double StringStepV { get; init; } = 0.01;
}

/// <summary>
/// What instruments show of a model: sense leads with their drop, noise, steps, zero errors, and the faults a person asked for. A figure
/// depends only on the state, the seed and the tick, so that all who read in one tick read the same. One thread at a time, no allocation.
/// </summary>
internal sealed class Instruments
{
    private const double OpenTapFallS = 2;
    private readonly PackModel _model;
    private readonly ScenePlayer _player;
    private readonly Surroundings _surroundings;
    private readonly ChannelMap _map;
    private readonly InstrumentFigures _figures;
    private readonly double _leadOhm;
    private readonly Noise _noise;
    private readonly int[] _firstCell;
    private readonly int[] _series;

    public Instruments(
        PackModel model, ScenePlayer player, Surroundings surroundings, ChannelMap map, PackParameters parameters, InstrumentFigures figures, ulong seed)
    {
        (_model, _player, _surroundings, _map, _figures, _noise) = (model, player, surroundings, map, figures, new Noise(seed));
        _leadOhm = parameters.SenseLeadOhm;
        _firstCell = [.. Enumerable.Range(0, map.CellCount).Select(c => map.Layout.FirstCell(map.Layout.ModuleOfCell(c)))];
        _series = [.. Enumerable.Range(0, map.CellCount).Select(c => map.Layout.Modules[map.Layout.ModuleOfCell(c)].Topology.Series)];
    }

    /// <summary>Faults in force.</summary>
    public PackFaults Faults { get; } = new();

    /// <summary>What the instrument of a channel shows, in the channel's unit.</summary>
    public double Read(int channel, long tick) => _map.KindOf(channel) switch
    {
        ChannelKind.CellVoltage => CellV(channel, tick),
        ChannelKind.Temperature => TemperatureDegC(channel - _map.FirstTemperature, tick),
        ChannelKind.PackCurrent => PackCurrentA(tick),
        ChannelKind.StringVoltage => Stepped(_model.StringVoltageV - _figures.StringLowV + _figures.StringNoiseV * _noise.Normal(channel, tick), _figures.StringStepV),
        ChannelKind.Bleed => _player.BleedOrdered[Faults.SourceOf(channel - _map.FirstBleed)] ? 1 : 0,
        _ => Faults.Smoke && _surroundings.IsSmoke(channel - _map.FirstAuxiliary) ? 1 : _surroundings.Read(channel - _map.FirstAuxiliary, _noise.Normal(channel, tick)),
    };

    /// <summary>Whether a board that tests its leads finds the lead of this cell open.</summary>
    public bool IsOpen(int cell)
    {
        var source = Faults.SourceOf(cell);
        return Faults.OpenTap is { } tap && (source == tap.LowerCell || source == tap.UpperCell);
    }

    private double CellV(int cell, long tick)
    {
        if (Faults.Stuck is { } stuck && stuck.Cell == cell) return stuck.ValueV;
        var noiseV = _figures.CellNoiseV * Faults.NoiseFactor(cell, _model.PackCurrentA);
        var volts = SensedV(Faults.SourceOf(cell), tick) + noiseV * _noise.Normal(cell, tick);
        return Math.Clamp(Stepped(volts, _figures.CellStepV), 0, _figures.CellFullScaleV);
    }

    // A bleed's current comes in by the cell's upper lead and goes out by its lower one: the cell reads low by both drops, each neighbour
    // high by the drop of the lead they share. A lead with a bad tap has that much more.
    private double SensedV(int cell, long tick)
    {
        var bleedA = _model.BleedA;
        var place = cell - _firstCell[cell];
        var volts = _model.CellVoltageV[cell] - bleedA[cell] * (LeadOhm(cell, place) + LeadOhm(cell, place + 1));
        if (place > 0) volts += bleedA[cell - 1] * LeadOhm(cell, place);
        if (place < _series[cell] - 1) volts += bleedA[cell + 1] * LeadOhm(cell, place + 1);
        return Faults.OpenTap is { } tap ? WithOpenTap(tap, cell, volts, tick) : volts;
    }

    // An open tap is pulled down by the input's leakage: the cell below reads towards nothing, the cell above towards the sum of both.
    private double WithOpenTap(OpenTap tap, int cell, double volts, long tick)
    {
        var left = Math.Exp(-(tick - tap.SinceTick) * SimulatedPack.TickS / OpenTapFallS);
        if (cell == tap.LowerCell) return volts * left;
        return cell == tap.UpperCell ? volts + _model.CellVoltageV[tap.LowerCell] * (1 - left) : volts;
    }

    private double LeadOhm(int cell, int tap) =>
        Faults.BadTap is { } bad && bad.FirstCell == _firstCell[cell] && bad.Tap == tap ? bad.Ohm : _leadOhm;

    private double TemperatureDegC(int sensor, long tick)
    {
        var source = Faults.SourceOfSensor(sensor);
        var module = _map.Layout.ModuleOfTemperature(source);
        // The last sensor of a module sits beside the joint at its positive end, the others in its middle.
        var atJoint = _map.Layout.SensorNumber(source) == _map.Layout.Modules[module].TemperatureSensors;
        var degC = _model.ModuleDegC[module] + (atJoint ? _model.JointRiseK[module] : 0);
        var channel = _map.FirstTemperature + sensor;
        var errorK = _figures.TemperatureErrorK * _noise.Normal(channel, long.MinValue) + _figures.TemperatureNoiseK * _noise.Normal(channel, tick);
        return Stepped(degC + errorK, _figures.TemperatureStepK);
    }

    private double PackCurrentA(long tick)
    {
        var amperes = _model.PackCurrentA * (Faults.CurrentReversed ? -1 : 1) + _figures.CurrentZeroA + _figures.CurrentNoiseA * _noise.Normal(_map.PackCurrent, tick);
        return Stepped(amperes, _figures.CurrentStepA);
    }

    private static double Stepped(double value, double step) => Math.Round(value / step) * step;
}
