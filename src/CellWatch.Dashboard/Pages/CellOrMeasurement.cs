using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Pages;

/// <summary>
/// Whether an alarm tells of the cell or of its measurement, in words, or what would decide. A bad sense lead lies between two cells and moves
/// them opposite ways by about as much; two sensors of a module that agree are believed. Both are common practice, no source. Until it is decided
/// the cell is meant: unknown counts as unsafe.
/// </summary>
public static class CellOrMeasurement
{
    private const double NearMedianV = 0.010;
    private const double SensorsAgreeK = 3;

    /// <summary>One or two sentences; never empty.</summary>
    public static string Of(PackState state, AlarmView alarm) => alarm.Group switch
    {
        "no-data" => T("the measurement. What is not read counts as unsafe until it is read again."),
        "measurement" => T("the measurement: the program's own checks contradict it. A hand meter decides; until then the cells behind it are not known."),
        "noise" => T("the measurement: noise that came with the charger."),
        "presence" => T("neither: nobody has confirmed that a person is there."),
        "links" => T("neither: a joint between cells or modules, or the pack's meter. A torque check decides."),
        "fire" => T("take it for the cells. Leave first; nobody goes back to look at a sensor."),
        "heat" or "cold" => OfTemperature(state, alarm),
        _ when alarm.Word == "NO DATA" => T("the measurement. What is not read counts as unsafe until it is read again."),
        _ when alarm.Cell is { } cell => OfCell(state, alarm, cell),
        _ => T("not known: decide by a hand meter at the place named. Until then take it for the cell."),
    };

    private static string OfCell(PackState state, AlarmView alarm, int cell)
    {
        if (!alarm.IsActive) return T("not known now that it is gone: Traces around it shows whether its neighbours moved the other way.");
        if (state.Summary.MedianV is not { } median || Deviation(state, cell, median) is not { } v) return T("not known: the reading is not believed. Decide by a hand meter at its taps; until then take it for the cell.");
        if (Math.Abs(v) <= NearMedianV) return T($"the cells: {Name(state, cell)} is within {Figures.With(NearMedianV * 1000, 0, "mV")} of the pack's median, so the others say the same.");
        var known = 0;
        foreach (var neighbour in new[] { cell - 1, cell + 1 })
        {
            if (neighbour < 0 || neighbour >= state.Layout.CellCount || state.Layout.ModuleOfCell(neighbour) != state.Layout.ModuleOfCell(cell) || Deviation(state, neighbour, median) is not { } other) continue;
            known++;
            if (Math.Sign(other) != Math.Sign(v) && Math.Abs(other) >= Math.Abs(v) / 2)
                return T($"perhaps the measurement: {Name(state, neighbour)} is off the other way by {Figures.With(Math.Abs(other) * 1000, 0, "mV")}, as a bad sense lead between them makes it. Decide by a hand meter at both; until then take it for the cell.");
        }

        return known == 0
            ? T("not known: no neighbour is read. Decide by a hand meter at its taps; until then take it for the cell.")
            : T("the cell, most likely: no neighbour is off the other way, as a bad sense lead would make it. A hand meter at its taps decides.");
    }

    private static string OfTemperature(PackState state, AlarmView alarm)
    {
        if (alarm.IsActive && alarm.Module is { } module)
        {
            var known = new List<double>();
            for (var sensor = state.Layout.FirstTemperature(module); sensor < state.Layout.FirstTemperature(module + 1); sensor++)
                if (state.Snapshot.TryGet(state.Snapshot.Map.FirstTemperature + sensor, out var degC)) known.Add(degC);
            if (known.Count > 1 && known.Max() - known.Min() is var apart)
            {
                return apart <= SensorsAgreeK
                    ? T($"the cells, most likely: the {known.Count} sensors of {state.Layout.Modules[module].Id} agree within {Figures.With(Math.Max(apart, 0.1), 1, "K")}.")
                    : T($"not known: the {known.Count} sensors of {state.Layout.Modules[module].Id} are {Figures.With(apart, 1, "K")} apart. Decide by a thermal camera; until then take it for the cell.");
            }
        }

        return T("not known: decide by a second sensor or a thermal camera, from a distance. Until then take it for the cell.");
    }

    private static string Name(PackState state, int cell) => state.Snapshot.Map.NameOf(cell);

    private static double? Deviation(PackState state, int cell, double medianV) =>
        state.CellStates[cell] is not (StateWord.NoData or StateWord.Doubtful) && state.Snapshot.RawCellVoltageV[cell] is var v && double.IsFinite(v) ? v - medianV : null;
}
