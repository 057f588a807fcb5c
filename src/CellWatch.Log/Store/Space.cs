using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>What a log takes and what it may still take, at one look.</summary>
internal sealed record Space
{
    private const double UsPerDay = 86_400e6;

    // Page headers, pointers of overflow chains and the tables' trees, measured on files of a month.
    private const double PageOverhead = 1.03;

    /// <summary>The file and what belongs to it, bytes.</summary>
    public long FileBytes { get; init; }

    /// <summary>Free on the disk, bytes.</summary>
    public long DiskBytes { get; init; }

    /// <summary>Free inside the file: pages of thinned data, used again before the file grows.</summary>
    public long InsideBytes { get; init; }

    /// <summary>Full-rate blocks, bytes.</summary>
    public double FullRateBytes { get; init; }

    /// <summary>What a day of full rate adds, bytes; 0 before anything is sealed.</summary>
    public double FullRatePerDay { get; init; }

    /// <summary>What its roll-ups add, bytes a day.</summary>
    public double RollUpsPerDay { get; init; }

    /// <summary>Log time of the oldest full-rate block, µs.</summary>
    public long? OldestUs { get; init; }

    /// <summary>Log time of the newest, µs.</summary>
    public long? NewestUs { get; init; }

    /// <summary>Room before the disk, or the limit set, is reached, bytes.</summary>
    public long RoomBytes { get; init; }

    /// <summary>Looks at a log and its disk.</summary>
    public static Space Of(SqliteConnection connection, string path, CellLogOptions options) => Measure(
        connection,
        new[] { path, path + "-wal", ReserveFile.Of(path) }.Select(p => new FileInfo(p)).Sum(f => f.Exists ? f.Length : 0),
        options.FreeBytes(Path.GetFullPath(path)),
        options.Retention);

    /// <summary>Looks.</summary>
    public static Space Measure(SqliteConnection connection, long fileBytes, long diskBytes, Retention rule)
    {
        var inside = connection.Number("PRAGMA freelist_count") * connection.Number("PRAGMA page_size");
        var newest = connection.MaybeNumber("SELECT last_us FROM chunk ORDER BY first_us DESC LIMIT 1");
        var dayAgo = (newest ?? 0) - (long)UsPerDay;
        var recentUs = connection.Number("SELECT coalesce(sum(last_us - first_us), 0) FROM chunk WHERE first_us > @day", ("@day", dayAgo));
        var recent = PageOverhead * connection.Number("SELECT coalesce(sum(length(block)), 0) FROM chunk WHERE first_us > @day", ("@day", dayAgo));
        var recentRolls = PageOverhead * connection.Number("SELECT coalesce(sum(length(block)), 0) FROM roll_10s WHERE first_us > @day", ("@day", dayAgo));
        var perDay = recentUs == 0 ? 0 : UsPerDay / recentUs;
        var room = diskBytes + inside;
        if (rule.MaxBytes > 0) room = Math.Min(room, rule.MaxBytes - (fileBytes - inside));
        return new Space
        {
            FileBytes = fileBytes,
            DiskBytes = diskBytes,
            InsideBytes = inside,
            FullRateBytes = PageOverhead * connection.Number("SELECT coalesce(sum(length(block)), 0) FROM chunk"),
            FullRatePerDay = recent * perDay,
            RollUpsPerDay = recentRolls * perDay,
            OldestUs = connection.MaybeNumber("SELECT min(first_us) FROM chunk"),
            NewestUs = newest,
            RoomBytes = Math.Max(0, room),
        };
    }

    /// <summary>Days until nothing more can be kept, thinning considered; null before a rate is known, infinite where the rule holds the size.</summary>
    public double? DaysLeft(Retention rule)
    {
        if (FullRatePerDay == 0) return null;
        var growth = FullRatePerDay + RollUpsPerDay;
        // Full rate beyond the floor gives way to what is new: then only roll-ups add up.
        var forRollUps = RoomBytes + FullRateBytes - (rule.FullRateAtLeastDays * FullRatePerDay);
        if (forRollUps <= 0) return RoomBytes / growth;
        var days = forRollUps / RollUpsPerDay;
        return days > rule.TenSecondDays ? double.PositiveInfinity : days;
    }

    /// <summary>Days until full rate has to be thinned before its time; infinite where it never has.</summary>
    public double? DaysToThinning(Retention rule)
    {
        if (FullRatePerDay == 0) return null;
        var ageDays = ((NewestUs ?? 0) - (OldestUs ?? 0)) / UsPerDay;
        var days = Math.Max(0, RoomBytes - rule.LeaveFreeBytes) / (FullRatePerDay + RollUpsPerDay);
        return days > Math.Max(0, rule.FullRateDays - ageDays) ? double.PositiveInfinity : days;
    }

    /// <summary>Whether old full rate has to give way now.</summary>
    public bool IsShort(Retention rule) => RoomBytes < (rule.MaxBytes > 0 ? FullRatePerDay / 24 : rule.LeaveFreeBytes);
}
