using System.Collections.Immutable;
using System.Runtime.CompilerServices;
using CellWatch.Core.Commands;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Queries;
using CellWatch.Log.Store;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log;

/// <summary>
/// The cell log of a site: keeps every snapshot within a second of its being taken, in one SQLite file, and gives it back.
/// One writer a file; reading is open to any number of callers. A disk that cannot be written never stops supervision: what is measured waits
/// up to ten minutes in memory, <see cref="Recording"/> says NOT RECORDING, and writing is tried again with a growing pause.
/// </summary>
public sealed class CellLog : IRecorder, IHistory, IAsyncDisposable
{
    private const int DamagedTimesBeforeSetAside = 2;
    private static readonly double[] RetryS = [1, 2, 5, 10, 30];

    private readonly string _path;
    private readonly CellLogOptions _options;
    private readonly TimeProvider _time;
    private readonly WriterLock? _lock;
    private readonly PendingQueue _pending;
    private readonly HistoryReader _reader;
    private readonly SemaphoreSlim _work = new(0, 1);
    private const double LookSoonS = 5;

    private readonly CancellationTokenSource _stop = new();
    private readonly Task _writing;
    private readonly List<TaskCompletionSource> _flushes = [];
    private readonly Lock _flushLock = new();
    private readonly HashSet<(string Table, long FirstUs)> _damage = [];
    private SiteFile? _file;
    private SiteFile? _failed;
    private volatile RecordingView _recording = new(false, "not recording yet", null, null);
    private readonly ClockTable _writerClock = new();
    private long _committedAt;
    private long _lookedAt;
    private bool _fullDisk;
    private int _damagedTimes;
    private bool _stopping;

    private CellLog(string path, CellLogOptions options, TimeProvider time, WriterLock? writerLock)
    {
        _path = path;
        _options = options;
        _time = time;
        _lock = writerLock;
        _pending = new PendingQueue(options.QueueS, options.QueueSnapshots, time);
        _reader = new HistoryReader(new SqliteConnectionStringBuilder { DataSource = path, Mode = SqliteOpenMode.ReadOnly, DefaultTimeout = 5 }.ConnectionString);
        _reader.DamageFound = NoteDamage;
        // Two commits must not be further apart than promised; the tenth left over is for the commit itself.
        _committedAt = _lookedAt = time.GetTimestamp() - (time.TimestampFrequency * 3600);
        _writing = Task.Run(WriteAsync);
    }

    /// <summary>Opens a site's log, or makes it.</summary>
    /// <param name="path">The file.</param>
    /// <param name="options">How it is kept; null for the defaults.</param>
    /// <param name="time">For pauses and for the words of <see cref="Recording"/>; null for the system's.</param>
    /// <exception cref="LogInUseException">Another service writes this file.</exception>
    public static CellLog Open(string path, CellLogOptions? options = null, TimeProvider? time = null)
    {
        options ??= new CellLogOptions();
        time ??= TimeProvider.System;
        WriterLock? writerLock = null;
        try
        {
            if (Path.GetDirectoryName(Path.GetFullPath(path)) is { } folder) Directory.CreateDirectory(folder);
            writerLock = WriterLock.Take(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // A folder that cannot be written is a fault of recording, not of supervision: it is said, and tried again.
        }

        return new CellLog(path, options, time, writerLock);
    }

    /// <inheritdoc/>
    public string Name => "cell log";

    /// <inheritdoc/>
    public RecordingView Recording => _recording;

    /// <inheritdoc/>
    public void Offer(PackState state)
    {
        _pending.Put(state.Snapshot);
        foreach (var transition in state.Transitions) RecordAlarm(transition);
        Wake();
    }

    /// <inheritdoc/>
    public void RecordAlarm(AlarmTransition transition) => Enqueue(new PendingRecord(
        c =>
        {
            if (transition is { To: AlarmState.Unacknowledged, From: AlarmState.Normal }) Records.FreezeAround(c, transition, _options.FreezeAroundAlarmsS);
            return Records.AddAlarm(c, transition);
        },
        null));

    /// <summary>Takes a snapshot alone; returns at once.</summary>
    public void Append(Snapshot snapshot)
    {
        _pending.Put(snapshot);
        Wake();
    }

    /// <summary>
    /// Takes many snapshots as fast as the disk does, and returns when all are written: for an import, or for history that is simulated ahead.
    /// Unlike <see cref="Append"/> it waits where the queue is long, so nothing is given up.
    /// </summary>
    public async Task AppendAllAsync(IEnumerable<Snapshot> snapshots, CancellationToken cancellation = default)
    {
        var most = Math.Min(6000, _options.QueueSnapshots / 2);
        foreach (var snapshot in snapshots)
        {
            cancellation.ThrowIfCancellationRequested();
            if (_pending.Count >= most) await FlushAsync();
            _pending.Put(snapshot);
        }

        await FlushAsync();
    }

    /// <inheritdoc/>
    public void RecordCommand(PackCommand command, CommandAnswer answer, SnapshotTime time) =>
        Enqueue(new PendingRecord(c => Records.AddCommand(c, command, answer, time.WallUnixMs), null));

    /// <inheritdoc/>
    public void RecordEvent(string kind, string text, SnapshotTime time, string by = "", double? lengthS = null) =>
        Enqueue(new PendingRecord(c => Records.AddEvent(c, kind, text, time.WallUnixMs, by, lengthS), null));

    /// <inheritdoc/>
    public Task<long> OpenRunAsync(RunKind kind, string title, SnapshotTime time, string by, string settings = "") =>
        EnqueueAsync(c => Records.OpenRun(c, kind, title, time.WallUnixMs, by, settings));

    /// <inheritdoc/>
    public async Task<bool> CloseRunAsync(long run, SnapshotTime time, string by, string? settings = null) =>
        await EnqueueAsync(c => Records.CloseRun(c, run, time.WallUnixMs, by, settings) ? 1 : 0) == 1;

    /// <inheritdoc/>
    public Task<long> AddNoteAsync(string text, SnapshotTime time, string by, long? run = null) =>
        EnqueueAsync(c => Records.AddNote(c, text, time.WallUnixMs, by, run));

    /// <inheritdoc/>
    public Task<long> AddAttachmentAsync(string name, string mediaType, ReadOnlyMemory<byte> content, SnapshotTime time, string by, long? run = null)
    {
        var copy = content.ToArray();
        return EnqueueAsync(c => Records.AddAttachment(c, name, mediaType, copy, time.WallUnixMs, by, run));
    }

    /// <inheritdoc/>
    public Task FreezeAsync(FrozenWindow window) => EnqueueAsync(c =>
    {
        var clock = new ClockTable();
        clock.Refresh(c);
        foreach (var stretch in clock.Find(window.Range)) Records.AddFrozen(c, stretch, window);
        return 0;
    });

    /// <summary>Returns when everything handed over so far is on disk.</summary>
    public Task FlushAsync()
    {
        var done = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        lock (_flushLock) _flushes.Add(done);
        Wake();
        return done.Task;
    }

    /// <inheritdoc/>
    public Task<Traces> ReadTracesAsync(TraceQuery query, CancellationToken cancellation = default) =>
        Task.Run(() => _reader.Traces(query, cancellation), cancellation);

    /// <inheritdoc/>
    public Task<Envelope> ReadEnvelopeAsync(EnvelopeOf channels, TimeRange range, int maxColumns, CancellationToken cancellation = default) =>
        Task.Run(() => _reader.Envelope(channels, range, maxColumns, cancellation), cancellation);

    /// <inheritdoc/>
    public async IAsyncEnumerable<Snapshot> ReadSnapshotsAsync(TimeRange range, [EnumeratorCancellation] CancellationToken cancellation = default)
    {
        await Task.Yield();
        foreach (var snapshot in _reader.Snapshots(range))
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
    public Task<ChannelList> ReadChannelsAsync(CancellationToken cancellation = default) => Task.Run(_reader.Channels, cancellation);

    /// <inheritdoc/>
    public Task<StorageView> ReadStorageAsync(CancellationToken cancellation = default) =>
        ReadAsync(
            c =>
            {
                var (rule, space) = (_options.Retention, LookAtSpace(c));
                return new StorageView
                {
                    Recorded = _reader.Recorded(c),
                    FullRateFromUnixMs = space.OldestUs is { } oldest ? _reader.WallMs(oldest) : null,
                    FileBytes = space.FileBytes,
                    FreeBytes = space.DiskBytes,
                    BytesPerDay = space.FullRatePerDay == 0 ? null : space.FullRatePerDay + space.RollUpsPerDay,
                    DaysLeft = space.DaysLeft(rule),
                    DaysToThinning = space.DaysToThinning(rule),
                    Rule = rule.InWords,
                };
            },
            cancellation);

    /// <summary>Writes what waits, seals the file and lets it go.</summary>
    public async ValueTask DisposeAsync()
    {
        if (_stopping) return;
        _stopping = true;
        await _stop.CancelAsync();
        await _writing;
        _stop.Dispose();
        _work.Dispose();
        using (var connection = new SqliteConnection(_reader.ConnectionString)) SqliteConnection.ClearPool(connection);
        _lock?.Dispose();
    }

    /// <summary>A damaged block is noted once as an event, by whichever reading met it first.</summary>
    private void NoteDamage(string table, long firstUs, string reason)
    {
        lock (_damage)
        {
            if (!_damage.Add((table, firstUs))) return;
        }

        var at = _reader.WallMs(firstUs);
        RecordEvent(EventKinds.Damage, string.Create(System.Globalization.CultureInfo.InvariantCulture, $"A block of {table} that begins {DateTimeOffset.FromUnixTimeMilliseconds(at):yyyy-MM-dd HH:mm:ss}Z does not read: {reason}. It is left out. 'log check' tells the whole."), new SnapshotTime(0, at));
    }

    private Space LookAtSpace(SqliteConnection connection) => Space.Measure(
        connection,
        new[] { _path, _path + "-wal", ReserveFile.Of(_path) }.Select(p => new FileInfo(p)).Sum(f => f.Exists ? f.Length : 0),
        _options.FreeBytes(Path.GetFullPath(_path)),
        _options.Retention);

    private Task<T> ReadAsync<T>(Func<SqliteConnection, T> read, CancellationToken cancellation) => Task.Run(
        () =>
        {
            using var connection = _reader.Open();
            return read(connection);
        },
        cancellation);

    private void Enqueue(PendingRecord record)
    {
        _pending.Put(record);
        Wake();
    }

    private Task<long> EnqueueAsync(Func<SqliteConnection, long> insert)
    {
        var answer = new TaskCompletionSource<long>(TaskCreationOptions.RunContinuationsAsynchronously);
        Enqueue(new PendingRecord(insert, answer));
        return answer.Task;
    }

    private void Wake()
    {
        try
        {
            _work.Release();
        }
        catch (SemaphoreFullException)
        {
            // Woken already.
        }
        catch (ObjectDisposedException)
        {
            // Closed: what comes now is not kept, and nobody is there to be told.
        }
    }

    /// <summary>The writer's own loop: the only place where the file is written.</summary>
    private async Task WriteAsync()
    {
        var failures = 0;
        while (true)
        {
            try
            {
                EnsureOpen();
                Commit();
                KeepHouse();
                failures = 0;
                if (_stop.IsCancellationRequested) break;
                await WaitForWorkAsync();
            }
            catch (Exception e)
            {
                // A stage border: whatever the fault, supervision goes on, the page says that nothing is kept, and writing is tried again.
                Fail(e);
                if (_stop.IsCancellationRequested) break;
                await PauseAsync(TimeSpan.FromSeconds(RetryS[Math.Min(failures++, RetryS.Length - 1)]));
            }
        }

        CloseFile();
    }

    /// <summary>Opens the file; after a failure takes up where this run stood.</summary>
    private void EnsureOpen()
    {
        if (_file is not null) return;
        if (_damagedTimes >= DamagedTimesBeforeSetAside && Maintenance.FileNames.WasALog(_path)) SetAside();
        _file = SiteFile.Open(_path, _options, _time.GetUtcNow(), _failed);
        if (_failed is not null) _pending.Drop(_file.LastElapsedUs);
        _failed?.Dispose();
        _failed = null;
        // The disk was full: the room held in reserve is there again for thinning, which comes before writing.
        if (_fullDisk) _file.Thin(isShort: true, WallMsOf);
    }

    /// <summary>
    /// A file whose structure is damaged is put aside whole and a new one begun: recording goes on, and repair has the old one untouched.
    /// </summary>
    private void SetAside()
    {
        var aside = Maintenance.FileNames.Aside(_path, _time.GetUtcNow());
        Maintenance.FileNames.Move(_path, aside);
        _failed?.Dispose();
        (_failed, _damagedTimes) = (null, 0);
        var now = _time.GetUtcNow().ToUnixTimeMilliseconds();
        var text = $"The file was damaged and was put aside as {aside}; this one is new. 'log repair' makes what still reads of the old one whole again.";
        _pending.Put(new PendingRecord(c => Records.AddEvent(c, EventKinds.Damage, text, now, "", null), null));
        _reader.Forget();
    }

    private void Commit()
    {
        TaskCompletionSource[] flushes;
        lock (_flushLock)
        {
            flushes = [.. _flushes];
            _flushes.Clear();
        }

        var (snapshots, records, givenUp) = _pending.Peek();
        if (snapshots.Length > 0 || records.Length > 0)
        {
            var inserts = records.Select(r => r.Insert).ToList();
            if (givenUp is { } gap) inserts.Add(c => Records.AddEvent(c, EventKinds.Gap, GapText(gap), gap.First.WallUnixMs, "", (gap.Last.ElapsedUs - gap.First.ElapsedUs) * 1e-6));
            var numbers = _file!.Write(snapshots, inserts.ToArray());
            _pending.Remove(snapshots, records.Length);
            for (var i = 0; i < records.Length; i++) records[i].Answer?.TrySetResult(numbers[i]);
            _committedAt = _time.GetTimestamp();
        }

        if (!_recording.IsRecording) _recording = new RecordingView(true, "recording", null, null);
        _fullDisk = false;
        foreach (var flush in flushes) flush.TrySetResult();
    }

    /// <summary>Now and then: thins by the rule, and foretells when the room will be used up.</summary>
    private void KeepHouse()
    {
        // Before a first block is sealed nothing can be foretold: asked again soon, so that a new log does not stay without an answer.
        var everyS = _recording.DaysLeft is null ? Math.Min(LookSoonS, _options.LookAtRoomEveryS) : _options.LookAtRoomEveryS;
        if (_time.GetElapsedTime(_lookedAt).TotalSeconds < everyS) return;
        _lookedAt = _time.GetTimestamp();
        var (connection, rule) = (_file!.Connection, _options.Retention);
        var space = LookAtSpace(connection);
        for (var passes = 0; passes < 8 && _file.Thin(space.IsShort(rule), WallMsOf) > 0; passes++) space = LookAtSpace(connection);
        ReserveFile.Ensure(_path, space.DiskBytes);
        var days = space.DaysLeft(rule);
        _recording = new RecordingView(true, RoomWords.Of(days, rule, _time), null, days);
    }

    private long WallMsOf(long us)
    {
        _writerClock.Refresh(_file!.Connection);
        return _writerClock.WallMs(us);
    }

    private static string GapText((SnapshotTime First, SnapshotTime Last, int Count) gap) =>
        $"{gap.Count} snapshots over {Words.Duration(TimeSpan.FromMicroseconds(gap.Last.ElapsedUs - gap.First.ElapsedUs))} were given up: the file could not be written for longer than memory holds.";

    private void Fail(Exception e)
    {
        var since = _recording.SinceUnixMs ?? _pending.Oldest?.WallUnixMs ?? _time.GetUtcNow().ToUnixTimeMilliseconds();
        var clock = TimeZoneInfo.ConvertTime(DateTimeOffset.FromUnixTimeMilliseconds(since), _time.LocalTimeZone);
        _recording = new RecordingView(false, string.Create(System.Globalization.CultureInfo.InvariantCulture, $"NOT RECORDING from about {clock:HH:mm}: {FaultWords.Of(e, _path)}"), since, 0);
        if (e is SqliteException { SqliteErrorCode: FaultWords.Full })
        {
            _fullDisk = true;
            ReserveFile.GiveBack(_path);
        }

        _damagedTimes = e is SqliteException { SqliteErrorCode: FaultWords.Corrupt or FaultWords.NotADatabase } ? _damagedTimes + 1 : 0;

        // What the failed transaction left behind is not trusted: the file is opened anew.
        if (_file is null) return;
        _failed = _file;
        _file = null;
        _failed.Connection.Close();
    }

    private async Task WaitForWorkAsync()
    {
        while (!_stop.IsCancellationRequested)
        {
            bool flush;
            lock (_flushLock) flush = _flushes.Count > 0;
            var sinceS = _time.GetElapsedTime(_committedAt).TotalSeconds;
            var waitS = (0.9 * _options.CommitEveryS) - sinceS;
            if (flush || _pending.HasRecords || (waitS <= 0 && !_pending.IsEmpty)) return;
            try
            {
                if (_pending.IsEmpty) await _work.WaitAsync(_stop.Token);
                else await _work.WaitAsync(TimeSpan.FromSeconds(Math.Max(0.01, waitS)), _stop.Token);
            }
            catch (OperationCanceledException)
            {
                return;
            }
        }
    }

    private async Task PauseAsync(TimeSpan pause)
    {
        try
        {
            await Task.Delay(pause, _time, _stop.Token);
        }
        catch (OperationCanceledException)
        {
            // Closing: one last try follows.
        }
    }

    private void CloseFile()
    {
        try
        {
            _file?.Close();
        }
        catch (Exception e) when (e is SqliteException or IOException)
        {
            Fail(e);
        }

        _file?.Dispose();
        _failed?.Dispose();
        (_file, _failed) = (null, null);
        var (_, records, _) = _pending.Peek();
        foreach (var record in records) record.Answer?.TrySetException(new IOException(_recording.Sentence));
        lock (_flushLock)
        {
            foreach (var flush in _flushes) flush.TrySetException(new IOException(_recording.Sentence));
        }
    }
}
