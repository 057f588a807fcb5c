using System.Globalization;
using CellWatch.Core.Register;
using CellWatch.Log.Store;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.BenchRecords;

/// <summary>
/// Bench records in the site's file, beside the cell log, on a connection of its own. Rows are only ever added: triggers refuse a change or a
/// removal, whoever tries. Several processes may add; the one that comes second on the same thing is told.
/// </summary>
public sealed class SqliteRecordStore : IRecordStore, IDisposable
{
    /// <summary>The table and what guards it; made in a file that has none yet.</summary>
    internal const string Tables = """
        CREATE TABLE IF NOT EXISTS bench_record (
            sequence INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, key TEXT NOT NULL, revision INTEGER NOT NULL, by_whom TEXT NOT NULL,
            at TEXT NOT NULL, simulated INTEGER NOT NULL, json TEXT NOT NULL, UNIQUE (kind, key, revision)) STRICT;
        CREATE TRIGGER IF NOT EXISTS bench_record_kept BEFORE UPDATE ON bench_record BEGIN SELECT RAISE(ABORT, 'records are never changed'); END;
        CREATE TRIGGER IF NOT EXISTS bench_record_stays BEFORE DELETE ON bench_record BEGIN SELECT RAISE(ABORT, 'records are never removed'); END;
        CREATE TABLE IF NOT EXISTS bench_file (id INTEGER PRIMARY KEY AUTOINCREMENT, sha256 TEXT NOT NULL UNIQUE, content BLOB NOT NULL) STRICT;
        CREATE TRIGGER IF NOT EXISTS bench_file_kept BEFORE UPDATE ON bench_file BEGIN SELECT RAISE(ABORT, 'files are never changed'); END;
        CREATE TRIGGER IF NOT EXISTS bench_file_stays BEFORE DELETE ON bench_file BEGIN SELECT RAISE(ABORT, 'files are never removed'); END;
        """;

    private const string Columns = "sequence, kind, key, revision, by_whom, at, simulated, json";
    private readonly Lock gate = new();
    private readonly SqliteConnection connection;

    private SqliteRecordStore(SqliteConnection connection) => this.connection = connection;

    /// <summary>Opens the records of a site's file; a new file is made where there is none.</summary>
    /// <param name="path">The site's file.</param>
    /// <exception cref="InvalidDataException">It is somebody else's file, or of a later version.</exception>
    /// <exception cref="IOException">It cannot be opened or written; the message says what to do.</exception>
    public static SqliteRecordStore Open(string path)
    {
        var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Pooling = false, DefaultTimeout = 10 }.ConnectionString);
        try
        {
            connection.Open();
            connection.Run("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL");
            Schema.Ensure(connection);
            connection.Run(Tables);
            return new SqliteRecordStore(connection);
        }
        catch (SqliteException e)
        {
            connection.Dispose();
            throw new IOException($"The bench records cannot be opened: {FaultWords.Of(e, path)}", e);
        }
        catch (InvalidDataException)
        {
            connection.Dispose();
            throw;
        }
    }

    /// <inheritdoc/>
    public BenchRecord Append(RecordDraft draft) => AppendAll([draft])[0];

    /// <inheritdoc/>
    public IReadOnlyList<BenchRecord> AppendAll(IReadOnlyList<RecordDraft> drafts)
    {
        lock (gate)
        {
            // An immediate transaction: no other process can add between the look and the write.
            using var transaction = connection.BeginTransaction(deferred: false);
            var stored = drafts.Select(Insert).ToList();
            transaction.Commit();
            return stored;
        }
    }

    /// <inheritdoc/>
    public BenchRecord? Latest(string kind, string key)
    {
        lock (gate) return LatestOf(kind, key);
    }

    /// <inheritdoc/>
    public IReadOnlyList<BenchRecord> LatestOfKind(string kind)
    {
        lock (gate)
            return Read($"SELECT {Columns} FROM bench_record r WHERE kind = @kind AND revision = (SELECT max(revision) FROM bench_record WHERE kind = @kind AND key = r.key) ORDER BY key", ("@kind", kind));
    }

    /// <inheritdoc/>
    public IReadOnlyList<BenchRecord> History(string kind, string key)
    {
        lock (gate) return Read($"SELECT {Columns} FROM bench_record WHERE kind = @kind AND key = @key ORDER BY revision", ("@kind", kind), ("@key", key));
    }

    /// <inheritdoc/>
    public IReadOnlyList<BenchRecord> All()
    {
        lock (gate) return Read($"SELECT {Columns} FROM bench_record ORDER BY sequence");
    }

    /// <inheritdoc/>
    public void KeepFile(string sha256, ReadOnlyMemory<byte> content)
    {
        lock (gate) connection.Run("INSERT INTO bench_file (sha256, content) VALUES (@sha256, @content) ON CONFLICT DO NOTHING", ("@sha256", sha256), ("@content", content.ToArray()));
    }

    /// <inheritdoc/>
    public byte[]? File(string sha256)
    {
        lock (gate)
        {
            using var command = connection.With("SELECT content FROM bench_file WHERE sha256 = @sha256", ("@sha256", sha256));
            return command.ExecuteScalar() as byte[];
        }
    }

    /// <inheritdoc/>
    public IReadOnlyList<string> Files()
    {
        lock (gate)
        {
            using var command = connection.With("SELECT sha256 FROM bench_file ORDER BY id");
            using var reader = command.ExecuteReader();
            var digests = new List<string>();
            while (reader.Read()) digests.Add(reader.GetString(0));
            return digests;
        }
    }

    /// <inheritdoc/>
    public void Dispose() => connection.Dispose();

    private BenchRecord Insert(RecordDraft draft)
    {
        var revision = RevisionRule.Next(draft, LatestOf(draft.Kind, draft.Key));
        connection.Run(
            "INSERT INTO bench_record (kind, key, revision, by_whom, at, simulated, json) VALUES (@kind, @key, @revision, @by, @at, @simulated, @json)",
            ("@kind", draft.Kind), ("@key", draft.Key), ("@revision", revision), ("@by", draft.By), ("@at", draft.At.ToString("O", CultureInfo.InvariantCulture)),
            ("@simulated", draft.Simulated ? 1 : 0), ("@json", draft.Json));
        return new BenchRecord(connection.Number("SELECT last_insert_rowid()"), draft.Kind, draft.Key, revision, draft.By, draft.At, draft.Simulated, draft.Json);
    }

    private BenchRecord? LatestOf(string kind, string key) =>
        Read($"SELECT {Columns} FROM bench_record WHERE kind = @kind AND key = @key ORDER BY revision DESC LIMIT 1", ("@kind", kind), ("@key", key)).FirstOrDefault();

    private List<BenchRecord> Read(string sql, params ReadOnlySpan<(string Name, object? Value)> parameters)
    {
        using var command = connection.With(sql, parameters);
        using var reader = command.ExecuteReader();
        var records = new List<BenchRecord>();
        while (reader.Read())
            records.Add(new BenchRecord(
                reader.GetInt64(0), reader.GetString(1), reader.GetString(2), reader.GetInt32(3), reader.GetString(4),
                DateTimeOffset.Parse(reader.GetString(5), CultureInfo.InvariantCulture, DateTimeStyles.RoundtripKind), reader.GetInt64(6) != 0, reader.GetString(7)));
        return records;
    }
}
