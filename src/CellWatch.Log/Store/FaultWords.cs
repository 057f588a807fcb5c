using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>Why the file cannot be written, in words with what to do.</summary>
internal static class FaultWords
{
    // Result codes from SQLite's documentation, "Result and Error Codes".
    /// <summary>The disk is full.</summary>
    public const int Full = 13;

    /// <summary>The file's structure is damaged.</summary>
    public const int Corrupt = 11;

    /// <summary>The file's header is damaged, or it never was a database.</summary>
    public const int NotADatabase = 26;

    /// <summary>The file, or what belongs to it, cannot be written.</summary>
    public const int ReadOnly = 8;

    /// <summary>The file, or what belongs to it, cannot be opened.</summary>
    public const int CannotOpen = 14;

    private const int Perm = 3, Busy = 5, IoError = 10;

    public static string Of(Exception e, string path) => e switch
    {
        SqliteException { SqliteErrorCode: Full } => T("the disk is full. Make room; recording goes on by itself."),
        SqliteException { SqliteErrorCode: ReadOnly or Perm } => T($"{path} cannot be written. Check its rights and those of its folder."),
        SqliteException { SqliteErrorCode: CannotOpen } => T($"{path} cannot be opened. Check that its folder exists and can be written."),
        SqliteException { SqliteErrorCode: Corrupt or NotADatabase } => T($"{path} is damaged. Run 'log repair'."),
        SqliteException { SqliteErrorCode: Busy } => T($"another program holds {path}."),
        SqliteException { SqliteErrorCode: IoError } s => T($"the disk reports an error ({s.SqliteExtendedErrorCode}). Check the disk and its room."),
        _ => e.Message,
    };
}
