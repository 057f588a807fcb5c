using System.Collections.Immutable;
using System.Text.Json;
using System.Text.Json.Serialization;
using CellWatch.Core.Commands;
using CellWatch.Core.History;
using CellWatch.Core.Rules;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>Rows beside the snapshots: alarms, events, commands, runs, notes, attachments, frozen stretches. Each method is one statement.</summary>
internal static class Records
{
    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web)
    {
        Converters = { new JsonStringEnumConverter() },
        NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals,
    };

    public static long AddAlarm(SqliteConnection c, AlarmTransition t) => Insert(
        c,
        "INSERT INTO alarm (wall_ms, elapsed_us, alarm, from_state, to_state, why, view) VALUES (@w, @e, @a, @f, @t, @y, @v)",
        ("@w", t.WallUnixMs),
        ("@e", t.ElapsedUs),
        ("@a", t.Id),
        ("@f", t.From.ToString()),
        ("@t", t.To.ToString()),
        ("@y", t.Why),
        ("@v", JsonSerializer.Serialize(t.Alarm, Json)));

    public static long AddEvent(SqliteConnection c, string kind, string text, long wallUnixMs, string by, double? lengthS) => Insert(
        c,
        "INSERT INTO event (wall_ms, kind, text, by_whom, length_s) VALUES (@w, @k, @t, @b, @l)",
        ("@w", wallUnixMs),
        ("@k", kind),
        ("@t", text),
        ("@b", by),
        ("@l", lengthS));

    public static long AddCommand(SqliteConnection c, PackCommand command, CommandAnswer answer, long wallUnixMs) => Insert(
        c,
        "INSERT INTO command (wall_ms, by_whom, command, details, accepted, answer) VALUES (@w, @b, @c, @d, @a, @s)",
        ("@w", wallUnixMs),
        ("@b", command.By),
        ("@c", command.GetType().Name),
        ("@d", JsonSerializer.Serialize(command, command.GetType(), Json)),
        ("@a", answer.Accepted ? 1 : 0),
        ("@s", answer.Message));

    public static long OpenRun(SqliteConnection c, RunKind kind, string title, long wallUnixMs, string by, string settings) => Insert(
        c,
        "INSERT INTO run (kind, title, from_ms, to_ms, opened_by, closed_by, settings) VALUES (@k, @t, @f, NULL, @b, '', @s)",
        ("@k", kind.ToString()),
        ("@t", title),
        ("@f", wallUnixMs),
        ("@b", by),
        ("@s", settings));

    public static bool CloseRun(SqliteConnection c, long run, long wallUnixMs, string by, string? settings) => c.Run(
        "UPDATE run SET to_ms = @t, closed_by = @b, settings = coalesce(@s, settings) WHERE id = @id AND to_ms IS NULL",
        ("@t", wallUnixMs),
        ("@b", by),
        ("@s", settings),
        ("@id", run)) == 1;

    public static long AddNote(SqliteConnection c, string text, long wallUnixMs, string by, long? run) => Insert(
        c,
        "INSERT INTO note (wall_ms, run, text, by_whom) VALUES (@w, @r, @t, @b)",
        ("@w", wallUnixMs),
        ("@r", run),
        ("@t", text),
        ("@b", by));

    public static long AddAttachment(SqliteConnection c, string name, string mediaType, byte[] content, long wallUnixMs, string by, long? run) => Insert(
        c,
        "INSERT INTO attachment (wall_ms, run, name, media_type, by_whom, content) VALUES (@w, @r, @n, @m, @b, @c)",
        ("@w", wallUnixMs),
        ("@r", run),
        ("@n", name),
        ("@m", AttachmentSeal.Seal(mediaType, content)),
        ("@b", by),
        ("@c", content));

    public static long AddFrozen(SqliteConnection c, Queries.LogRange stretch, FrozenWindow window) => Insert(
        c,
        "INSERT INTO frozen (from_us, to_us, from_ms, to_ms, reason) VALUES (@f, @t, @fm, @tm, @r)",
        ("@f", stretch.FromUs),
        ("@t", stretch.ToUs),
        ("@fm", window.Range.FromUnixMs),
        ("@tm", window.Range.ToUnixMs),
        ("@r", window.Reason));

    /// <summary>Freezes full rate around an alarm, unless a stretch already frozen covers nearly all of it.</summary>
    public static void FreezeAround(SqliteConnection c, AlarmTransition t, double aroundS)
    {
        if (c.MaybeNumber("SELECT offset_ms FROM clock ORDER BY from_us DESC LIMIT 1") is not { } offsetMs) return;
        var aroundMs = (long)(aroundS * 1000);
        var at = t.WallUnixMs - offsetMs;
        const int nearlyMs = 60_000;
        var covered = c.Number(
            "SELECT count(*) FROM frozen WHERE from_us <= @f AND to_us >= @t",
            ("@f", (at - aroundMs + nearlyMs) * 1000),
            ("@t", (at + aroundMs - nearlyMs) * 1000));
        if (covered > 0) return;
        AddFrozen(
            c,
            new Queries.LogRange((at - aroundMs) * 1000, (at + aroundMs) * 1000),
            new FrozenWindow(new TimeRange(t.WallUnixMs - aroundMs, t.WallUnixMs + aroundMs), t.Id));
    }

    public static ImmutableArray<AlarmRecord> Alarms(SqliteConnection c, TimeRange range, int most) => Newest(
        c,
        "SELECT id, alarm, from_state, to_state, elapsed_us, wall_ms, why, view FROM alarm",
        range,
        most,
        r => new AlarmRecord(
            r.GetInt64(0),
            new AlarmTransition(
                r.GetString(1),
                Enum.Parse<AlarmState>(r.GetString(2)),
                Enum.Parse<AlarmState>(r.GetString(3)),
                r.GetInt64(4),
                r.GetInt64(5),
                r.GetString(6),
                JsonSerializer.Deserialize<AlarmView>(r.GetString(7), Json)!)));

    public static ImmutableArray<EventRecord> Events(SqliteConnection c, TimeRange range, int most) => Newest(
        c,
        "SELECT id, wall_ms, kind, text, by_whom, length_s FROM event",
        range,
        most,
        r => new EventRecord(r.GetInt64(0), r.GetInt64(1), r.GetString(2), r.GetString(3), r.GetString(4), r.IsDBNull(5) ? null : r.GetDouble(5)));

    public static ImmutableArray<CommandRecord> Commands(SqliteConnection c, TimeRange range, int most) => Newest(
        c,
        "SELECT id, wall_ms, by_whom, command, details, accepted, answer FROM command",
        range,
        most,
        r => new CommandRecord(r.GetInt64(0), r.GetInt64(1), r.GetString(2), r.GetString(3), r.GetString(4), r.GetInt64(5) != 0, r.GetString(6)));

    public static ImmutableArray<RunRecord> Runs(SqliteConnection c, TimeRange range)
    {
        using var command = c.With(
            "SELECT id, kind, title, from_ms, to_ms, opened_by, closed_by, settings FROM run WHERE from_ms < @to AND coalesce(to_ms, @to) >= @from ORDER BY from_ms, id",
            ("@from", range.FromUnixMs),
            ("@to", range.ToUnixMs));
        return All(command, r => new RunRecord(r.GetInt64(0), Enum.Parse<RunKind>(r.GetString(1)), r.GetString(2), r.GetInt64(3), r.MaybeInt64(4), r.GetString(5), r.GetString(6), r.GetString(7)));
    }

    public static ImmutableArray<NoteRecord> Notes(SqliteConnection c, TimeRange range) => Newest(
        c,
        "SELECT id, wall_ms, run, text, by_whom FROM note",
        range,
        int.MaxValue,
        r => new NoteRecord(r.GetInt64(0), r.GetInt64(1), r.MaybeInt64(2), r.GetString(3), r.GetString(4)));

    public static ImmutableArray<AttachmentRecord> Attachments(SqliteConnection c, TimeRange range) => Newest(
        c,
        "SELECT id, wall_ms, run, name, media_type, length(content), by_whom FROM attachment",
        range,
        int.MaxValue,
        r => new AttachmentRecord(r.GetInt64(0), r.GetInt64(1), r.MaybeInt64(2), r.GetString(3), AttachmentSeal.Bare(r.GetString(4)), r.GetInt64(5), r.GetString(6)));

    public static byte[]? Attachment(SqliteConnection c, long id)
    {
        using var command = c.With("SELECT content, media_type, name FROM attachment WHERE id = @id", ("@id", id));
        using var reader = command.ExecuteReader();
        if (!reader.Read()) return null;
        var content = reader.Bytes(0);
        if (!AttachmentSeal.Holds(reader.GetString(1), content)) throw new InvalidDataException($"Attachment {id} ({reader.GetString(2)}) does not read: its checksum is wrong.");
        return content;
    }

    public static ImmutableArray<FrozenWindow> Frozen(SqliteConnection c)
    {
        using var command = c.With("SELECT from_ms, to_ms, reason FROM frozen ORDER BY from_us");
        return All(command, r => new FrozenWindow(new TimeRange(r.GetInt64(0), r.GetInt64(1)), r.GetString(2)));
    }

    private static long Insert(SqliteConnection c, string sql, params ReadOnlySpan<(string Name, object? Value)> parameters)
    {
        c.Run(sql, parameters);
        return c.Number("SELECT last_insert_rowid()");
    }

    private static ImmutableArray<T> Newest<T>(SqliteConnection c, string select, TimeRange range, int most, Func<SqliteDataReader, T> read)
    {
        using var command = c.With(
            $"SELECT * FROM ({select} WHERE wall_ms >= @from AND wall_ms < @to ORDER BY wall_ms DESC, id DESC LIMIT @most) ORDER BY wall_ms, id",
            ("@from", range.FromUnixMs),
            ("@to", range.ToUnixMs),
            ("@most", most));
        return All(command, read);
    }

    private static ImmutableArray<T> All<T>(SqliteCommand command, Func<SqliteDataReader, T> read)
    {
        using var reader = command.ExecuteReader();
        var rows = ImmutableArray.CreateBuilder<T>();
        while (reader.Read()) rows.Add(read(reader));
        return rows.ToImmutable();
    }
}
