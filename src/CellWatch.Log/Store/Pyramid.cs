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
/// Roll-ups at 10 s, 1 min and 10 min. The finest is written with each sealed chunk, the coarser ones from the finer when a stretch of log
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

    private readonly RollUpBlock _blocks = new();

    /// <summary>Adds a sealed chunk's roll-up, and whatever it completes.</summary>
    public void Add(SqliteConnection connection, ChunkDecoder chunk, KnownLayout layout, long firstUs, long lastUs)
    {
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
        Insert(connection, Levels[0], firstUs, lastUs + periodUs, rollUp);
    }

    private void Complete(SqliteConnection connection, RollLevel finer, RollLevel level, long nowUs)
    {
        // Whole periods are built at once, so what follows the newest one is not yet.
        var newest = connection.MaybeNumber($"SELECT max(first_us) FROM {level.Table}");
        var built = newest is { } us ? (PeriodOf(us, level) + 1) * level.BlockUs : long.MinValue;
        var complete = PeriodOf(nowUs, level) * level.BlockUs;
        var rows = new List<(long FirstUs, long EndUs, byte[] Block)>();
        using (var command = connection.With($"SELECT first_us, end_us, block FROM {finer.Table} WHERE first_us >= @built AND first_us < @complete ORDER BY first_us", ("@built", built), ("@complete", complete)))
        using (var reader = command.ExecuteReader())
        {
            while (reader.Read()) rows.Add((reader.GetInt64(0), reader.GetInt64(1), reader.Bytes(2)));
        }

        RollUp? gathered = null;
        long first = 0, end = 0;
        foreach (var row in rows)
        {
            RollUp part;
            try
            {
                part = _blocks.Decode(row.Block, null, KindsOf);
            }
            catch (DamagedBlockException)
            {
                continue;
            }

            if (gathered is not null && (gathered.Layout != part.Layout || PeriodOf(first, level) != PeriodOf(row.FirstUs, level)))
            {
                Insert(connection, level, first, end, gathered);
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

        if (gathered is not null) Insert(connection, level, first, end, gathered);
    }

    private void Insert(SqliteConnection connection, RollLevel level, long firstUs, long endUs, RollUp rollUp) => connection.Run(
        $"INSERT OR REPLACE INTO {level.Table} (first_us, end_us, block) VALUES (@f, @e, @b)",
        ("@f", firstUs),
        ("@e", endUs),
        ("@b", _blocks.Encode(rollUp).ToArray()));

    private ChannelKind[]? KindsOf(int revision) => layouts.Find(revision)?.Kinds;

    private static long PeriodOf(long us, RollLevel level)
    {
        var (q, r) = Math.DivRem(us, level.BlockUs);
        return r < 0 ? q - 1 : q;
    }
}
