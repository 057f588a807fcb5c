using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>The tables of a site's file. Their meaning is drawn in DEVELOPERS.md, "The cell log".</summary>
internal static class Schema
{
    /// <summary>Version of the tables, in the file's <c>user_version</c>.</summary>
    public const int Version = 1;

    /// <summary>"CeLg" in the file's <c>application_id</c>, so that a stranger's database is not written to.</summary>
    public const int ApplicationId = 0x43654C67;

    /// <summary>
    /// A commit a second writes the last page of the tail: small pages halve what a memory card has to bear (measured, see DEVELOPERS.md).
    /// </summary>
    public const int PageSize = 1024;

    private const string Tables = """
        CREATE TABLE meta (key TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
        CREATE TABLE layout (revision INTEGER PRIMARY KEY, since_us INTEGER NOT NULL, definition TEXT NOT NULL) STRICT;
        CREATE TABLE session (id INTEGER PRIMARY KEY, base_us INTEGER NOT NULL, first_us INTEGER NOT NULL, ended_us INTEGER) STRICT;
        CREATE TABLE clock (from_us INTEGER PRIMARY KEY, offset_ms INTEGER NOT NULL, step_ms INTEGER NOT NULL) STRICT;
        CREATE TABLE tail (first_us INTEGER PRIMARY KEY, block BLOB NOT NULL) STRICT;
        CREATE TABLE chunk (first_us INTEGER PRIMARY KEY, last_us INTEGER NOT NULL, snapshots INTEGER NOT NULL, block BLOB NOT NULL) STRICT;
        CREATE TABLE roll_10s (first_us INTEGER PRIMARY KEY, end_us INTEGER NOT NULL, block BLOB NOT NULL) STRICT;
        CREATE TABLE roll_1min (first_us INTEGER PRIMARY KEY, end_us INTEGER NOT NULL, block BLOB NOT NULL) STRICT;
        CREATE TABLE roll_10min (first_us INTEGER PRIMARY KEY, end_us INTEGER NOT NULL, block BLOB NOT NULL) STRICT;
        CREATE TABLE frozen (id INTEGER PRIMARY KEY, from_us INTEGER NOT NULL, to_us INTEGER NOT NULL, from_ms INTEGER NOT NULL, to_ms INTEGER NOT NULL, reason TEXT NOT NULL) STRICT;
        CREATE TABLE alarm (id INTEGER PRIMARY KEY, wall_ms INTEGER NOT NULL, elapsed_us INTEGER NOT NULL, alarm TEXT NOT NULL, from_state TEXT NOT NULL, to_state TEXT NOT NULL, why TEXT NOT NULL, view TEXT NOT NULL) STRICT;
        CREATE TABLE event (id INTEGER PRIMARY KEY, wall_ms INTEGER NOT NULL, kind TEXT NOT NULL, text TEXT NOT NULL, by_whom TEXT NOT NULL, length_s REAL) STRICT;
        CREATE TABLE command (id INTEGER PRIMARY KEY, wall_ms INTEGER NOT NULL, by_whom TEXT NOT NULL, command TEXT NOT NULL, details TEXT NOT NULL, accepted INTEGER NOT NULL, answer TEXT NOT NULL) STRICT;
        CREATE TABLE run (id INTEGER PRIMARY KEY, kind TEXT NOT NULL, title TEXT NOT NULL, from_ms INTEGER NOT NULL, to_ms INTEGER, opened_by TEXT NOT NULL, closed_by TEXT NOT NULL, settings TEXT NOT NULL) STRICT;
        CREATE TABLE note (id INTEGER PRIMARY KEY, wall_ms INTEGER NOT NULL, run INTEGER, text TEXT NOT NULL, by_whom TEXT NOT NULL) STRICT;
        CREATE TABLE attachment (id INTEGER PRIMARY KEY, wall_ms INTEGER NOT NULL, run INTEGER, name TEXT NOT NULL, media_type TEXT NOT NULL, by_whom TEXT NOT NULL, content BLOB NOT NULL) STRICT;
        CREATE INDEX alarm_by_time ON alarm (wall_ms);
        CREATE INDEX event_by_time ON event (wall_ms);
        CREATE INDEX command_by_time ON command (wall_ms);
        """;

    /// <summary>Creates the tables in a new file, or checks that an old one is ours and of a version we know.</summary>
    /// <exception cref="InvalidDataException">It is somebody else's file, or of a later version.</exception>
    public static void Ensure(SqliteConnection connection)
    {
        var version = connection.Number("PRAGMA user_version");
        var application = connection.Number("PRAGMA application_id");
        if (version == 0 && application == 0 && connection.Number("SELECT count(*) FROM sqlite_master") == 0)
        {
            using var transaction = connection.BeginTransaction();
            connection.Run(Tables);
            connection.Run($"PRAGMA application_id = {ApplicationId}; PRAGMA user_version = {Version}");
            transaction.Commit();
            return;
        }

        Check(connection);
    }

    /// <summary>Checks that a file is ours and of a version we know.</summary>
    /// <exception cref="InvalidDataException">It is somebody else's file, or of a later version.</exception>
    public static void Check(SqliteConnection connection)
    {
        var version = connection.Number("PRAGMA user_version");
        if (connection.Number("PRAGMA application_id") != ApplicationId) throw new InvalidDataException($"{connection.DataSource} is not a cell log. Give another file name.");
        if (version > Version) throw new InvalidDataException($"{connection.DataSource} is a cell log of version {version}; this program knows version {Version}. Use the newer program.");
    }
}
