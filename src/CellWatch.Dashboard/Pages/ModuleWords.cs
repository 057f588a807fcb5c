using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Pages;

/// <summary>One cell of the module sheet as it is written.</summary>
public sealed record ModuleRow(int Number, string Voltage, string Deviation, string Charge, string Resistance, string Age, string Bleed, StateWord State);

/// <summary>What is said of one module.</summary>
public static class ModuleWords
{
    private static string NotYet => T("not yet");

    /// <summary>First line of the sheet.</summary>
    public static string Headline(PackState state, int module)
    {
        var layout = state.Layout;
        var m = layout.Modules[module];
        var (first, end) = (layout.FirstCell(module), layout.FirstCell(module + 1));
        var lost = 0;
        int? widest = null;
        for (var cell = first; cell < end; cell++)
        {
            if (state.CellStates[cell] == StateWord.NoData) lost++;
            if (DeviationV(state, cell) is not { } d) continue;
            if (widest is not { } w || Math.Abs(d) > Math.Abs(DeviationV(state, w)!.Value)) widest = cell;
        }

        var where = T($"{m.Id} at {m.SlotInWords}: ");
        if (lost == end - first) return where + T($"none of its {end - first} cells is seen.");
        var text = where + (lost > 0 ? T($"{lost} of {end - first} cells unseen.") : T($"all {end - first} cells seen."));
        if (widest is { } at && DeviationV(state, at) is { } deviation)
            text += T($" Widest: {layout.CellAt(at)}, {Figures.With(Math.Abs(deviation) * 1000, 0, "mV")} {(deviation < 0 ? T("low") : T("high"))}.");
        return text;
    }

    /// <summary>What to do next at this module, with the reason: its most urgent alarm first, then what stands out, then proof. Empty where there is nothing.</summary>
    public static string Next(PackState state, int module)
    {
        if (state.Alarms.FirstOrDefault(a => a.Module == module && a.IsActive) is { } alarm) return $"{AlarmWords.Of(alarm).Do} {AlarmWords.Fact(alarm)}";
        if (state.StandsOut.FirstOrDefault(s => s.Module == module && s.Decides.Length > 0) is { } row)
            return $"{AlarmWords.Sentence(row.Decides)} {row.Place}: {AlarmWords.Sentence(row.Finding)}";
        if (state.StandsOut.FirstOrDefault(s => s.Module == module) is { } standsOut) return T($"compare {standsOut.Place} again at the next rest. {AlarmWords.Sentence(standsOut.Finding)}");
        return state.Alarms.FirstOrDefault(a => a.Module == module && a.State is AlarmState.ReturnedUnacknowledged or AlarmState.LatchedUnacknowledged or AlarmState.LatchedAcknowledged) is { } gone
            ? T($"look at Alarms: one of {gone.Place} is gone and not closed.")
            : Unproven(state, module) is > 0 and var open ? T($"prove {Figures.Count(open, T("channel"), T("channels"))} before a charge: {(open == 1 ? T("it is") : T("they are"))} not known to be the cell named.") : "";
    }

    /// <summary>Cells of the module without a valid proof.</summary>
    private static int Unproven(PackState state, int module) =>
        Enumerable.Range(state.Layout.FirstCell(module), state.Layout.FirstCell(module + 1) - state.Layout.FirstCell(module)).Count(c => !state.Snapshot.Proven[c]);

    /// <summary>Sum of its cells, V; null unless every one is known.</summary>
    public static double? VoltageV(PackState state, int module)
    {
        var sum = 0.0;
        for (var cell = state.Layout.FirstCell(module); cell < state.Layout.FirstCell(module + 1); cell++)
        {
            if (!state.Snapshot.TryGet(cell, out var v)) return null;
            sum += v;
        }

        return sum;
    }

    /// <summary>One row of the table.</summary>
    public static ModuleRow Row(PackState state, int cell)
    {
        var module = state.Layout.ModuleOfCell(cell);
        var map = state.Snapshot.Map;
        var seen = state.CellStates[cell] != StateWord.NoData && double.IsFinite(state.Snapshot.RawCellVoltageV[cell]);
        var ageUs = state.Snapshot.AgeUs[cell];
        return new ModuleRow(
            cell - state.Layout.FirstCell(module) + 1,
            seen ? Figures.Number(state.Snapshot.RawCellVoltageV[cell], 3) : T("no data"),
            DeviationV(state, cell) is { } d ? Figures.Number(d * 1000, 0, signed: true) : "",
            At(state.ChargeDifferenceAh, cell) is { } ah ? Figures.Number(ah, 2, signed: true) : NotYet,
            At(state.ResistanceMilliohm, cell) is { } r ? Figures.Number(r, 2) : NotYet,
            ageUs == long.MaxValue ? T("never") : Figures.Age(ageUs / 1e6),
            state.Snapshot.TryGet(map.FirstBleed + cell, out var on) ? on > 0.5 ? T("on") : T("off") : T("not known"),
            state.CellStates[cell]);
    }

    /// <summary>One line a sensor.</summary>
    public static IReadOnlyList<string> Temperatures(PackState state, int module)
    {
        var lines = new List<string>();
        for (var t = state.Layout.FirstTemperature(module); t < state.Layout.FirstTemperature(module + 1); t++)
        {
            var channel = state.Snapshot.Map.FirstTemperature + t;
            var quality = state.Snapshot.Quality[channel];
            lines.Add(T($"Sensor {state.Layout.SensorNumber(t)}: ") + (quality switch
            {
                Quality.Good => Figures.Temperature(state.Snapshot.RawValues[channel]) + (state.Snapshot.Proven[channel] ? "" : T(", not proven")),
                Quality.Missing => T("nothing has come yet"),
                Quality.Stale => T($"no data for {Figures.Duration(state.Snapshot.AgeUs[channel] / 1e6)}"),
                Quality.Open => T("open or shorted"),
                Quality.OutOfRange => T("outside what a sensor can read"),
                Quality.Stuck => T($"stuck at {Figures.Temperature(state.Snapshot.RawValues[channel])}"),
                _ => T($"doubtful, {Figures.Temperature(state.Snapshot.RawValues[channel])}"),
            }));
        }

        if (lines.Count == 0) lines.Add(T("This module carries no sensor."));
        return lines;
    }

    /// <summary>Which instrument measures it.</summary>
    public static string Instrument(PackState state, int module)
    {
        var first = state.Layout.FirstCell(module);
        var front = state.FrontEnds.FirstOrDefault(f => !f.Channels.IsDefaultOrEmpty && f.Channels.Contains(first));
        return front is null ? T("No instrument claims its channels.") : T($"Measured by instrument {front.Name} ({InstrumentWords.Wire(front)}{(front.Identity.Length > 0 ? $", {front.Identity}" : "")}).");
    }

    /// <summary>Whether its channels are proven.</summary>
    public static string Proof(PackState state, int module)
    {
        var (first, end) = (state.Layout.FirstCell(module), state.Layout.FirstCell(module + 1));
        var proven = end - first - Unproven(state, module);
        return proven == end - first
            ? T("All channels proven to be the cells they are named after.")
            : T($"{proven} of {end - first} channels proven. Until all are, no charge can be called supervised.");
    }

    private static double? DeviationV(PackState state, int cell) =>
        state.CellStates[cell] != StateWord.NoData && state.Summary.MedianV is { } median && double.IsFinite(state.Snapshot.RawCellVoltageV[cell])
            ? state.Snapshot.RawCellVoltageV[cell] - median
            : null;

    private static double? At(System.Collections.Immutable.ImmutableArray<double> values, int cell) =>
        cell < values.Length && double.IsFinite(values[cell]) ? values[cell] : null;
}
