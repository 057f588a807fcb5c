using System.Collections.Immutable;
using CellWatch.Core.History;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Dashboard.Tests.Strips;

/// <summary>A log made of one formula: a value for each channel at each of its instants, which may have holes.</summary>
internal sealed class MadeHistory(ChannelMap map, long[] atMs, Func<string, int, double> value) : IHistory
{
    public const long StepMs = 1000;

    public List<TraceQuery> Asked { get; } = [];

    public ImmutableArray<EventRecord> Events { get; init; } = [];

    public ImmutableArray<RunRecord> Runs { get; init; } = [];

    public ImmutableArray<NoteRecord> Notes { get; init; } = [];

    public ImmutableArray<AlarmTransition> Alarms { get; init; } = [];

    public double ColumnMs { get; init; }

    public long JoinWithinMs { get; init; } = StepMs;

    public Task<Traces> ReadTracesAsync(TraceQuery query, CancellationToken cancellation = default)
    {
        Asked.Add(query);
        var (columns, kept) = Columns(query.Range);
        return Task.FromResult(new Traces(columns, [.. query.Channels.Select(name => Trace(name, kept))]));
    }

    public Task<Envelope> ReadEnvelopeAsync(EnvelopeOf channels, TimeRange range, int maxColumns, CancellationToken cancellation = default)
    {
        var (columns, kept) = Columns(range);
        var (first, count) = channels == EnvelopeOf.Cells ? (0, map.CellCount) : (map.FirstTemperature, map.TemperatureCount);
        var names = Enumerable.Range(first, count).Select(map.NameOf).ToList();
        double[] Of(Func<IEnumerable<double>, double> pick) => [.. kept.Select(i => pick(names.Select(n => value(n, i)).Where(double.IsFinite).DefaultIfEmpty(double.NaN)))];
        return Task.FromResult(new Envelope(columns, Of(v => v.Min()), Of(v => v.Average()), Of(v => v.Max()), [.. kept.Select(i => (double)names.Count(n => double.IsFinite(value(n, i))))]));
    }

    public Task<ImmutableArray<AlarmRecord>> ReadAlarmsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default) =>
        Task.FromResult(Alarms.Select((t, i) => new AlarmRecord(i, t)).ToImmutableArray());

    public Task<ImmutableArray<EventRecord>> ReadEventsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default) => Task.FromResult(Events);

    public Task<StorageView> ReadStorageAsync(CancellationToken cancellation = default) =>
        Task.FromResult(new StorageView { Recorded = atMs.Length == 0 ? null : new TimeRange(atMs[0], atMs[^1] + 1) });

    public Task<ImmutableArray<RunRecord>> ReadRunsAsync(TimeRange range, CancellationToken cancellation = default) => Task.FromResult(Runs);

    public Task<ImmutableArray<CommandRecord>> ReadCommandsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default) => throw new NotSupportedException();

    public IAsyncEnumerable<Snapshot> ReadSnapshotsAsync(TimeRange range, CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<ImmutableArray<NoteRecord>> ReadNotesAsync(TimeRange range, CancellationToken cancellation = default) => Task.FromResult(Notes);

    public Task<ImmutableArray<AttachmentRecord>> ReadAttachmentsAsync(TimeRange range, CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<byte[]?> ReadAttachmentAsync(long id, CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<ImmutableArray<FrozenWindow>> ReadFrozenAsync(CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<ChannelList> ReadChannelsAsync(CancellationToken cancellation = default) => throw new NotSupportedException();

    private (TimeColumns Columns, int[] Kept) Columns(TimeRange range)
    {
        int[] kept = [.. Enumerable.Range(0, atMs.Length).Where(i => atMs[i] >= range.FromUnixMs && atMs[i] < range.ToUnixMs)];
        return (new TimeColumns
        {
            StartUnixMs = [.. kept.Select(i => atMs[i])],
            ColumnMs = ColumnMs,
            BreakBefore = [.. kept.Select((i, k) => k > 0 && atMs[i] - atMs[kept[k - 1]] > JoinWithinMs)],
            Snapshots = [.. kept.Select(_ => 1)],
        }, kept);
    }

    private Trace Trace(string name, int[] kept)
    {
        double[] values = [.. kept.Select(i => value(name, i))];
        var channel = Enumerable.Range(0, map.Count).Cast<int?>().FirstOrDefault(c => map.NameOf(c!.Value) == name);
        return new Trace
        {
            Channel = name,
            Unit = channel is { } c ? map.UnitOf(c) : "",
            Min = values,
            Max = values,
            Mean = values,
            Good = [.. values.Select(v => double.IsFinite(v) ? 1 : 0)],
            Quality = ColumnMs == 0 ? [.. values.Select(v => double.IsFinite(v) ? Quality.Good : Quality.Missing)] : null,
            Raw = ColumnMs == 0 ? values : null,
        };
    }
}
