using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Waking;
using CellWatch.Log.Queries;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>
/// The writer's own task, the only place where the file is written: commits what waits once a second, keeps house, and when the file cannot be
/// written says so and tries again with a growing pause, while what is measured waits in memory.
/// </summary>
internal sealed class LogWriter : IAsyncDisposable
{
    private const int DamagedTimesBeforeSetAside = 2;
    private const double LookSoonS = 5;
    private static readonly double[] RetryS = [1, 2, 5, 10, 30];

    private readonly string _path;
    private readonly CellLogOptions _options;
    private readonly TimeProvider _time;
    private readonly Action _forget;
    private readonly PendingQueue _pending;
    private readonly Bell _work = new();
    private readonly CancellationTokenSource _stop = new();
    private readonly Task _writing;
    private readonly List<TaskCompletionSource> _flushes = [];
    private readonly Lock _flushLock = new();
    private readonly ClockTable _clock = new();
    private SiteFile? _file;
    private SiteFile? _failed;
    private volatile RecordingView _recording = new(false, T("not recording yet"), null, null);
    private long _committedAt;
    private long _lookedAt;
    private bool _fullDisk;
    private int _damagedTimes;

    /// <param name="path">The file.</param>
    /// <param name="options">How it is kept.</param>
    /// <param name="time">For pauses, and for the words of <see cref="Recording"/>.</param>
    /// <param name="forget">Called when another file stands in the place of a damaged one.</param>
    public LogWriter(string path, CellLogOptions options, TimeProvider time, Action forget)
    {
        (_path, _options, _time, _forget) = (path, options, time, forget);
        _pending = new PendingQueue(options.QueueS, options.QueueSnapshots, time);
        // Two commits must not be further apart than promised; the tenth left over is for the commit itself.
        _committedAt = _lookedAt = time.GetTimestamp() - (time.TimestampFrequency * 3600);
        _writing = Task.Run(WriteAsync);
    }

    /// <summary>Whether what is measured reaches the file.</summary>
    public RecordingView Recording => _recording;

    /// <summary>Snapshots waiting.</summary>
    public int Waiting => _pending.Count;

    /// <summary>Takes a snapshot; returns at once.</summary>
    public void Take(Snapshot snapshot)
    {
        _pending.Put(snapshot);
        _work.Ring();
    }

    /// <summary>Takes a record; returns at once.</summary>
    public void Take(Func<SqliteConnection, long> insert) => Take(new PendingRecord(insert, null));

    /// <summary>Takes a record and gives its number, once it is on disk.</summary>
    public Task<long> TakeAsync(Func<SqliteConnection, long> insert)
    {
        var answer = new TaskCompletionSource<long>(TaskCreationOptions.RunContinuationsAsynchronously);
        Take(new PendingRecord(insert, answer));
        return answer.Task;
    }

    /// <summary>Returns when everything taken so far is on disk.</summary>
    public Task FlushAsync()
    {
        var done = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        lock (_flushLock) _flushes.Add(done);
        _work.Ring();
        return done.Task;
    }

    /// <summary>Writes what waits, seals the file and lets it go.</summary>
    public async ValueTask DisposeAsync()
    {
        await _stop.CancelAsync();
        await _writing;
        _stop.Dispose();
        _work.Dispose();
    }

    private void Take(PendingRecord record)
    {
        _pending.Put(record);
        _work.Ring();
    }

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
        _forget();
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

        if (!_recording.IsRecording) _recording = new RecordingView(true, T("recording"), null, null);
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
        try
        {
            LookAtRoom();
        }
        catch (SqliteException e) when (e.SqliteErrorCode == FaultWords.Corrupt)
        {
            // What is old does not read; what is new is written, and that is what counts.
            _recording = new RecordingView(true, T("recording; a part of the file does not read, so its room is not known. Run 'log check'."), null, null);
        }
    }

    private void LookAtRoom()
    {
        var (connection, rule) = (_file!.Connection, _options.Retention);
        var space = Space.Of(connection, _path, _options);
        for (var passes = 0; passes < 8 && _file.Thin(space.IsShort(rule), WallMsOf) > 0; passes++) space = Space.Of(connection, _path, _options);
        ReserveFile.Ensure(_path, space.DiskBytes);
        var days = space.DaysLeft(rule);
        _recording = new RecordingView(true, RoomWords.Of(days, rule, _time), null, days);
    }

    private long WallMsOf(long us)
    {
        _clock.Refresh(_file!.Connection);
        return _clock.WallMs(us);
    }

    private static string GapText((SnapshotTime First, SnapshotTime Last, int Count) gap) =>
        $"{gap.Count} snapshots over {Words.Duration(TimeSpan.FromMicroseconds(gap.Last.ElapsedUs - gap.First.ElapsedUs))} were given up: the file could not be written for longer than memory holds.";

    private void Fail(Exception e)
    {
        var since = _recording.SinceUnixMs ?? _pending.Oldest?.WallUnixMs ?? _time.GetUtcNow().ToUnixTimeMilliseconds();
        var clock = TimeZoneInfo.ConvertTime(DateTimeOffset.FromUnixTimeMilliseconds(since), _time.LocalTimeZone);
        _recording = new RecordingView(false, T($"NOT RECORDING from about {clock:HH:mm}: {FaultWords.Of(e, _path)}"), since, 0);
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
