using System.Collections.Immutable;
using CellWatch.Core.History;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Live;

namespace CellWatch.Dashboard.Strips;

/// <summary>What the log answers for one view: everything on the page and in its CSV comes from here.</summary>
public sealed record TraceReading
{
    /// <summary>Columns asked for: a drawing is not wider, and each keeps its true least and greatest value.</summary>
    public const int Columns = 1000;

    /// <summary>Columns of the crowd: one value a cell in each.</summary>
    public const int CrowdColumns = 400;

    /// <summary>What was asked.</summary>
    public required TraceAddress Address { get; init; }

    /// <summary>The pack's channels.</summary>
    public required ChannelMap Map { get; init; }

    /// <summary>The picked channels, then the pack's current.</summary>
    public required Core.History.Traces Lines { get; init; }

    /// <summary>Every cell's mean over coarser columns: how the cells lie to each other at one time.</summary>
    public required Crowd Crowd { get; init; }

    /// <summary>Least and greatest of all cells; over a column of some length they need not be of one time.</summary>
    public required Envelope Cells { get; init; }

    /// <summary>All temperatures.</summary>
    public required Envelope Temperatures { get; init; }

    /// <summary>Stretches without a record inside the range, and before and after what there is.</summary>
    public required ImmutableArray<TimeRange> Gaps { get; init; }

    /// <summary>Events of the record and marks of people, oldest first.</summary>
    public required ImmutableArray<EventRecord> Events { get; init; }

    /// <summary>Runs that touch the range, by hand or recognised, oldest first.</summary>
    public required ImmutableArray<RunRecord> Runs { get; init; }

    /// <summary>All runs of the record, oldest first.</summary>
    public required ImmutableArray<RunRecord> AllRuns { get; init; }

    /// <summary>The newest charge and the newest drive of the whole record; null where there is none.</summary>
    public (RunRecord? Charge, RunRecord? Drive) Newest { get; init; }

    /// <summary>Notes of people about the range, oldest first.</summary>
    public required ImmutableArray<NoteRecord> Notes { get; init; }

    /// <summary>Alarms that were raised, oldest first.</summary>
    public required ImmutableArray<AlarmTransition> Alarms { get; init; }

    /// <summary>First and last instant of the whole record; null while it is empty.</summary>
    public TimeRange? Recorded { get; init; }

    /// <summary>Whether anything was recorded in the range.</summary>
    public bool IsEmpty => Lines.Columns.Count == 0;

    /// <summary>Whether every column is one scan.</summary>
    public bool IsRaw => Lines.Columns.ColumnMs == 0;

    /// <summary>Reads a view.</summary>
    /// <param name="history">The log.</param>
    /// <param name="map">The pack's channels.</param>
    /// <param name="address">What to read.</param>
    /// <param name="lateMs">What was measured less long ago may not be in the log yet: at the end of the range it is no gap.</param>
    /// <param name="cancellation">Ends it.</param>
    public static async Task<TraceReading> LoadAsync(IHistory history, ChannelMap map, TraceAddress address, double lateMs, CancellationToken cancellation)
    {
        var range = address.Range;
        // All cells are by far the most to read: they are read beside the rest.
        var everyCell = new TraceQuery([.. Enumerable.Range(0, map.CellCount).Select(map.NameOf)], range, CrowdColumns);
        var reading = Task.Run(() => history.ReadTracesAsync(everyCell, cancellation), cancellation);
        var lines = await history.ReadTracesAsync(new TraceQuery([.. address.Picked, map.NameOf(map.PackCurrent)], range, Columns), cancellation);
        var cells = await history.ReadEnvelopeAsync(EnvelopeOf.Cells, range, Columns, cancellation);
        var temperatures = await history.ReadEnvelopeAsync(EnvelopeOf.Temperatures, range, Columns, cancellation);
        var events = await history.ReadEventsAsync(range, 200, cancellation);
        var alarms = await history.ReadAlarmsAsync(range, 2_000, cancellation);
        var runs = await history.ReadRunsAsync(TimeRange.All, cancellation);
        var notes = await history.ReadNotesAsync(range, cancellation);
        var storage = await history.ReadStorageAsync(cancellation);
        var crowd = await reading;
        return new TraceReading
        {
            Address = address,
            Map = map,
            Lines = lines,
            Crowd = new Crowd(crowd),
            Cells = cells,
            Temperatures = temperatures,
            Gaps = GapsOf(lines.Columns, range, lateMs),
            Events = events,
            Runs = [.. runs.Where(r => r.FromUnixMs < range.ToUnixMs && (r.ToUnixMs ?? long.MaxValue) >= range.FromUnixMs)],
            AllRuns = runs,
            Newest = (runs.LastOrDefault(r => r.Kind == RunKind.Charge), runs.LastOrDefault(r => r.Kind == RunKind.Drive)),
            Notes = notes,
            Alarms = [.. alarms.Select(a => a.Transition).Where(RecentStrip.Raised)],
            Recorded = storage.Recorded,
        };
    }

    private static ImmutableArray<TimeRange> GapsOf(TimeColumns columns, TimeRange range, double lateMs)
    {
        if (columns.Count == 0) return [range];
        var gaps = ImmutableArray.CreateBuilder<TimeRange>();
        var least = Math.Max(columns.ColumnMs, range.LengthMs / 500.0);
        Add(range.FromUnixMs, columns.StartUnixMs[0], least);
        for (var i = 1; i < columns.Count; i++)
            if (columns.BreakBefore[i]) gaps.Add(new TimeRange((long)(columns.StartUnixMs[i - 1] + columns.ColumnMs), columns.StartUnixMs[i]));
        Add((long)(columns.StartUnixMs[^1] + columns.ColumnMs), range.ToUnixMs, Math.Max(least, lateMs));
        return gaps.ToImmutable();

        // Before the first and after the last column less than a step of the drawing is no gap.
        void Add(long from, long to, double longerThanMs)
        {
            if (to - from > longerThanMs) gaps.Add(new TimeRange(from, to));
        }
    }
}
