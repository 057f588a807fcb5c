using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Pages;

/// <summary>The module's cells under the limit beside an opened alarm, and what it says in words.</summary>
/// <param name="Data">Figures for the drawing.</param>
/// <param name="Label">The same in words.</param>
public sealed record AlarmDrawing(object Data, string Label)
{
    /// <summary>Null where the alarm is not about a module.</summary>
    public static AlarmDrawing? Of(PackState state, AlarmView alarm) =>
        alarm.Module is { } module ? OfModule(state, module, alarm.Unit == "V" ? alarm.Limit : null, 236, 100) : null;

    /// <summary>A module's cells: against a limit in V where one is given, else from the pack's median.</summary>
    public static AlarmDrawing? OfModule(PackState state, int module, double? limitV, int wide, int tall)
    {
        var layout = state.Layout;
        var id = layout.Modules[module].Id;
        var zeroV = limitV ?? state.Summary.MedianV;
        if (zeroV is not { } zero) return null;
        var cells = new List<object>();
        var said = new List<string>();
        for (var cell = layout.FirstCell(module); cell < layout.FirstCell(module + 1); cell++)
        {
            var known = state.CellStates[cell] != StateWord.NoData && double.IsFinite(state.Snapshot.RawCellVoltageV[cell]);
            var mv = known ? (state.Snapshot.RawCellVoltageV[cell] - zero) * 1000 : double.NaN;
            var number = cell - layout.FirstCell(module) + 1;
            cells.Add(new { name = $".{number}", v = Math.Round(mv, 1), state = (int)state.CellStates[cell] });
            said.Add(known ? $".{number} {Figures.With(mv, 0, "mV", signed: true)}" : T($".{number} no data"));
        }

        var against = limitV is { } limit ? T($"limit {Figures.CellVoltage(limit)}") : T("mV from the median");
        var below = limitV is { } l && state.Summary.MedianV is { } median && l < median;
        return new AlarmDrawing(
            new { title = wide > 300 ? "" : $"{id}, {against}", limit = limitV is null ? (double?)null : 0, limitSide = below ? -1 : 1, wide, tall, cells },
            $"{id}, {against}: {string.Join(", ", said)}.");
    }
}
