using CellWatch.Core.Commands;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Queries;
using CellWatch.Log.Store;

namespace CellWatch.Log;

/// <summary>
/// The cell log of a site: keeps every snapshot within a second of its being taken, in one SQLite file, and gives it back.
/// One writer a file; reading is open to any number of callers. A disk that cannot be written never stops supervision: what is measured waits
/// up to ten minutes in memory, <see cref="Recording"/> says NOT RECORDING, and writing is tried again with a growing pause.
/// </summary>
public sealed partial class CellLog : IRecorder, IHistory, IAsyncDisposable
{
    private readonly CellLogOptions _options;
    private readonly WriterLock? _lock;
    private readonly LogHistory _history;
    private readonly LogWriter _writer;
    private readonly HashSet<(string Table, long FirstUs)> _damage = [];
    private bool _isDisposed;

    private CellLog(string path, CellLogOptions options, TimeProvider time, WriterLock? writerLock)
    {
        _options = options;
        _lock = writerLock;
        _history = new LogHistory(path, options);
        _history.Reader.DamageFound = NoteDamage;
        _writer = new LogWriter(path, options, time, _history.Reader.Forget);
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
    public RecordingView Recording => _writer.Recording;

    /// <inheritdoc/>
    public void Offer(PackState state)
    {
        _writer.Take(state.Snapshot);
        foreach (var transition in state.Transitions) RecordAlarm(transition);
    }

    /// <inheritdoc/>
    public void RecordAlarm(AlarmTransition transition) => _writer.Take(c =>
    {
        if (transition is { To: AlarmState.Unacknowledged, From: AlarmState.Normal }) Records.FreezeAround(c, transition, _options.FreezeAroundAlarmsS);
        return Records.AddAlarm(c, transition);
    });

    /// <summary>Takes a snapshot alone; returns at once.</summary>
    public void Append(Snapshot snapshot) => _writer.Take(snapshot);

    /// <summary>
    /// Takes many snapshots as fast as the disk does, and returns when all are written: for an import, or for history that is simulated ahead.
    /// Unlike <see cref="Append"/> it waits where the queue is long, so nothing is given up.
    /// </summary>
    /// <returns>How many.</returns>
    public async Task<long> AppendAllAsync(IEnumerable<Snapshot> snapshots, CancellationToken cancellation = default)
    {
        long count = 0;
        foreach (var snapshot in snapshots)
        {
            await AppendWhenThereIsRoomAsync(snapshot, cancellation);
            count++;
        }

        await _writer.FlushAsync().WaitAsync(cancellation);
        return count;
    }

    /// <inheritdoc cref="AppendAllAsync(IEnumerable{Snapshot}, CancellationToken)"/>
    public async Task<long> AppendAllAsync(IAsyncEnumerable<Snapshot> snapshots, CancellationToken cancellation = default)
    {
        long count = 0;
        await foreach (var snapshot in snapshots.WithCancellation(cancellation))
        {
            await AppendWhenThereIsRoomAsync(snapshot, cancellation);
            count++;
        }

        await _writer.FlushAsync().WaitAsync(cancellation);
        return count;
    }

    /// <inheritdoc/>
    public void RecordCommand(PackCommand command, CommandAnswer answer, SnapshotTime time) =>
        _writer.Take(c => Records.AddCommand(c, command, answer, time.WallUnixMs));

    /// <inheritdoc/>
    public void RecordEvent(string kind, string text, SnapshotTime time, string by = "", double? lengthS = null) =>
        _writer.Take(c => Records.AddEvent(c, kind, text, time.WallUnixMs, by, lengthS));

    /// <inheritdoc/>
    public Task<long> OpenRunAsync(RunKind kind, string title, SnapshotTime time, string by, string settings = "") =>
        _writer.TakeAsync(c => Records.OpenRun(c, kind, title, time.WallUnixMs, by, settings));

    /// <inheritdoc/>
    public async Task<bool> CloseRunAsync(long run, SnapshotTime time, string by, string? settings = null) =>
        await _writer.TakeAsync(c => Records.CloseRun(c, run, time.WallUnixMs, by, settings) ? 1 : 0) == 1;

    /// <inheritdoc/>
    public Task<long> AddNoteAsync(string text, SnapshotTime time, string by, long? run = null) =>
        _writer.TakeAsync(c => Records.AddNote(c, text, time.WallUnixMs, by, run));

    /// <inheritdoc/>
    public Task<long> AddAttachmentAsync(string name, string mediaType, ReadOnlyMemory<byte> content, SnapshotTime time, string by, long? run = null)
    {
        var copy = content.ToArray();
        return _writer.TakeAsync(c => Records.AddAttachment(c, name, mediaType, copy, time.WallUnixMs, by, run));
    }

    /// <inheritdoc/>
    public Task FreezeAsync(FrozenWindow window) => _writer.TakeAsync(c =>
    {
        var clock = new ClockTable();
        clock.Refresh(c);
        foreach (var stretch in clock.Find(window.Range)) Records.AddFrozen(c, stretch, window);
        return 0;
    });

    /// <summary>Returns when everything handed over so far is on disk.</summary>
    public Task FlushAsync() => _writer.FlushAsync();

    /// <summary>Writes what waits, seals the file and lets it go.</summary>
    public async ValueTask DisposeAsync()
    {
        if (_isDisposed) return;
        _isDisposed = true;
        await _writer.DisposeAsync();
        _history.Dispose();
        _lock?.Dispose();
    }

    private ValueTask AppendWhenThereIsRoomAsync(Snapshot snapshot, CancellationToken cancellation)
    {
        cancellation.ThrowIfCancellationRequested();
        if (_writer.Waiting >= Math.Min(6000, _options.QueueSnapshots / 2)) return new ValueTask(FlushAndAppendAsync());
        _writer.Take(snapshot);
        return ValueTask.CompletedTask;

        async Task FlushAndAppendAsync()
        {
            await _writer.FlushAsync().WaitAsync(cancellation);
            _writer.Take(snapshot);
        }
    }

    /// <summary>A damaged block is noted once as an event, by whichever reading met it first.</summary>
    private void NoteDamage(string table, long firstUs, string reason)
    {
        lock (_damage)
        {
            if (!_damage.Add((table, firstUs))) return;
        }

        var at = _history.Reader.WallMs(firstUs);
        RecordEvent(EventKinds.Damage, string.Create(System.Globalization.CultureInfo.InvariantCulture, $"A block of {table} that begins {DateTimeOffset.FromUnixTimeMilliseconds(at):yyyy-MM-dd HH:mm:ss}Z does not read: {reason}. It is left out. 'log check' tells the whole."), new SnapshotTime(0, at));
    }
}
