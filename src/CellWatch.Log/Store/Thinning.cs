using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>
/// Removes old data by the stated rule, the oldest first. Stretches that are frozen stay. What is removed at full rate is still there at 10 s,
/// what is removed at 10 s at 1 min.
/// </summary>
internal static class Thinning
{
    /// <summary>Log time up to which full rate was thinned, µs, in the table <c>meta</c>: what is missing beyond it is damage, not the rule.</summary>
    public const string FullRateThinned = "full_rate_thinned_to_us";

    /// <summary>The same for 10 s.</summary>
    public const string TenSecondsThinned = "ten_seconds_thinned_to_us";

    private const double UsPerDay = 86_400e6;

    /// <summary>What a pass removed.</summary>
    /// <param name="Blocks">How many blocks.</param>
    /// <param name="ToUs">Log time up to which, µs.</param>
    internal readonly record struct Pass(int Blocks, long ToUs);

    /// <summary>Removes full rate beyond its time, a day's worth or more at once so that the record tells it once a day.</summary>
    public static Pass FullRate(SqliteConnection connection, Retention rule)
    {
        if (connection.MaybeNumber("SELECT last_us FROM chunk ORDER BY first_us DESC LIMIT 1") is not { } newest) return default;
        var limit = newest - (long)(rule.FullRateDays * UsPerDay);
        var oldest = connection.MaybeNumber($"SELECT first_us FROM chunk WHERE {NotFrozen("last_us")} ORDER BY first_us LIMIT 1");
        return oldest is null || oldest > limit - UsPerDay ? default : Remove(connection, "chunk", "last_us", limit, int.MaxValue, FullRateThinned);
    }

    /// <summary>Removes 10 s beyond its time.</summary>
    public static Pass TenSeconds(SqliteConnection connection, Retention rule)
    {
        if (connection.MaybeNumber("SELECT end_us FROM roll_10s ORDER BY first_us DESC LIMIT 1") is not { } newest) return default;
        // Nothing that a coarser level has not taken up yet.
        var built = connection.MaybeNumber("SELECT end_us FROM roll_1min ORDER BY first_us DESC LIMIT 1") ?? long.MinValue;
        var limit = Math.Min(built, newest - (long)(rule.TenSecondDays * UsPerDay));
        var oldest = connection.MaybeNumber($"SELECT first_us FROM roll_10s WHERE {NotFrozen("end_us")} ORDER BY first_us LIMIT 1");
        return oldest is null || oldest > limit - UsPerDay ? default : Remove(connection, "roll_10s", "end_us", limit, int.MaxValue, TenSecondsThinned);
    }

    /// <summary>Removes a quarter of a day of the oldest full rate, down to the floor that is kept even when room is short.</summary>
    public static Pass ForRoom(SqliteConnection connection, Retention rule)
    {
        if (connection.MaybeNumber("SELECT last_us FROM chunk ORDER BY first_us DESC LIMIT 1") is not { } newest) return default;
        return Remove(connection, "chunk", "last_us", newest - (long)(rule.FullRateAtLeastDays * UsPerDay), 36, FullRateThinned);
    }

    private static string NotFrozen(string end) => $"NOT EXISTS (SELECT 1 FROM frozen WHERE from_us < {end} AND to_us > first_us)";

    private static Pass Remove(SqliteConnection connection, string table, string end, long limitUs, int most, string mark)
    {
        var notFrozen = NotFrozen(end);
        var last = connection.MaybeNumber(
            $"SELECT max({end}) FROM (SELECT {end} FROM {table} WHERE {end} <= @limit AND {notFrozen} ORDER BY first_us LIMIT @most)",
            ("@limit", limitUs),
            ("@most", most));
        if (last is null) return default;
        var blocks = connection.Run($"DELETE FROM {table} WHERE {end} <= @last AND {notFrozen}", ("@last", last));
        connection.Run("INSERT OR REPLACE INTO meta (key, value) VALUES (@k, @v)", ("@k", mark), ("@v", last.Value.ToString(System.Globalization.CultureInfo.InvariantCulture)));
        return new Pass(blocks, last.Value);
    }
}
