using System.Text.RegularExpressions;
using CellWatch.Log.Codec;
using CellWatch.Log.Store;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Maintenance;

/// <summary>
/// Everything a file still gives: each table is read forwards up to the first fault and backwards down to the last; what lies between, or all of
/// it where the database does not open, comes from the bare pages.
/// </summary>
internal sealed partial class Salvage
{
    /// <summary>Tables with their columns; the first column is the row's number.</summary>
    public static readonly (string Name, string[] Columns)[] Tables =
    [
        ("layout", ["revision", "since_us", "definition"]),
        ("session", ["id", "base_us", "first_us", "ended_us"]),
        ("clock", ["from_us", "offset_ms", "step_ms"]),
        ("tail", ["first_us", "block"]),
        ("chunk", ["first_us", "last_us", "snapshots", "block"]),
        ("roll_10s", ["first_us", "end_us", "block"]),
        ("roll_1min", ["first_us", "end_us", "block"]),
        ("roll_10min", ["first_us", "end_us", "block"]),
        ("frozen", ["id", "from_us", "to_us", "from_ms", "to_ms", "reason"]),
        ("alarm", ["id", "wall_ms", "elapsed_us", "alarm", "from_state", "to_state", "why", "view"]),
        ("event", ["id", "wall_ms", "kind", "text", "by_whom", "length_s"]),
        ("command", ["id", "wall_ms", "by_whom", "command", "details", "accepted", "answer"]),
        ("run", ["id", "kind", "title", "from_ms", "to_ms", "opened_by", "closed_by", "settings"]),
        ("note", ["id", "wall_ms", "run", "text", "by_whom"]),
        ("attachment", ["id", "wall_ms", "run", "name", "media_type", "by_whom", "content"]),
        (BenchRecords, ["sequence", "kind", "key", "revision", "by_whom", "at", "simulated", "json"]),
        (BenchFiles, ["id", "sha256", "content"]),
    ];

    /// <summary>Bench records; a log that never met a bench has no such table.</summary>
    public const string BenchRecords = "bench_record";

    /// <summary>Files kept with the bench records.</summary>
    public const string BenchFiles = "bench_file";

    /// <summary>Tables of records a person reads.</summary>
    public static readonly string[] RecordTables = ["alarm", "event", "command", "run", "note", "attachment", BenchRecords, BenchFiles];

    private Salvage()
    {
    }

    /// <summary>Whether the database opens.</summary>
    public bool Opens { get; private set; }

    /// <summary>What it says of its own structure.</summary>
    public List<string> Structure { get; } = [];

    /// <summary>Rows by table, by number.</summary>
    public Dictionary<string, SortedDictionary<long, object?[]>> Rows { get; } = Tables.ToDictionary(t => t.Name, _ => new SortedDictionary<long, object?[]>(), StringComparer.Ordinal);

    /// <summary>Tables that could not be read whole the ordinary way.</summary>
    public List<string> BrokenTables { get; } = [];

    /// <summary>Settings of the file.</summary>
    public Dictionary<string, string> Meta { get; } = new(StringComparer.Ordinal);

    /// <summary>Reads a file.</summary>
    public static Salvage Read(string path, IProgress<double>? progress)
    {
        var salvage = new Salvage();
        salvage.ReadDatabase(path, progress);
        if (!salvage.Opens || salvage.BrokenTables.Count > 0) salvage.ReadPages(path);
        return salvage;
    }

    private void ReadDatabase(string path, IProgress<double>? progress)
    {
        try
        {
            using var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Mode = SqliteOpenMode.ReadOnly, Pooling = false }.ConnectionString);
            connection.Open();
            if (connection.Number("PRAGMA application_id") != Schema.ApplicationId) Structure.Add("the mark of a cell log is not in its header");
            connection.Number("SELECT count(*) FROM sqlite_master");
            Opens = true;
            CheckStructure(connection);
            for (var t = 0; t < Tables.Length; t++)
            {
                ReadTable(connection, Tables[t].Name, Tables[t].Columns);
                progress?.Report(0.6 * (t + 1) / Tables.Length);
            }

            ReadMeta(connection);
        }
        catch (SqliteException e)
        {
            if (!Opens) Structure.Add(e.Message);
        }
    }

    private void CheckStructure(SqliteConnection connection)
    {
        try
        {
            using var command = connection.With("PRAGMA integrity_check(20)");
            using var reader = command.ExecuteReader();
            while (reader.Read())
                if (reader.GetString(0) != "ok") Structure.Add(reader.GetString(0));
        }
        catch (SqliteException e)
        {
            Structure.Add(e.Message);
        }
    }

    private void ReadTable(SqliteConnection connection, string table, string[] columns)
    {
        if (table is BenchRecords or BenchFiles && connection.Number("SELECT count(*) FROM sqlite_master WHERE name = @n", ("@n", table)) == 0) return;
        var rows = Rows[table];
        var select = $"SELECT {string.Join(", ", columns)} FROM {table}";
        if (!ReadRows(connection, $"{select} ORDER BY {columns[0]}", rows, null))
        {
            BrokenTables.Add(table);
            ReadRows(connection, $"{select} ORDER BY {columns[0]} DESC", rows, rows.Count == 0 ? null : rows.Keys.Max());
        }
    }

    /// <summary>Reads rows until the end, a fault, or a row that was read before; says whether it came to the end.</summary>
    private static bool ReadRows(SqliteConnection connection, string sql, SortedDictionary<long, object?[]> rows, long? until)
    {
        try
        {
            using var command = connection.With(sql);
            using var reader = command.ExecuteReader();
            while (reader.Read())
            {
                var id = reader.GetInt64(0);
                if (id == until) return true;
                var values = new object?[reader.FieldCount];
                for (var i = 0; i < values.Length; i++) values[i] = reader.IsDBNull(i) ? null : reader.GetValue(i);
                rows[id] = values;
            }

            return true;
        }
        catch (SqliteException)
        {
            return false;
        }
    }

    private void ReadMeta(SqliteConnection connection)
    {
        using var command = connection.With("SELECT key, value FROM meta");
        using var reader = command.ExecuteReader();
        while (reader.Read()) Meta[reader.GetString(0)] = reader.GetString(1);
    }

    private void ReadPages(string path)
    {
        foreach (var row in PageScan.Rows(path))
        {
            if (TableOf(row) is not { } table || (Opens && !BrokenTables.Contains(table))) continue;
            var rows = Rows[table];
            row.Values[0] = row.Id;
            // An old copy of a block does not displace one that reads, nor a damaged one a whole one.
            if (!rows.TryGetValue(row.Id, out var there) || (BlockOf(there) is { } old && !Reads(old) && BlockOf(row.Values) is { } block && Reads(block))) rows[row.Id] = row.Values;
        }

        // The pages of what was sealed since lie about free: the tail begins after the newest chunk.
        if (Rows["chunk"].Count == 0) return;
        var sealedUpTo = Rows["chunk"].Values.Max(v => v[1] as long? ?? 0);
        foreach (var id in Rows["tail"].Keys.Where(id => id <= sealedUpTo).ToArray()) Rows["tail"].Remove(id);
    }

    private static byte[]? BlockOf(object?[] values) => values[^1] as byte[];

    private static bool Reads(byte[] block)
    {
        try
        {
            Blocks.Verify(block);
            return true;
        }
        catch (DamagedBlockException)
        {
            return false;
        }
    }

    /// <summary>The table a bare row belongs to, by its shape; null where to none.</summary>
    private static string? TableOf(PageScan.Row row) => row.Shape switch
    {
        "nit" => "layout",
        "niii" or "niin" => "session",
        "nii" => "clock",
        "nb" => "tail",
        "niib" => "chunk",
        "nib" => Blocks.SecondsOf((byte[])row.Values[2]!) switch { 10 => "roll_10s", 60 => "roll_1min", 600 => "roll_10min", _ => null },
        "niiiit" => "frozen",
        "niittttt" => "alarm",
        "nitttn" or "nitttr" or "nittti" => "event",
        "nitttit" => "command",
        "nttittit" => BenchRecords,
        "ntb" => BenchFiles,
        var s when RunShape().IsMatch(s) => "run",
        "nintt" or "niitt" => "note",
        "nintttb" or "niitttb" => "attachment",
        _ => null,
    };

    [GeneratedRegex("^ntti[in]ttt$", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex RunShape();
}
