using System.Collections.Immutable;
using System.Runtime.CompilerServices;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Queries;
using CellWatch.Log.Store;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log;

/// <summary>
/// Reads a site's log: for pages, reports, exports. Any number of callers at a time; a service may be writing the file meanwhile. A block that
/// does not read is left out of the answer.
/// </summary>
public sealed class LogHistory : IHistory, IDisposable
{
    private readonly string _path;
    private readonly CellLogOptions _options;

    internal LogHistory(string path, CellLogOptions options, string? connection = null)
    {
        (_path, _options) = (path, options);
        Reader = new HistoryReader(connection ?? ReadOnlyFile.ConnectionTo(path));
    }

    /// <summary>Opens a log that is there.</summary>
    /// <exception cref="FileNotFoundException">There is no such file.</exception>
    /// <exception cref="InvalidDataException">It is not a cell log, of a later version, or damaged beyond opening; the message says what to do.</exception>
    public static LogHistory Open(string path) => new(path, new CellLogOptions(), ReadOnlyFile.Verified(path));

    internal HistoryReader Reader { get; }

    /// <inheritdoc/>
    public Task<Traces> ReadTracesAsync(TraceQuery query, CancellationToken cancellation = default) =>
        Task.Run(() => Reader.Traces(query, cancellation), cancellation);

    /// <inheritdoc/>
    public Task<Envelope> ReadEnvelopeAsync(EnvelopeOf channels, TimeRange range, int maxColumns, CancellationToken cancellation = default) =>
        Task.Run(() => Reader.Envelope(channels, range, maxColumns, cancellation), cancellation);

    /// <inheritdoc/>
    public async IAsyncEnumerable<Snapshot> ReadSnapshotsAsync(TimeRange range, [EnumeratorCancellation] CancellationToken cancellation = default)
    {
        await Task.Yield();
        foreach (var snapshot in Reader.Snapshots(range))
        {
            cancellation.ThrowIfCancellationRequested();
            yield return snapshot;
        }
    }

    /// <inheritdoc/>
    public Task<ImmutableArray<AlarmRecord>> ReadAlarmsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default) =>
        ReadAsync(c => Records.Alarms(c, range, most), cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<EventRecord>> ReadEventsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default) =>
        ReadAsync(c => Records.Events(c, range, most), cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<CommandRecord>> ReadCommandsAsync(TimeRange range, int most = 10_000, CancellationToken cancellation = default) =>
        ReadAsync(c => Records.Commands(c, range, most), cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<RunRecord>> ReadRunsAsync(TimeRange range, CancellationToken cancellation = default) =>
        ReadAsync(c => Records.Runs(c, range), cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<NoteRecord>> ReadNotesAsync(TimeRange range, CancellationToken cancellation = default) =>
        ReadAsync(c => Records.Notes(c, range), cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<AttachmentRecord>> ReadAttachmentsAsync(TimeRange range, CancellationToken cancellation = default) =>
        ReadAsync(c => Records.Attachments(c, range), cancellation);

    /// <inheritdoc/>
    public Task<byte[]?> ReadAttachmentAsync(long id, CancellationToken cancellation = default) =>
        ReadAsync(c => Records.Attachment(c, id), cancellation);

    /// <inheritdoc/>
    public Task<ImmutableArray<FrozenWindow>> ReadFrozenAsync(CancellationToken cancellation = default) =>
        ReadAsync(Records.Frozen, cancellation);

    /// <inheritdoc/>
    public Task<ChannelList> ReadChannelsAsync(CancellationToken cancellation = default) => Task.Run(Reader.Channels, cancellation);

    /// <inheritdoc/>
    public Task<StorageView> ReadStorageAsync(CancellationToken cancellation = default) =>
        ReadAsync(
            c =>
            {
                var (rule, space) = (_options.Retention, Space.Of(c, _path, _options));
                return new StorageView
                {
                    Recorded = Reader.Recorded(c),
                    FullRateFromUnixMs = space.OldestUs is { } oldest ? Reader.WallMs(oldest) : null,
                    FileBytes = space.FileBytes,
                    FreeBytes = space.DiskBytes,
                    BytesPerDay = space.FullRatePerDay == 0 ? null : space.FullRatePerDay + space.RollUpsPerDay,
                    DaysLeft = space.DaysLeft(rule),
                    DaysToThinning = space.DaysToThinning(rule),
                    Rule = rule.InWords,
                };
            },
            cancellation);

    /// <inheritdoc/>
    public void Dispose()
    {
        using var connection = new SqliteConnection(Reader.ConnectionString);
        SqliteConnection.ClearPool(connection);
    }

    private Task<T> ReadAsync<T>(Func<SqliteConnection, T> read, CancellationToken cancellation) => Task.Run(
        () =>
        {
            using var connection = Reader.Open();
            return read(connection);
        },
        cancellation);
}
