using System.Collections.Immutable;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.History;

/// <summary>
/// The one door through which everything reads history: pages, the HTTP door, reports, assessments. Safe for many callers at a time. Everything
/// that was measured up to about a second ago is in it. A damaged part of the store is left out as a gap and reported as an event; it never
/// hides the rest.
/// </summary>
public interface IHistory
{
    /// <summary>Channels over a range, decimated by true minimum and maximum.</summary>
    Task<Traces> ReadTracesAsync(TraceQuery query, CancellationToken cancellation = default);

    /// <summary>Least, mean and greatest of all cells or temperatures over a range.</summary>
    Task<Envelope> ReadEnvelopeAsync(EnvelopeOf channels, TimeRange range, int maxColumns, CancellationToken cancellation = default);

    /// <summary>Every snapshot kept at full rate, in the order recorded. Ages are not kept: they come back as 0 where there is a value.</summary>
    IAsyncEnumerable<Snapshot> ReadSnapshotsAsync(TimeRange range, CancellationToken cancellation = default);

    /// <summary>Steps in alarms' lives, oldest first; at most so many of the newest.</summary>
    Task<ImmutableArray<AlarmRecord>> ReadAlarmsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default);

    /// <summary>Events, oldest first; at most so many of the newest.</summary>
    Task<ImmutableArray<EventRecord>> ReadEventsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default);

    /// <summary>Commands, oldest first; at most so many of the newest.</summary>
    Task<ImmutableArray<CommandRecord>> ReadCommandsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default);

    /// <summary>Runs that touch a range, oldest first.</summary>
    Task<ImmutableArray<RunRecord>> ReadRunsAsync(TimeRange range, CancellationToken cancellation = default);

    /// <summary>Notes, oldest first.</summary>
    Task<ImmutableArray<NoteRecord>> ReadNotesAsync(TimeRange range, CancellationToken cancellation = default);

    /// <summary>Attachments, oldest first, without their content.</summary>
    Task<ImmutableArray<AttachmentRecord>> ReadAttachmentsAsync(TimeRange range, CancellationToken cancellation = default);

    /// <summary>An attachment's content; null where there is none of that number.</summary>
    /// <exception cref="InvalidDataException">It does not read back as it was written.</exception>
    Task<byte[]?> ReadAttachmentAsync(long id, CancellationToken cancellation = default);

    /// <summary>Stretches kept at full rate whatever their age.</summary>
    Task<ImmutableArray<FrozenWindow>> ReadFrozenAsync(CancellationToken cancellation = default);

    /// <summary>Channels that were ever recorded.</summary>
    Task<ChannelList> ReadChannelsAsync(CancellationToken cancellation = default);

    /// <summary>How much is kept and for how long there is room.</summary>
    Task<StorageView> ReadStorageAsync(CancellationToken cancellation = default);
}
