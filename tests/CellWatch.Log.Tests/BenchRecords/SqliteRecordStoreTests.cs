using CellWatch.Core.Register;
using CellWatch.Log.BenchRecords;
using Microsoft.Data.Sqlite;
using Xunit;

namespace CellWatch.Log.Tests.BenchRecords;

public sealed class SqliteRecordStoreTests : IDisposable
{
    private static readonly DateTimeOffset At = new(2026, 3, 2, 9, 0, 0, 123, TimeSpan.FromHours(1));
    private readonly string path = Path.Combine(Path.GetTempPath(), $"records-{Guid.NewGuid():N}.cellwatch");

    [Fact]
    public void What_was_stored_is_there_after_the_file_is_opened_again()
    {
        BenchRecord stored;
        using (var store = SqliteRecordStore.Open(path)) stored = store.Append(Draft("module", "B07", 0));
        using var again = SqliteRecordStore.Open(path);
        Assert.Equal(stored, again.Latest("module", "B07"));
        Assert.Equal(At, again.Latest("module", "B07")!.At);
    }

    [Fact]
    public void Only_the_latest_revision_of_each_is_listed_and_history_holds_all()
    {
        using var store = SqliteRecordStore.Open(path);
        store.Append(Draft("module", "B07", 0));
        store.Append(Draft("module", "B07", 1));
        store.Append(Draft("module", "B08", 0));
        store.Append(Draft("run", "B07", 0));
        Assert.Equal([("B07", 2), ("B08", 1)], store.LatestOfKind("module").Select(r => (r.Key, r.Revision)));
        Assert.Equal([1, 2], store.History("module", "B07").Select(r => r.Revision));
        Assert.Equal(4, store.All().Count);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Several_at_once_are_stored_all_or_none(bool inMemory)
    {
        using var file = SqliteRecordStore.Open(path);
        IRecordStore store = inMemory ? new MemoryRecordStore() : file;
        Assert.Equal([1, 2], store.AppendAll([Draft("module", "B07", 0), Draft("module", "B07", 1)]).Select(r => r.Revision));
        Assert.Throws<RefusedException>(() => store.AppendAll([Draft("module", "B08", 0), Draft("module", "B07", 1)]));
        Assert.Null(store.Latest("module", "B08"));
        Assert.Equal(2, store.All().Count);
        Assert.Equal(3, store.Append(Draft("module", "B07", 2)).Revision);
    }

    [Fact]
    public void A_file_is_kept_once_under_its_digest_and_neither_changed_nor_removed()
    {
        using (var store = SqliteRecordStore.Open(path))
        {
            store.KeepFile("ab", new byte[] { 1, 2, 3 });
            store.KeepFile("ab", new byte[] { 9 });
            store.KeepFile("cd", new byte[] { 4 });
        }

        using (var again = SqliteRecordStore.Open(path))
        {
            Assert.Equal([1, 2, 3], again.File("ab"));
            Assert.Equal(["ab", "cd"], again.Files());
            Assert.Null(again.File("ef"));
        }

        using var connection = new SqliteConnection($"Data Source={path};Pooling=False");
        connection.Open();
        foreach (var sql in (string[])["UPDATE bench_file SET content = x'00'", "DELETE FROM bench_file"])
        {
            using var command = connection.CreateCommand();
            command.CommandText = sql;
            Assert.Contains("never", Assert.Throws<SqliteException>(() => command.ExecuteNonQuery()).Message, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Two_processes_on_one_record_the_second_is_refused_and_nothing_is_lost()
    {
        using var one = SqliteRecordStore.Open(path);
        using var other = SqliteRecordStore.Open(path);
        one.Append(Draft("module", "B07", 0));
        other.Append(Draft("module", "B07", 1) with { By = "Bea" });
        var refused = Assert.Throws<RefusedException>(() => one.Append(Draft("module", "B07", 1)));
        Assert.Contains("Bea stored revision 2", refused.Message, StringComparison.Ordinal);
        Assert.Equal(2, one.History("module", "B07").Count);
    }

    [Fact]
    public void A_record_can_neither_be_changed_nor_removed_by_anyone_with_the_file()
    {
        using var store = SqliteRecordStore.Open(path);
        store.Append(Draft("module", "B07", 0));
        using var stranger = new SqliteConnection($"Data Source={path};Pooling=False");
        stranger.Open();
        foreach (var sql in new[] { "UPDATE bench_record SET json = '{}'", "DELETE FROM bench_record" })
        {
            using var command = stranger.CreateCommand();
            command.CommandText = sql;
            Assert.Contains("never", Assert.Throws<SqliteException>(() => { command.ExecuteNonQuery(); }).Message, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task The_cell_log_opens_the_same_file_beside_it()
    {
        using (var store = SqliteRecordStore.Open(path)) store.Append(Draft("module", "B07", 0));
        await using (CellLog.Open(path))
        {
            using var beside = SqliteRecordStore.Open(path);
            beside.Append(Draft("module", "B07", 1));
        }

        using var after = SqliteRecordStore.Open(path);
        Assert.Equal(2, after.History("module", "B07").Count);
    }

    [Fact]
    public void A_strangers_database_is_not_written_to()
    {
        using (var stranger = new SqliteConnection($"Data Source={path};Pooling=False"))
        {
            stranger.Open();
            using var command = stranger.CreateCommand();
            command.CommandText = "CREATE TABLE theirs (x INTEGER)";
            command.ExecuteNonQuery();
        }

        Assert.Throws<InvalidDataException>(() => SqliteRecordStore.Open(path));
    }

    [Fact]
    public void A_folder_that_is_not_there_is_said_in_a_sentence() =>
        Assert.Contains("folder exists", Assert.Throws<IOException>(() => SqliteRecordStore.Open("/no/such/folder/x.cellwatch")).Message, StringComparison.Ordinal);

    public void Dispose()
    {
        foreach (var file in Directory.GetFiles(Path.GetTempPath(), Path.GetFileName(path) + "*")) File.Delete(file);
    }

    private static RecordDraft Draft(string kind, string key, int basedOn) => new(kind, key, basedOn, "Ada", At, true, "{\"x\":1}");
}
