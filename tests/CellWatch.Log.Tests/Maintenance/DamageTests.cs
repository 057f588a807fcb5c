using CellWatch.Core.History;
using CellWatch.Core.Register;
using CellWatch.Core.Snapshots;
using CellWatch.Log.BenchRecords;
using CellWatch.Log.Maintenance;
using CellWatch.Testing;
using Microsoft.Data.Sqlite;
using Xunit;

namespace CellWatch.Log.Tests.Maintenance;

public sealed class DamageTests : IDisposable
{
    private static readonly DateTimeOffset Now = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);

    private readonly TemporaryFolder _folder = new();
    private readonly Snapshot[] _written = new SyntheticPack(modules: 2).Next(8000);

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task A_sound_log_is_said_to_be_sound_and_repair_changes_nothing()
    {
        await WriteAsync();
        var report = LogMaintenance.Check(_folder.File());
        Assert.True(report.IsSound, report.InWords());
        Assert.Equal(8000, report.Snapshots);

        var repair = LogMaintenance.Repair(_folder.File(), Now);
        Assert.True(repair.After.IsSound, repair.After.InWords());
        await using var log = CellLog.Open(_folder.File());
        CellLogTests.AssertSame(_written, await CellLogTests.ReadAll(log));
    }

    [Fact]
    public async Task Ten_damaged_places_are_named_exactly_and_everything_else_is_served()
    {
        await WriteAsync();
        var expected = DamageBlocks("chunk", everyOther: 1, places: 10);
        var report = LogMaintenance.Check(_folder.File());

        var lost = report.Lost.Where(l => l.What == "full rate").ToArray();
        Assert.Equal(expected.Select(e => (e.FromMs, (long?)e.Snapshots)), lost.Select(l => (l.Range!.Value.FromUnixMs, l.Snapshots)));
        Assert.All(lost, l => Assert.Equal("its checksum is wrong", l.Reason));
        Assert.All(lost, l => Assert.StartsWith("Least, greatest and mean", l.StandIn, StringComparison.Ordinal));
        Assert.Equal(8000 - expected.Sum(e => e.Snapshots), report.Snapshots);

        await using var log = CellLog.Open(_folder.File());
        var left = await CellLogTests.ReadAll(log);
        Assert.Equal(report.Snapshots, left.Count);
        CellLogTests.AssertSame([.. _written.Where(w => left.Exists(l => l.Sequence == w.Sequence))], left);
        // What is damaged at full rate is answered from the roll-ups: nothing is missing from the picture.
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], TimeRange.All, 4000));
        Assert.Equal(8000, traces.Columns.Snapshots.Sum());
        Assert.Equal(_written.Min(s => s.RawValues[0]), traces.Channels[0].Min.Min());
        await log.FlushAsync();
        Assert.Equal(10, (await log.ReadEventsAsync(TimeRange.All)).Count(e => e.Kind == EventKinds.Damage));
    }

    [Fact]
    public async Task Repair_leaves_out_what_does_not_read_and_makes_roll_ups_anew()
    {
        await WriteAsync();
        DamageBlocks("chunk", everyOther: 5, places: 2);
        DamageBlocks("roll_10s", everyOther: 1, places: 2);
        var repair = LogMaintenance.Repair(_folder.File(), Now);

        Assert.True(File.Exists(repair.DamagedFile));
        Assert.Equal(4, repair.Found.Lost.Count);
        Assert.Empty(repair.After.Structure);
        Assert.Equal(repair.Found.Snapshots, repair.After.Snapshots);
        // A chunk and its own roll-up may both have been hit; every other roll-up is whole again.
        Assert.DoesNotContain(repair.After.Lost, l => l.What == "10 s roll-up");
        await using var log = CellLog.Open(_folder.File());
        Assert.Equal(repair.Found.Snapshots, (await CellLogTests.ReadAll(log)).Count);
        Assert.Contains(await log.ReadEventsAsync(TimeRange.All), e => e.Text.Contains("repaired", StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_block_that_is_gone_is_told_by_the_roll_up_of_its_hour_to_the_snapshot()
    {
        await WriteAsync();
        List<(long FromUs, long Snapshots)> gone = [];
        using (var connection = new SqliteConnection($"Data Source={_folder.File()};Pooling=False"))
        {
            connection.Open();
            using var command = connection.CreateCommand();
            // Two that lie together and one alone.
            command.CommandText = "DELETE FROM chunk WHERE first_us IN (SELECT first_us FROM chunk ORDER BY first_us LIMIT 2 OFFSET 2) OR first_us IN (SELECT first_us FROM chunk ORDER BY first_us LIMIT 1 OFFSET 8) RETURNING first_us, snapshots";
            using var reader = command.ExecuteReader();
            while (reader.Read()) gone.Add((reader.GetInt64(0), reader.GetInt64(1)));
        }

        var report = LogMaintenance.Check(_folder.File());
        Assert.Equal(3, gone.Count);
        Assert.Equal(gone.Select(g => ((long?)(g.FromUs / 1000), (long?)g.Snapshots)), report.Lost.Select(l => (l.Range?.FromUnixMs, l.Snapshots)));
        Assert.All(report.Lost, l => Assert.Equal("its block is gone", l.Reason));
    }

    [Fact]
    public async Task Blocks_of_an_hour_are_joined_but_never_across_one_that_does_not_read()
    {
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(_written[..2400]);
        DamageBlocks("roll_10s", everyOther: 3, places: 1);
        await log.AppendAllAsync(_written[2400..]);

        using (var connection = new SqliteConnection($"Data Source={_folder.File()};Pooling=False;Mode=ReadOnly"))
        {
            connection.Open();
            using var command = connection.CreateCommand();
            command.CommandText = "SELECT group_concat((end_us - first_us) / 1000000) FROM (SELECT * FROM roll_10s ORDER BY first_us)";
            // The record begins at 14:13:20. Before the damaged block 1000 s are one block, after it 1200 s; then a whole hour; then what is not yet an hour.
            Assert.Equal("1000,600,1200,3600,600,600", command.ExecuteScalar());
        }

        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], TimeRange.All, 500));
        Assert.Equal(8000, traces.Columns.Snapshots.Sum());
        Assert.Equal(_written.Max(s => s.RawValues[0]), traces.Channels[0].Max.Max());
        Assert.DoesNotContain(true, traces.Columns.BreakBefore);
    }

    [Fact]
    public async Task Bits_flipped_anywhere_never_stop_the_log_from_opening_or_hide_what_still_reads()
    {
        await WriteAsync();
        var whole = File.ReadAllBytes(_folder.File());
        var random = new Random(4);
        // One flip in every fiftieth of the file: header, schema, trees, tail, blocks, roll-ups.
        for (var region = 0; region < 50; region++)
        {
            var bytes = whole.ToArray();
            var at = (int)((region + random.NextDouble()) * bytes.Length / 50);
            if (region == 0) at = random.Next(0, 100);
            bytes[at] ^= (byte)(1 << random.Next(8));
            var path = _folder.File($"flip{region}.cellog");
            File.WriteAllBytes(path, bytes);

            var report = LogMaintenance.Check(path);
            Assert.True(report.Snapshots >= 8000 - 600, $"a flip at {at} hides more than a block: {report.InWords()}");
            await using (var log = CellLog.Open(path))
            {
                await log.FlushAsync();
                Assert.True(log.Recording.IsRecording, log.Recording.Sentence);
                log.Append(_written[0]);
                await log.FlushAsync();
            }
        }
    }

    [Fact]
    public async Task A_file_cut_anywhere_gives_what_lies_before_the_cut()
    {
        await WriteAsync();
        var whole = File.ReadAllBytes(_folder.File());
        for (var tenth = 1; tenth < 10; tenth++)
        {
            var path = _folder.File($"cut{tenth}.cellog");
            File.WriteAllBytes(path, whole[..(whole.Length * tenth / 10)]);
            var repair = LogMaintenance.Repair(path, Now);
            Assert.True(repair.After.Structure.Count == 0, repair.After.InWords());
            // Blocks lie in the file roughly in the order they were written; two blocks' worth may straddle the cut.
            Assert.True(repair.After.Snapshots >= (8000 * (tenth - 1) / 10) - 1200, $"cut at {tenth} tenths leaves {repair.After.Snapshots}: {repair.Found.InWords()}");
            await using var log = CellLog.Open(path);
            Assert.Equal(repair.After.Snapshots, (await CellLogTests.ReadAll(log)).Count);
        }
    }

    [Fact]
    public async Task A_log_whose_header_is_gone_is_put_aside_whole_recording_goes_on_and_repair_brings_it_back()
    {
        await WriteAsync();
        var bytes = File.ReadAllBytes(_folder.File());
        bytes.AsSpan(0, 100).Clear();
        File.WriteAllBytes(_folder.File(), bytes);
        var fresh = new SyntheticPack(modules: 2, seed: 5).Next(30);
        await using (var log = CellLog.Open(_folder.File()))
        {
            await log.AppendAllAsync(fresh);
            Assert.True(log.Recording.IsRecording, log.Recording.Sentence);
            CellLogTests.AssertSame(fresh, await CellLogTests.ReadAll(log));
            Assert.Contains(await log.ReadEventsAsync(TimeRange.All), e => e.Kind == EventKinds.Damage && e.Text.Contains("put aside", StringComparison.Ordinal));
        }

        var aside = Assert.Single(Directory.GetFiles(_folder.Path, "*.damaged-*"));
        var repair = LogMaintenance.Repair(aside, Now);
        Assert.False(repair.Found.Opens);
        Assert.Equal(8000, repair.After.Snapshots);
        Assert.True(repair.After.IsSound, repair.After.InWords());
        await using var back = CellLog.Open(aside);
        CellLogTests.AssertSame(_written, await CellLogTests.ReadAll(back));
        Assert.Equal("kettle on", Assert.Single(await back.ReadEventsAsync(TimeRange.All), e => e.Kind == EventKinds.Mark).Text);
    }

    [Fact]
    public async Task Repair_keeps_the_bench_records_in_the_same_file()
    {
        await WriteAsync();
        using (var store = SqliteRecordStore.Open(_folder.File()))
            for (var i = 1; i <= 3; i++) store.Append(new RecordDraft("module", $"B{i:00}", 0, "Ada", Now, false, "{}"));
        DamageBlocks("chunk", everyOther: 2, places: 1);
        LogMaintenance.Repair(_folder.File(), Now);

        using var repaired = SqliteRecordStore.Open(_folder.File());
        Assert.Equal(["B01", "B02", "B03"], repaired.All().Select(r => r.Key));
        // The file header gone: they come from the bare pages.
        repaired.Dispose();
        SqliteConnection.ClearAllPools();
        var bytes = File.ReadAllBytes(_folder.File());
        bytes.AsSpan(0, 100).Clear();
        File.WriteAllBytes(_folder.File(), bytes);
        foreach (var left in (string[])["-wal", "-shm"]) File.Delete(_folder.File() + left);
        LogMaintenance.Repair(_folder.File(), Now);
        using var again = SqliteRecordStore.Open(_folder.File());
        Assert.Equal(["B01", "B02", "B03"], again.All().Select(r => r.Key));
    }

    [Fact]
    public async Task Repair_keeps_the_files_of_modules_and_a_changed_one_is_named()
    {
        await WriteAsync();
        byte[] photograph = [.. Enumerable.Range(0, 5000).Select(i => (byte)(i * 7))], other = [1, 2, 3];
        string Sha(byte[] b) => Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(b));
        using (var store = SqliteRecordStore.Open(_folder.File()))
        {
            store.KeepFile(Sha(photograph), photograph);
            store.KeepFile(Sha(other), new byte[] { 3, 2, 1 });
        }

        Assert.Contains(LogMaintenance.Check(_folder.File()).Lost, l => l.What == $"file {Sha(other)[..12]} of a module" && l.Reason.Contains("SHA-256", StringComparison.Ordinal));
        DamageBlocks("chunk", everyOther: 2, places: 1);
        LogMaintenance.Repair(_folder.File(), Now);
        SqliteConnection.ClearAllPools();
        // The file header gone: they come from the bare pages.
        var bytes = File.ReadAllBytes(_folder.File());
        bytes.AsSpan(0, 100).Clear();
        File.WriteAllBytes(_folder.File(), bytes);
        foreach (var left in (string[])["-wal", "-shm"]) File.Delete(_folder.File() + left);
        LogMaintenance.Repair(_folder.File(), Now);
        using var again = SqliteRecordStore.Open(_folder.File());
        Assert.Equal([Sha(photograph), Sha(other)], again.Files());
        Assert.Equal(photograph, again.File(Sha(photograph)));
    }

    [Fact]
    public async Task Repair_of_a_log_in_use_is_refused()
    {
        await using var log = CellLog.Open(_folder.File());
        await log.FlushAsync();
        Assert.Throws<LogInUseException>(() => LogMaintenance.Repair(_folder.File(), Now));
        Assert.True(LogMaintenance.Check(_folder.File()).Opens);
    }

    private async Task WriteAsync()
    {
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(_written);
        log.RecordEvent(EventKinds.Mark, "kettle on", _written[0].Time, "Ada");
        await log.FlushAsync();
    }

    /// <summary>Changes one bit in the middle of some blocks; gives when they begin and how many snapshots they hold.</summary>
    private List<(long FromMs, int Snapshots)> DamageBlocks(string table, int everyOther, int places)
    {
        using var connection = new SqliteConnection($"Data Source={_folder.File()};Pooling=False");
        connection.Open();
        var rows = new List<(long Id, byte[] Block, int Snapshots)>();
        using (var select = connection.CreateCommand())
        {
            select.CommandText = $"SELECT first_us, block, {(table == "chunk" ? "snapshots" : "0")} FROM {table} ORDER BY first_us";
            using var reader = select.ExecuteReader();
            while (reader.Read()) rows.Add((reader.GetInt64(0), (byte[])reader.GetValue(1), reader.GetInt32(2)));
        }

        var damaged = rows.Where((_, i) => i % everyOther == everyOther - 1).Take(places).ToList();
        foreach (var (id, block, _) in damaged)
        {
            block[block.Length / 2] ^= 0x10;
            using var update = connection.CreateCommand();
            update.CommandText = $"UPDATE {table} SET block = @b WHERE first_us = @id";
            update.Parameters.AddWithValue("@b", block);
            update.Parameters.AddWithValue("@id", id);
            update.ExecuteNonQuery();
        }

        return [.. damaged.Select(d => (d.Id / 1000, d.Snapshots))];
    }
}
