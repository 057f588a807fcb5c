using System.Collections.Immutable;
using CellWatch.Core.History;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Dashboard.Tests.Live;

/// <summary>A log that holds three columns of ten seconds and some alarm steps; everything else is not asked by the short memory.</summary>
internal sealed class RecalledHistory(long fromUnixMs, double[] max, double[] min, double[] currentA, ImmutableArray<AlarmTransition> steps) : IHistory
{
    private readonly TimeColumns _columns = new()
    {
        StartUnixMs = [.. max.Select((_, i) => fromUnixMs + i * 10_000L)],
        ColumnMs = 0,
        BreakBefore = new bool[max.Length],
        Snapshots = [.. max.Select(_ => 1)],
    };

    public List<string> Asked { get; } = [];

    public Task<Envelope> ReadEnvelopeAsync(EnvelopeOf channels, TimeRange range, int maxColumns, CancellationToken cancellation = default) =>
        Task.FromResult(new Envelope(_columns, min, min, max, new double[max.Length]));

    public Task<Traces> ReadTracesAsync(TraceQuery query, CancellationToken cancellation = default)
    {
        Asked.AddRange(query.Channels);
        return Task.FromResult(new Traces(_columns, [new Trace { Channel = query.Channels[0], Unit = "A", Min = currentA, Max = currentA, Mean = currentA, Good = [1, 1, 1] }]));
    }

    public Task<ImmutableArray<AlarmRecord>> ReadAlarmsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default) =>
        Task.FromResult(steps.Select((t, i) => new AlarmRecord(i, t)).ToImmutableArray());

    public IAsyncEnumerable<Snapshot> ReadSnapshotsAsync(TimeRange range, CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<ImmutableArray<EventRecord>> ReadEventsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<ImmutableArray<CommandRecord>> ReadCommandsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<ImmutableArray<RunRecord>> ReadRunsAsync(TimeRange range, CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<ImmutableArray<NoteRecord>> ReadNotesAsync(TimeRange range, CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<ImmutableArray<AttachmentRecord>> ReadAttachmentsAsync(TimeRange range, CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<byte[]?> ReadAttachmentAsync(long id, CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<ImmutableArray<FrozenWindow>> ReadFrozenAsync(CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<ChannelList> ReadChannelsAsync(CancellationToken cancellation = default) => throw new NotSupportedException();

    public Task<StorageView> ReadStorageAsync(CancellationToken cancellation = default) => throw new NotSupportedException();
}
