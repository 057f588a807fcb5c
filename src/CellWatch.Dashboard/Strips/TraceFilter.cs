using System.Collections.Immutable;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Strips;

/// <summary>Which cells the carpet, its table and its file show. Lines are picked by name and are not filtered.</summary>
/// <param name="Module">A module's identity; empty for all.</param>
/// <param name="State">What was the matter with a cell in the range; empty for all.</param>
public readonly record struct TraceFilter(string Module, string State)
{
    /// <summary>Only cells of which a scan was not believed or had no value.</summary>
    public const string Doubtful = "doubtful";

    /// <summary>The states there are, with their words.</summary>
    public static readonly ImmutableArray<(string Key, string Words)> States =
        [("", T("every state")), (Doubtful, T("only doubtful")), ("caution", T("CAUTION or worse")), ("act-now", T("ACT NOW")), ("no-data", T("NO DATA"))];

    /// <summary>Whether every cell is shown.</summary>
    public bool IsOff => Module.Length == 0 && State.Length == 0;

    /// <summary>Reads a filter from an address; what is not known is left out and said.</summary>
    public static TraceFilter Read(string? module, string? state, ChannelMap map, ICollection<string> faults)
    {
        var known = map.Layout.Modules.FirstOrDefault(m => string.Equals(m.Id.Text, module, StringComparison.OrdinalIgnoreCase));
        if (!string.IsNullOrEmpty(module) && known is null) faults.Add(T($"There is no module '{module}'{Core.Wording.NearestName.Suggestion(module, [.. map.Layout.Modules.Select(m => m.Id.Text)])}; all are shown."));
        var isState = States.Any(s => s.Key == state);
        if (!string.IsNullOrEmpty(state) && !isState) faults.Add(T($"There is no state '{state}'{Core.Wording.NearestName.Suggestion(state, [.. States.Select(s => s.Key).Where(k => k.Length > 0)])}; every state is shown."));
        return new TraceFilter(known?.Id.Text ?? "", isState ? state ?? "" : "");
    }

    /// <summary>The cells it lets through, in string order.</summary>
    public ImmutableArray<int> Cells(TraceReading reading)
    {
        var filter = this;
        var inState = State == Doubtful ? NotAllBelieved(reading.Crowd) : Enumerable.Range(0, reading.Map.CellCount).Where(c => filter.IsInState(reading, c));
        return [.. inState.Where(c => filter.IsInModule(reading.Map, c))];
    }

    /// <summary>Cells of which at least one scan in the range was not believed or had no value.</summary>
    public static IEnumerable<int> NotAllBelieved(Crowd crowd) =>
        Enumerable.Range(0, crowd.Cells.Channels.Length).Where(c => Enumerable.Range(0, crowd.Columns.Count).Any(i => !Carpet.IsAllBelieved(crowd, c, i)));

    private bool IsInModule(ChannelMap map, int cell) => Module.Length == 0 || map.Layout.Modules[map.Layout.ModuleOfCell(cell)].Id.Text == Module;

    private bool IsInState(TraceReading reading, int cell) => State switch
    {
        "" => true,
        "no-data" => HasAlarm(reading, cell, s => s == StateWord.NoData),
        "act-now" => HasAlarm(reading, cell, s => s == StateWord.ActNow),
        _ => HasAlarm(reading, cell, s => s >= StateWord.Caution),
    };

    private static bool HasAlarm(TraceReading reading, int cell, Func<StateWord, bool> wanted) =>
        reading.Alarms.Any(a => wanted(Words.StateOf(a.Alarm)) && (a.Alarm.Cell == cell || (a.Alarm.Cell is null && a.Alarm.Module == reading.Map.Layout.ModuleOfCell(cell))));
}
