using System.Globalization;
using CellWatch.Core.History;
using CellWatch.Log.BenchRecords;
using CellWatch.Log.Store;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Maintenance;

/// <summary><c>log check</c> and <c>log repair</c>.</summary>
public static class LogMaintenance
{
    /// <summary>Reads everything in a log and says what does not read. Changes nothing; a service may be writing it.</summary>
    /// <param name="path">The file.</param>
    /// <param name="progress">How far it is, 0 to 1.</param>
    /// <exception cref="FileNotFoundException">There is no such file.</exception>
    public static LogReport Check(string path, IProgress<double>? progress = null)
    {
        if (!File.Exists(path)) throw new FileNotFoundException($"There is no file {path}.", path);
        return new Verdict(path, Salvage.Read(path, progress), progress).Report;
    }

    /// <summary>
    /// Writes a new file of everything that reads, with roll-ups made anew from full rate where they were lost, and puts it in the place of the
    /// damaged one, which is kept under another name.
    /// </summary>
    /// <param name="path">The file.</param>
    /// <param name="now">Goes into the name the damaged file is kept under.</param>
    /// <param name="progress">How far it is, 0 to 1.</param>
    /// <exception cref="LogInUseException">A service is writing it.</exception>
    /// <exception cref="FileNotFoundException">There is no such file.</exception>
    public static RepairReport Repair(string path, DateTimeOffset now, IProgress<double>? progress = null)
    {
        if (!File.Exists(path)) throw new FileNotFoundException($"There is no file {path}.", path);
        using var writerLock = WriterLock.Take(path);
        var salvage = Salvage.Read(path, progress);
        var verdict = new Verdict(path, salvage, progress);
        var fresh = path + ".repaired";
        DeleteWithCompanions(fresh);
        try
        {
            Write(fresh, salvage, verdict, now);
            var kept = FileNames.Aside(path, now);
            FileNames.Move(path, kept);
            File.Move(fresh, path);
            var after = new Verdict(path, Salvage.Read(path, null), null).Report;
            progress?.Report(1);
            return new RepairReport(verdict.Report, kept, after);
        }
        finally
        {
            DeleteWithCompanions(fresh);
        }
    }

    private static void Write(string path, Salvage salvage, Verdict verdict, DateTimeOffset now)
    {
        using var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Pooling = false }.ConnectionString);
        connection.Open();
        connection.Run($"PRAGMA page_size = {Schema.PageSize}; PRAGMA journal_mode = WAL; PRAGMA synchronous = NORMAL");
        Schema.Ensure(connection);
        if (salvage.Rows[Salvage.BenchRecords].Count + salvage.Rows[Salvage.BenchFiles].Count > 0) connection.Run(SqliteRecordStore.Tables);
        using (var transaction = connection.BeginTransaction())
        {
            foreach (var (key, value) in salvage.Meta) connection.Run("INSERT INTO meta (key, value) VALUES (@k, @v)", ("@k", key), ("@v", value));
            foreach (var (table, columns) in Salvage.Tables)
            {
                using var insert = connection.With($"INSERT INTO {table} ({string.Join(", ", columns)}) VALUES ({string.Join(", ", columns.Select(c => "@" + c))})");
                foreach (var column in columns) insert.Parameters.Add(new SqliteParameter("@" + column, null));
                foreach (var (id, values) in salvage.Rows[table])
                {
                    if (verdict.IsDamaged(table, id)) continue;
                    for (var i = 0; i < columns.Length; i++) insert.Parameters[i].Value = values[i] ?? DBNull.Value;
                    insert.ExecuteNonQuery();
                }
            }

            verdict.RestoreRollUps(connection);
            Records.AddEvent(connection, EventKinds.Damage, $"The log was repaired: {verdict.Report.Lost.Count} parts did not read and are left out.", now.ToUnixTimeMilliseconds(), "", null);
            transaction.Commit();
        }

        connection.Run("PRAGMA wal_checkpoint(TRUNCATE)");
    }

    private static void DeleteWithCompanions(string path)
    {
        foreach (var file in FileNames.All(path)) File.Delete(file);
    }
}

/// <summary>A log and the files that belong to it.</summary>
internal static class FileNames
{
    public static string[] All(string path) => [path, path + "-wal", path + "-shm"];

    /// <summary>A name for a damaged file, not yet taken.</summary>
    public static string Aside(string path, DateTimeOffset now)
    {
        var name = string.Create(CultureInfo.InvariantCulture, $"{path}.damaged-{now:yyyyMMdd-HHmmss}");
        for (var n = 2; File.Exists(name); n++) name = string.Create(CultureInfo.InvariantCulture, $"{path}.damaged-{now:yyyyMMdd-HHmmss}-{n}");
        return name;
    }

    /// <summary>Whether a file that does not open was a log once: a stranger's file is never moved.</summary>
    public static bool WasALog(string path)
    {
        var start = new byte[4 << 20];
        using var stream = File.OpenRead(path);
        var read = stream.ReadAtLeast(start, start.Length, throwOnEndOfStream: false);
        return start.AsSpan(0, read).IndexOf("CREATE TABLE chunk (first_us"u8) >= 0 || start.AsSpan(0, read).IndexOf(Codec.ChunkEncoder.Magic) >= 0;
    }

    /// <summary>Renames a log with what belongs to it: without its write-ahead log it would miss the last commits.</summary>
    public static void Move(string from, string to)
    {
        foreach (var (source, target) in All(from).Zip(All(to)))
            if (File.Exists(source)) File.Move(source, target);
    }
}
