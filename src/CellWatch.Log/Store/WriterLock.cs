using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>
/// Holds a site's file for one writer: a lock on a file beside the log, which the operating system gives up by itself when the process ends,
/// however it ends. Who holds it is written in the log itself.
/// </summary>
internal sealed class WriterLock : IDisposable
{
    // What the operating systems answer when another process holds the lock: EAGAIN on Linux and on BSD, ERROR_SHARING_VIOLATION on Windows.
    private const int LinuxAgain = 11, BsdAgain = 35, WindowsSharing = 32;

    private readonly FileStream _file;

    private WriterLock(FileStream file) => _file = file;

    /// <summary>Takes the lock.</summary>
    /// <param name="logPath">The log's path.</param>
    /// <exception cref="LogInUseException">Another service holds it.</exception>
    /// <exception cref="IOException">The folder cannot be written.</exception>
    /// <exception cref="UnauthorizedAccessException">Likewise.</exception>
    public static WriterLock Take(string logPath)
    {
        try
        {
            return new WriterLock(new FileStream(logPath + ".lock", FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None));
        }
        catch (IOException e) when ((e.HResult & 0xFFFF) is LinuxAgain or BsdAgain or WindowsSharing)
        {
            throw new LogInUseException($"{logPath} is being written by another service ({HolderOf(logPath)}). Stop that one first, or name another file for this one.", e);
        }
    }

    public void Dispose() => _file.Dispose();

    private static string HolderOf(string logPath)
    {
        try
        {
            using var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = logPath, Mode = SqliteOpenMode.ReadOnly, Pooling = false }.ConnectionString);
            connection.Open();
            using var command = connection.With("SELECT value FROM meta WHERE key = 'writer'");
            return command.ExecuteScalar() as string ?? "it has not given its name yet";
        }
        catch (SqliteException)
        {
            return "it has not given its name yet";
        }
    }
}
