using System.Collections.Immutable;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;

namespace CellWatch.Log;

/// <summary>Reading beside the writer.</summary>
public sealed partial class CellLog
{
    /// <inheritdoc/>
    public Task<Traces> ReadTracesAsync(TraceQuery query, CancellationToken cancellation = default) => _history.ReadTracesAsync(query, cancellation);

    /// <inheritdoc/>
    public Task<Envelope> ReadEnvelopeAsync(EnvelopeOf channels, TimeRange range, int maxColumns, CancellationToken cancellation = default) => _history.ReadEnvelopeAsync(channels, range, maxColumns, cancellation);

    /// <inheritdoc/>
    public IAsyncEnumerable<Snapshot> ReadSnapshotsAsync(TimeRange range, CancellationToken cancellation = default) => _history.ReadSnapshotsAsync(range, cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<AlarmRecord>> ReadAlarmsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default) => _history.ReadAlarmsAsync(range, most, cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<EventRecord>> ReadEventsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default) => _history.ReadEventsAsync(range, most, cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<CommandRecord>> ReadCommandsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default) => _history.ReadCommandsAsync(range, most, cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<RunRecord>> ReadRunsAsync(TimeRange range, CancellationToken cancellation = default) => _history.ReadRunsAsync(range, cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<NoteRecord>> ReadNotesAsync(TimeRange range, CancellationToken cancellation = default) => _history.ReadNotesAsync(range, cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<AttachmentRecord>> ReadAttachmentsAsync(TimeRange range, CancellationToken cancellation = default) => _history.ReadAttachmentsAsync(range, cancellation);

    /// <inheritdoc/>
    public Task<byte[]?> ReadAttachmentAsync(long id, CancellationToken cancellation = default) => _history.ReadAttachmentAsync(id, cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<FrozenWindow>> ReadFrozenAsync(CancellationToken cancellation = default) => _history.ReadFrozenAsync(cancellation);

    /// <inheritdoc/>
    public Task<ChannelList> ReadChannelsAsync(CancellationToken cancellation = default) => _history.ReadChannelsAsync(cancellation);

    /// <inheritdoc/>
    public Task<StorageView> ReadStorageAsync(CancellationToken cancellation = default) => _history.ReadStorageAsync(cancellation);
}
