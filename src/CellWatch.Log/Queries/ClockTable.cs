using CellWatch.Core.History;
using CellWatch.Log.Store;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Queries;

/// <summary>A stretch of log time, µs, end not included.</summary>
internal readonly record struct LogRange(long FromUs, long ToUs);

/// <summary>
/// What the wall clock said along log time: from each entry on, wall ms = log ms + offset. Log time never goes back, so one instant of wall
/// time may belong to several stretches of it, or to none.
/// </summary>
internal sealed class ClockTable
{
    private readonly List<(long FromUs, long OffsetMs, bool IsStep)> _entries = [];
    private readonly Lock _lock = new();

    /// <summary>Reads what was added to the file since the last call.</summary>
    public void Refresh(SqliteConnection connection)
    {
        lock (_lock)
        {
            using var command = connection.With("SELECT from_us, offset_ms, step_ms FROM clock WHERE from_us > @after ORDER BY from_us", ("@after", _entries.Count == 0 ? long.MinValue : _entries[^1].FromUs));
            using var reader = command.ExecuteReader();
            while (reader.Read()) _entries.Add((reader.GetInt64(0), reader.GetInt64(1), reader.GetInt64(2) != 0));
        }
    }

    /// <summary>Adds an entry read elsewhere, later than all before.</summary>
    public void Add(long fromUs, long offsetMs, long stepMs)
    {
        lock (_lock) _entries.Add((fromUs, offsetMs, stepMs != 0));
    }

    /// <summary>Stretches of log time whose wall time lies in a range, oldest first; pieces that touch are one.</summary>
    public List<LogRange> Find(TimeRange range)
    {
        lock (_lock)
        {
            var found = new List<LogRange>();
            for (var i = 0; i < _entries.Count; i++)
            {
                var (from, offset, _) = _entries[i];
                var to = i + 1 < _entries.Count ? _entries[i + 1].FromUs : long.MaxValue;
                from = Math.Max(from, ToUs(range.FromUnixMs, offset));
                to = Math.Min(to, ToUs(range.ToUnixMs, offset));
                if (from >= to) continue;
                // Drift moves the edge of a piece by less than a second: that is no hole.
                if (found.Count > 0 && from - found[^1].ToUs < 1_000_000) found[^1] = found[^1] with { ToUs = to };
                else found.Add(new LogRange(from, to));
            }

            return found;
        }
    }

    /// <summary>Wall time of an instant of log time, ms.</summary>
    public long WallMs(long us)
    {
        lock (_lock)
        {
            var i = IndexAt(us);
            return (us / 1000) + (i < 0 ? 0 : _entries[i].OffsetMs);
        }
    }

    /// <summary>Whether the wall clock was set after one instant and up to another.</summary>
    public bool IsSetBetween(long afterUs, long upToUs)
    {
        lock (_lock)
        {
            for (var i = IndexAt(upToUs); i >= 0 && _entries[i].FromUs > afterUs; i--)
                if (_entries[i].IsStep) return true;
            return false;
        }
    }

    private int IndexAt(long us)
    {
        int low = 0, high = _entries.Count;
        while (low < high)
        {
            var middle = (low + high) / 2;
            if (_entries[middle].FromUs <= us) low = middle + 1;
            else high = middle;
        }

        return low - 1;
    }

    private static long ToUs(long wallMs, long offsetMs)
    {
        // The ends of time must not run over.
        const long most = long.MaxValue / 1000;
        return Math.Clamp(wallMs - offsetMs, -most, most) * 1000;
    }
}
