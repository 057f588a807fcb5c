using System.Collections.Immutable;
using System.Runtime.CompilerServices;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Codec;
using CellWatch.Log.Store;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Reading;

/// <summary>Reads a site's file. Any number of calls at a time, each on a connection of its own.</summary>
internal sealed class HistoryReader(string connectionString)
{
    private readonly ClockTable _clock = new();
    private readonly Layouts _layouts = new();

    public string ConnectionString => connectionString;

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
        var grid = Gather(connection, query.Range, query.MaxColumns, query.Channels.Length, layout => [.. query.Channels.Select(layout.Find)], cancellation);
        var (columns, kept) = grid.Finish(_clock);
        var layouts = _layouts.All;
        return new Traces(columns, [.. query.Channels.Select((name, i) => grid.ToTrace(i, kept, name, UnitOf(layouts, name)))]);
    }

    /// <summary>Least, mean and greatest of a kind of channel.</summary>
    public Envelope Envelope(EnvelopeOf channels, TimeRange range, int maxColumns, CancellationToken cancellation)
    {
        using var connection = Open();
        var kind = channels == EnvelopeOf.Cells ? ChannelKind.CellVoltage : ChannelKind.Temperature;
        var grid = Gather(connection, range, maxColumns, 1, layout => [.. Enumerable.Range(0, layout.Map.Count).Select(c => layout.Map.KindOf(c) == kind ? c : -1)], cancellation, merge: true);
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
            foreach (var block in Blocks(connection, stretch))
            {
                Snapshot[] snapshots;
                try
                {
                    snapshots = reader.Read(block, _layouts.Find);
                }
                catch (DamagedBlockException)
                {
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

    private ColumnGrid Gather(SqliteConnection connection, TimeRange range, int maxColumns, int series, Func<KnownLayout, int[]> channelsOf, CancellationToken cancellation, bool merge = false)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(maxColumns, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(maxColumns, 100_000);
        using var transaction = connection.BeginTransaction(deferred: true);
        var stretches = Clip(connection, _clock.Find(range));
        var total = stretches.Sum(s => s.ToUs - s.FromUs);
        var single = stretches.Sum(s => Count(connection, s)) <= maxColumns;
        var grid = new ColumnGrid(stretches, single ? 0 : Math.Max(1, (total + maxColumns - 1) / maxColumns), series);
        var raw = new RawGatherer(grid, channelsOf, _layouts.Find, merge);
        foreach (var stretch in stretches)
        {
            foreach (var block in Blocks(connection, stretch))
            {
                cancellation.ThrowIfCancellationRequested();
                raw.Add(block);
            }
        }

        return grid;
    }

    private static long Count(SqliteConnection connection, LogRange range) => connection.Number(
        "SELECT (SELECT coalesce(sum(snapshots), 0) FROM chunk WHERE first_us < @to AND last_us >= @from AND first_us >= @from - 86400000000) + (SELECT count(*) FROM tail WHERE first_us >= @from AND first_us < @to)",
        ("@from", range.FromUs),
        ("@to", range.ToUs));

    /// <summary>Cuts off what lies before the first and after the last snapshot, so that columns are not spent on nothing.</summary>
    private static List<LogRange> Clip(SqliteConnection connection, List<LogRange> stretches)
    {
        var first = connection.MaybeNumber("SELECT min(coalesce((SELECT min(first_us) FROM chunk), @most), coalesce((SELECT min(first_us) FROM tail), @most))", ("@most", long.MaxValue)) ?? long.MaxValue;
        var last = connection.MaybeNumber("SELECT max(coalesce((SELECT last_us FROM chunk ORDER BY first_us DESC LIMIT 1), @least), coalesce((SELECT max(first_us) FROM tail), @least))", ("@least", long.MinValue)) ?? long.MinValue;
        // A tail block is named by its first snapshot and is at most a commit long.
        if (last != long.MinValue) last += 600_000_000;
        return [.. stretches.Select(s => new LogRange(Math.Max(s.FromUs, first), Math.Min(s.ToUs, last))).Where(s => s.FromUs < s.ToUs)];
    }

    /// <summary>Blocks at full rate that may touch a stretch, oldest first, sealed or not.</summary>
    private static IEnumerable<byte[]> Blocks(SqliteConnection connection, LogRange range) =>
        BlocksOf(connection, "chunk", range).Concat(BlocksOf(connection, "tail", range));

    private static IEnumerable<byte[]> BlocksOf(SqliteConnection connection, string table, LogRange range)
    {
        // The block before the stretch may reach into it.
        using var command = connection.With(
            $"SELECT block FROM {table} WHERE first_us >= coalesce((SELECT max(first_us) FROM {table} WHERE first_us <= @from), @from) AND first_us < @to ORDER BY first_us",
            ("@from", range.FromUs),
            ("@to", range.ToUs));
        using var reader = command.ExecuteReader();
        while (reader.Read()) yield return reader.Bytes(0);
    }

    private static string UnitOf(KnownLayout[] layouts, string name)
    {
        for (var i = layouts.Length - 1; i >= 0; i--)
            if (layouts[i].Find(name) is >= 0 and var channel) return layouts[i].Map.UnitOf(channel);
        return "";
    }
}
