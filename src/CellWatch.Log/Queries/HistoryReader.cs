using System.Collections.Immutable;
using System.Runtime.CompilerServices;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Codec;
using CellWatch.Log.Store;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Queries;

/// <summary>Reads a site's file. Any number of calls at a time, each on a connection of its own.</summary>
internal sealed class HistoryReader(string connectionString)
{
    private volatile ClockTable _clock = new();
    private volatile Layouts _layouts = new();

    /// <summary>Forgets what was kept of the file: another one stands in its place.</summary>
    public void Forget()
    {
        using (var connection = new SqliteConnection(connectionString)) SqliteConnection.ClearPool(connection);
        (_clock, _layouts) = (new ClockTable(), new Layouts());
    }

    public string ConnectionString => connectionString;

    /// <summary>Called with table, log time and reason for each block that does not read; it is left out of the answer.</summary>
    public Action<string, long, string>? DamageFound { get; set; }

    /// <summary>First and last instant with data of any kind; null in an empty log.</summary>
    public TimeRange? Recorded(SqliteConnection connection)
    {
        var all = Clip(connection, _clock.Find(TimeRange.All));
        return all.Count == 0 ? null : new TimeRange(_clock.WallMs(all[0].FromUs), _clock.WallMs(all[^1].ToUs));
    }

    /// <summary>Wall time of an instant of log time, ms.</summary>
    public long WallMs(long us) => _clock.WallMs(us);

    /// <summary>Channels of all layouts, the newest first.</summary>
    public ChannelList Channels()
    {
        using var connection = Open();
        var units = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (var map in _layouts.All.Reverse().Select(l => l.Map))
            for (var c = 0; c < map.Count; c++) units.TryAdd(map.NameOf(c), map.UnitOf(c));
        return new ChannelList([.. units.Keys], [.. units.Values]);
    }

    /// <summary>Channels over a range.</summary>
    public Traces Traces(TraceQuery query, CancellationToken cancellation)
    {
        using var connection = Open();
        var grid = Gather(connection, query.Range, query.MaxColumns, new Wanted(query.Channels), cancellation);
        var (columns, kept) = grid.Finish(_clock);
        var layouts = _layouts.All;
        return new Traces(columns, [.. query.Channels.Select((name, i) => grid.ToTrace(i, kept, name, UnitOf(layouts, name)))]);
    }

    /// <summary>Least, mean and greatest of a kind of channel.</summary>
    public Envelope Envelope(EnvelopeOf channels, TimeRange range, int maxColumns, CancellationToken cancellation)
    {
        using var connection = Open();
        var grid = Gather(connection, range, maxColumns, new Wanted(channels), cancellation);
        var (columns, kept) = grid.Finish(_clock);
        var trace = grid.ToTrace(0, kept, "", "");
        return new Envelope(columns, trace.Min, trace.Mean, trace.Max, [.. trace.Good.Select((g, i) => (double)g / columns.Snapshots[i])]);
    }

    /// <summary>Every snapshot at full rate.</summary>
    public IEnumerable<Snapshot> Snapshots(TimeRange range)
    {
        using var connection = Open();
        var reader = new SnapshotReader();
        foreach (var stretch in _clock.Find(range))
        {
            foreach (var (table, firstUs, block) in Blocks(connection, stretch))
            {
                Snapshot[] snapshots;
                try
                {
                    snapshots = reader.Read(block, _layouts.Find);
                }
                catch (DamagedBlockException e)
                {
                    DamageFound?.Invoke(table, firstUs, e.Message);
                    continue;
                }

                foreach (var snapshot in snapshots)
                {
                    var us = reader.Place.BaseUs + snapshot.Time.ElapsedUs;
                    if (us >= stretch.FromUs && us < stretch.ToUs) yield return snapshot;
                }
            }
        }
    }

    /// <summary>A connection to read by, with clocks and layouts up to date.</summary>
    public SqliteConnection Open()
    {
        var connection = new SqliteConnection(connectionString);
        try
        {
            connection.Open();
            // A day's roll-ups of a whole pack are 3 MB: looked at again, they come from memory.
            connection.Run("PRAGMA cache_size = -8192");
            _clock.Refresh(connection);
            _layouts.Refresh(connection);
            return connection;
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }

    /// <summary>
    /// Answers a question from the coarsest roll-ups that are fine enough for its columns. Where those are not built yet the finer ones stand in,
    /// down to full rate and the tail; where full rate was thinned, or a block is damaged, the next coarser.
    /// </summary>
    private ColumnGrid Gather(SqliteConnection connection, TimeRange range, int maxColumns, Wanted wanted, CancellationToken cancellation)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(maxColumns, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(maxColumns, 100_000);
        using var transaction = connection.BeginTransaction(deferred: true);
        var stretches = Clip(connection, _clock.Find(range));
        var widthUs = Math.Max(1, (stretches.Sum(s => s.ToUs - s.FromUs) + maxColumns - 1) / maxColumns);
        var level = Pyramid.Levels.Length - 1;
        // Columns are made a whole number of buckets wide; below one and a half buckets that would waste too much of the page.
        while (level >= 0 && Pyramid.Levels[level].Seconds * 1_500_000L > widthUs) level--;
        if (level >= 0) widthUs = RoundUp(widthUs, Pyramid.Levels[level].Seconds * 1_000_000L);
        else if (stretches.Sum(s => Count(connection, s)) <= maxColumns) widthUs = 0;

        var grid = new ColumnGrid(stretches, widthUs, wanted.Count);
        // Buckets that begin just before what was asked for reach into it.
        var bucketUs = level >= 0 ? Pyramid.Levels[level].Seconds * 1_000_000L : 1;
        var uncovered = new Uncovered([.. stretches.Select(s => s with { FromUs = RoundDown(s.FromUs, bucketUs) })]);
        var tally = new Tally();
        var rolls = new RollGatherer(grid, wanted, _layouts.Find, _clock, tally);
        var raw = new RawGatherer(grid, wanted, _layouts.Find, tally);
        // What waits in the tail is in no other table.
        Gather(connection, "tail", null, 1, raw.Add, new Uncovered(stretches), cancellation);
        for (var l = level; l >= 0; l--) GatherLevel(l);
        Gather(connection, "chunk", "last_us + max(1, (last_us - first_us) / max(1, snapshots - 1))", Pyramid.Levels[0].Seconds * 1_000_000L, raw.Add, uncovered, cancellation);
        rolls.StandsIn = true;
        for (var l = level + 1; l < Pyramid.Levels.Length; l++) GatherLevel(l);
        return grid;

        void GatherLevel(int l) => Gather(connection, Pyramid.Levels[l].Table, "end_us", Pyramid.Levels[l].Seconds * 1_000_000L, rolls.Add, uncovered, cancellation);
    }

    private delegate void AddBlock(ReadOnlySpan<byte> block, Uncovered uncovered);

    /// <summary>Adds a table's blocks wherever nothing has answered yet, and then takes away what they answered, in whole buckets.</summary>
    private void Gather(SqliteConnection connection, string table, string? end, long bucketUs, AddBlock add, Uncovered uncovered, CancellationToken cancellation)
    {
        var answered = new List<LogRange>();
        // A long block may reach into several ranges; it is added once, for all of them.
        var seen = new HashSet<long>();
        foreach (var range in uncovered.Left)
        {
            // The block that begins before the range may reach into it.
            using var command = connection.With(
                $"SELECT first_us, {end ?? "first_us"}, block FROM {table} WHERE first_us >= coalesce((SELECT max(first_us) FROM {table} WHERE first_us <= @from), @from) AND first_us < @to {(end is null ? "" : $"AND {end} > @from")} ORDER BY first_us",
                ("@from", range.FromUs),
                ("@to", range.ToUs));
            using var reader = command.ExecuteReader();
            while (reader.Read())
            {
                cancellation.ThrowIfCancellationRequested();
                if (!seen.Add(reader.GetInt64(0))) continue;
                try
                {
                    add(reader.Bytes(2), uncovered);
                    answered.Add(new LogRange(RoundDown(reader.GetInt64(0), bucketUs), RoundDown(reader.GetInt64(1) + bucketUs - 1, bucketUs)));
                }
                catch (DamagedBlockException e)
                {
                    DamageFound?.Invoke(table, reader.GetInt64(0), e.Message);
                }
            }
        }

        foreach (var range in answered) uncovered.Remove(range.FromUs, range.ToUs);
    }

    private static long RoundDown(long value, long unit)
    {
        var (q, r) = Math.DivRem(value, unit);
        return (r < 0 ? q - 1 : q) * unit;
    }

    private static long RoundUp(long value, long unit) => (value + unit - 1) / unit * unit;

    private static long Count(SqliteConnection connection, LogRange range)
    {
        var count = connection.Number(
            "SELECT coalesce(sum(snapshots), 0) FROM chunk WHERE first_us >= coalesce((SELECT max(first_us) FROM chunk WHERE first_us <= @from), @from) AND first_us < @to AND last_us >= @from",
            ("@from", range.FromUs),
            ("@to", range.ToUs));
        // A commit of the tail holds one snapshot or, where commits are rare or snapshots many, hundreds.
        var decoder = new ChunkDecoder();
        foreach (var (_, _, block) in BlocksOf(connection, "tail", range))
        {
            try
            {
                decoder.Open(block);
                count += decoder.Snapshots;
            }
            catch (DamagedBlockException)
            {
                // It is left out of the answer too, and said there.
            }
        }

        return count;
    }

    /// <summary>Cuts off what lies before the first and after the last snapshot, so that columns are not spent on nothing.</summary>
    private static List<LogRange> Clip(SqliteConnection connection, List<LogRange> stretches)
    {
        var first = long.MaxValue;
        foreach (var table in Tables)
            if (connection.MaybeNumber($"SELECT min(first_us) FROM {table}") is { } us) first = Math.Min(first, us);
        var last = connection.MaybeNumber("SELECT last_us FROM chunk ORDER BY first_us DESC LIMIT 1") ?? long.MinValue;
        if (connection.MaybeNumber("SELECT end_us - 1 FROM roll_10s ORDER BY first_us DESC LIMIT 1") is { } rolled) last = Math.Max(last, rolled);
        if (TailEnd(connection) is { } tail) last = Math.Max(last, tail);
        return [.. stretches.Select(s => new LogRange(Math.Max(s.FromUs, first), Math.Min(s.ToUs, last == long.MinValue ? last : last + 1))).Where(s => s.FromUs < s.ToUs)];
    }

    private static readonly string[] Tables = ["chunk", "tail", "roll_10s", "roll_1min", "roll_10min"];

    /// <summary>Log time of the newest snapshot of the tail; null where it is empty.</summary>
    private static long? TailEnd(SqliteConnection connection)
    {
        using var command = connection.With("SELECT block, first_us FROM tail ORDER BY first_us DESC LIMIT 1");
        using var reader = command.ExecuteReader();
        if (!reader.Read()) return null;
        try
        {
            var decoder = new ChunkDecoder();
            decoder.Open(reader.Bytes(0));
            return decoder.Place.BaseUs + decoder.ElapsedUs[^1];
        }
        catch (DamagedBlockException)
        {
            return reader.GetInt64(1);
        }
    }

    /// <summary>Blocks at full rate that may touch a stretch, oldest first, sealed or not.</summary>
    private static IEnumerable<(string Table, long FirstUs, byte[] Block)> Blocks(SqliteConnection connection, LogRange range) =>
        BlocksOf(connection, "chunk", range).Concat(BlocksOf(connection, "tail", range));

    private static IEnumerable<(string Table, long FirstUs, byte[] Block)> BlocksOf(SqliteConnection connection, string table, LogRange range)
    {
        // The block before the stretch may reach into it.
        using var command = connection.With(
            $"SELECT first_us, block FROM {table} WHERE first_us >= coalesce((SELECT max(first_us) FROM {table} WHERE first_us <= @from), @from) AND first_us < @to ORDER BY first_us",
            ("@from", range.FromUs),
            ("@to", range.ToUs));
        using var reader = command.ExecuteReader();
        while (reader.Read()) yield return (table, reader.GetInt64(0), reader.Bytes(1));
    }

    private static string UnitOf(KnownLayout[] layouts, string name)
    {
        for (var i = layouts.Length - 1; i >= 0; i--)
            if (layouts[i].Find(name) is >= 0 and var channel) return layouts[i].Map.UnitOf(channel);
        return "";
    }
}
