using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>How a log is opened by whoever only reads it.</summary>
internal static class ReadOnlyFile
{
    /// <summary>Connects to a file that a service may be writing.</summary>
    public static string ConnectionTo(string path) =>
        new SqliteConnectionStringBuilder { DataSource = path, Mode = SqliteOpenMode.ReadOnly, DefaultTimeout = 5 }.ConnectionString;

    /// <summary>Connects to a file that is there, after a look whether it is a cell log.</summary>
    /// <exception cref="FileNotFoundException">There is no such file.</exception>
    /// <exception cref="InvalidDataException">It is not a cell log, of a later version, or does not open.</exception>
    public static string Verified(string path)
    {
        if (!File.Exists(path)) throw new FileNotFoundException($"There is no file {path}.", path);
        try
        {
            return Look(ConnectionTo(path));
        }
        catch (SqliteException e) when (e.SqliteErrorCode is FaultWords.CannotOpen or FaultWords.ReadOnly && !File.Exists(path + "-wal"))
        {
            // On a medium that cannot be written SQLite can make no index of its write-ahead log; nobody else can be writing there either.
            return Look(new SqliteConnectionStringBuilder { DataSource = $"file:{Uri.EscapeDataString(Path.GetFullPath(path)).Replace("%2F", "/", StringComparison.Ordinal)}?immutable=1", Mode = SqliteOpenMode.ReadOnly }.ConnectionString);
        }
        catch (SqliteException e)
        {
            throw new InvalidDataException(FaultWords.Of(e, path), e);
        }

        static string Look(string connectionString)
        {
            using var connection = new SqliteConnection(connectionString);
            connection.Open();
            Schema.Check(connection);
            return connectionString;
        }
    }
}
