using CellWatch.Core.Snapshots;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>A row to insert beside the snapshots, and who waits for its number.</summary>
internal sealed record PendingRecord(Func<SqliteConnection, long> Insert, TaskCompletionSource<long>? Answer);

/// <summary>
/// What waits to be written. Putting never waits for the disk: it takes a short lock and stores a reference. When snapshots of more than the
/// allowed length wait, the oldest is given up and counted. Records are few and never given up. How long one waits is
/// counted from its arrival here, so that a simulated clock that runs fast gives nothing up.
/// </summary>
/// <param name="mostS">Longest wait, s.</param>
/// <param name="mostSnapshots">Most that wait, whatever their age: a bound on memory.</param>
/// <param name="time">Counts the wait.</param>
internal sealed class PendingQueue(double mostS, int mostSnapshots, TimeProvider time)
{
    private readonly Lock _lock = new();
    private readonly long _mostTicks = (long)(mostS * time.TimestampFrequency);
    private readonly List<PendingRecord> _records = [];
    private Snapshot[] _ring = new Snapshot[1024];
    private long[] _arrived = new long[1024];
    private int _first;
    private int _count;
    private (SnapshotTime First, SnapshotTime Last, int Count)? _givenUp;

    /// <summary>Snapshots waiting.</summary>
    public int Count
    {
        get
        {
            lock (_lock) return _count;
        }
    }

    /// <summary>Time of the oldest snapshot waiting or, before it, given up; null where all are written.</summary>
    public SnapshotTime? Oldest
    {
        get
        {
            lock (_lock) return _givenUp?.First ?? (_count > 0 ? _ring[_first].Time : null);
        }
    }

    public bool IsEmpty
    {
        get
        {
            lock (_lock) return _count == 0 && _records.Count == 0;
        }
    }

    /// <summary>Whether a record waits: those are written at once.</summary>
    public bool HasRecords
    {
        get
        {
            lock (_lock) return _records.Count > 0;
        }
    }

    public void Put(Snapshot snapshot)
    {
        lock (_lock)
        {
            var now = time.GetTimestamp();
            while (_count > 0 && (_count >= mostSnapshots || now - _arrived[_first] > _mostTicks)) GiveUpOldest();
            if (_count == _ring.Length) Grow();
            var at = (_first + _count++) % _ring.Length;
            (_ring[at], _arrived[at]) = (snapshot, now);
        }
    }

    public void Put(PendingRecord record)
    {
        lock (_lock) _records.Add(record);
    }

    /// <summary>Copies what waits, without removing it.</summary>
    /// <returns>Snapshots, records, and the stretch given up since the last commit.</returns>
    public (Snapshot[] Snapshots, PendingRecord[] Records, (SnapshotTime First, SnapshotTime Last, int Count)? GivenUp) Peek()
    {
        lock (_lock)
        {
            var snapshots = new Snapshot[_count];
            for (var i = 0; i < _count; i++) snapshots[i] = _ring[(_first + i) % _ring.Length];
            return (snapshots, [.. _records], _givenUp);
        }
    }

    /// <summary>Removes what was written. Snapshots given up in the meantime were written all the same and no longer count as lost.</summary>
    public void Remove(Snapshot[] snapshots, int records)
    {
        lock (_lock)
        {
            _records.RemoveRange(0, records);
            var last = snapshots.Length > 0 ? snapshots[^1] : null;
            var written = Array.IndexOf(snapshots, _count > 0 ? _ring[_first] : null);
            if (last is not null && written >= 0)
            {
                for (var i = snapshots.Length - written; i > 0; i--) RemoveOldest();
            }

            _givenUp = null;
        }
    }

    /// <summary>Removes the oldest snapshots up to an elapsed time: they turned out to be on disk.</summary>
    public void Drop(long upToElapsedUs)
    {
        lock (_lock)
        {
            while (_count > 0 && _ring[_first].Time.ElapsedUs <= upToElapsedUs) RemoveOldest();
        }
    }

    private void GiveUpOldest()
    {
        var givenUp = _ring[_first].Time;
        _givenUp = _givenUp is { } g ? (g.First, givenUp, g.Count + 1) : (givenUp, givenUp, 1);
        RemoveOldest();
    }

    private void RemoveOldest()
    {
        _ring[_first] = null!;
        _first = (_first + 1) % _ring.Length;
        _count--;
    }

    private void Grow()
    {
        var larger = new Snapshot[2 * _ring.Length];
        var arrived = new long[larger.Length];
        for (var i = 0; i < _count; i++)
        {
            var from = (_first + i) % _ring.Length;
            (larger[i], arrived[i]) = (_ring[from], _arrived[from]);
        }

        (_ring, _arrived, _first) = (larger, arrived, 0);
    }
}
