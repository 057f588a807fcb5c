using CellWatch.Core.Snapshots;
using CellWatch.Log.Codec;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>A level of roll-ups.</summary>
/// <param name="Table">Its table.</param>
/// <param name="Seconds">Length of a bucket.</param>
/// <param name="BlockUs">How much log time one block spans at most, µs.</param>
internal sealed record RollLevel(string Table, int Seconds, long BlockUs);

/// <summary>
/// Roll-ups at 10 s, 1 min and 10 min. The finest is written with each sealed chunk and joined to one block an hour when the hour is over: a
/// long block spends less on the beginnings of its columns, and is opened once. The coarser ones are made from the finer when a stretch of log
/// time is complete (6 hours, a day): until then the finer ones stand in.
/// </summary>
internal sealed class Pyramid(Layouts layouts)
{
    /// <summary>All levels, finest first.</summary>
    public static readonly RollLevel[] Levels =
    [
        new("roll_10s", 10, OpenStretch.CutUs),
        new("roll_1min", 60, 6 * 3_600_000_000L),
        new("roll_10min", 600, 24 * 3_600_000_000L),
    ];

    private static readonly RollLevel Hour = Levels[0] with { BlockUs = 3_600_000_000L };

    private readonly RollUpBlock _short = new();

    /// <summary>Adds a sealed chunk's roll-up, and whatever it completes.</summary>
    public void Add(SqliteConnection connection, ChunkDecoder chunk, KnownLayout layout, long firstUs, long lastUs)
    {
        JoinHourBefore(connection, firstUs);
        AddFinest(connection, chunk, layout, firstUs, lastUs);
        for (var level = 1; level < Levels.Length; level++) Complete(connection, Levels[level - 1], Levels[level], firstUs);
    }

    /// <summary>Adds a sealed chunk's roll-up alone, in the place of one that is there.</summary>
    public void AddFinest(SqliteConnection connection, ChunkDecoder chunk, KnownLayout layout, long firstUs, long lastUs)
    {
        var rollUp = new RollUp(layout.Revision, Levels[0].Seconds, layout.Kinds, layout.StepsPerUnit);
        rollUp.Add(chunk);
        // A block answers for one period after its last snapshot too, so that slow sampling leaves no slits between blocks.
        var periodUs = Math.Max(1, (lastUs - firstUs) / Math.Max(1, chunk.Snapshots - 1));
        Insert(connection, _short, Levels[0], firstUs, lastUs + periodUs, rollUp);
    }

    /// <summary>Joins the blocks of the hour that was recorded last: nothing more comes.</summary>
    public void JoinNewestHour(SqliteConnection connection)
    {
        Try(() =>
        {
            if (connection.MaybeNumber($"SELECT max(first_us) FROM {Hour.Table}") is { } newest) Join(connection, PeriodOf(newest, Hour), newest + 1);
        });
    }

    /// <summary>Where a new hour begins, joins the blocks of the one that was recorded last.</summary>
    private void JoinHourBefore(SqliteConnection connection, long nowUs)
    {
        Try(() =>
        {
            if (connection.MaybeNumber($"SELECT max(first_us) FROM {Hour.Table} WHERE first_us < @now", ("@now", nowUs)) is not { } newest) return;
            if (PeriodOf(newest, Hour) is var hour && hour != PeriodOf(nowUs, Hour)) Join(connection, hour, nowUs);
        });
    }

    /// <summary>Joining is thrift, not record: where pages of old blocks do not read it is left, and recording goes on.</summary>
    private static void Try(Action join)
    {
        try
        {
            join();
        }
        catch (SqliteException e) when (e.SqliteErrorCode == FaultWords.Corrupt)
        {
            // 'log check' names them.
        }
    }

    private void Join(SqliteConnection connection, long hour, long nowUs)
    {
        // Long blocks are rare: what they need is not held in between.
        var blocks = new RollUpBlock();
        var joined = new List<long>();
        RollUp? gathered = null;
        long end = 0;
        foreach (var row in Rows(connection, Hour.Table, hour * Hour.BlockUs, nowUs))
        {
            RollUp part;
            try
            {
                part = blocks.Decode(row.Block, null, KindsOf);
            }
            catch (DamagedBlockException)
            {
                // It stays as it is; full rate stands in for it, so nothing may be joined across.
                Flush();
                continue;
            }

            if (gathered is not null && (gathered.Layout != part.Layout || HasChunkBetween(connection, joined[^1], row.FirstUs))) Flush();
            if (gathered is null)
            {
                var layout = layouts.Find(part.Layout)!;
                gathered = new RollUp(part.Layout, Hour.Seconds, layout.Kinds, layout.StepsPerUnit);
            }

            gathered.Add(part);
            joined.Add(row.FirstUs);
            end = row.EndUs;
        }

        Flush();

        void Flush()
        {
            if (joined.Count > 1)
            {
                connection.Run($"DELETE FROM {Hour.Table} WHERE first_us >= @f AND first_us <= @l", ("@f", joined[0]), ("@l", joined[^1]));
                Insert(connection, blocks, Hour, joined[0], end, gathered!);
            }

            joined.Clear();
            gathered = null;
        }
    }

    /// <summary>Whether full rate lies between two blocks that neither answers for: its own roll-up was lost.</summary>
    private static bool HasChunkBetween(SqliteConnection connection, long afterUs, long beforeUs) =>
        connection.Number("SELECT count(*) FROM chunk WHERE first_us > @a AND first_us < @b", ("@a", afterUs), ("@b", beforeUs)) > 0;

    private static List<(long FirstUs, long EndUs, byte[] Block)> Rows(SqliteConnection connection, string table, long fromUs, long toUs)
    {
        var rows = new List<(long FirstUs, long EndUs, byte[] Block)>();
        using var command = connection.With($"SELECT first_us, end_us, block FROM {table} WHERE first_us >= @from AND first_us < @to ORDER BY first_us", ("@from", fromUs), ("@to", toUs));
        using var reader = command.ExecuteReader();
        while (reader.Read()) rows.Add((reader.GetInt64(0), reader.GetInt64(1), reader.Bytes(2)));
        return rows;
    }

    private void Complete(SqliteConnection connection, RollLevel finer, RollLevel level, long nowUs)
    {
        // Whole periods are built at once, so what follows the newest one is not yet.
        var newest = connection.MaybeNumber($"SELECT max(first_us) FROM {level.Table}");
        var built = newest is { } us ? (PeriodOf(us, level) + 1) * level.BlockUs : long.MinValue;
        var complete = PeriodOf(nowUs, level) * level.BlockUs;
        var blocks = new RollUpBlock();
        RollUp? gathered = null;
        long first = 0, end = 0;
        foreach (var row in Rows(connection, finer.Table, built, complete))
        {
            RollUp part;
            try
            {
                part = blocks.Decode(row.Block, null, KindsOf);
            }
            catch (DamagedBlockException)
            {
                continue;
            }

            if (gathered is not null && (gathered.Layout != part.Layout || PeriodOf(first, level) != PeriodOf(row.FirstUs, level)))
            {
                Insert(connection, blocks, level, first, end, gathered);
                gathered = null;
            }

            if (gathered is null)
            {
                var layout = layouts.Find(part.Layout)!;
                gathered = new RollUp(part.Layout, level.Seconds, layout.Kinds, layout.StepsPerUnit);
                first = row.FirstUs;
            }

            gathered.Add(part);
            end = row.EndUs;
        }

        if (gathered is not null) Insert(connection, blocks, level, first, end, gathered);
    }

    private static void Insert(SqliteConnection connection, RollUpBlock blocks, RollLevel level, long firstUs, long endUs, RollUp rollUp) => connection.Run(
        $"INSERT OR REPLACE INTO {level.Table} (first_us, end_us, block) VALUES (@f, @e, @b)",
        ("@f", firstUs),
        ("@e", endUs),
        ("@b", blocks.Encode(rollUp).ToArray()));

    private ChannelKind[]? KindsOf(int revision) => layouts.Find(revision)?.Kinds;

    private static long PeriodOf(long us, RollLevel level)
    {
        var (q, r) = Math.DivRem(us, level.BlockUs);
        return r < 0 ? q - 1 : q;
    }
}
