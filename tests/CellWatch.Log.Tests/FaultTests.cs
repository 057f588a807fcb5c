using System.Diagnostics;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;
using Microsoft.Data.Sqlite;
using Xunit;

namespace CellWatch.Log.Tests;

/// <summary>Disks that fill, folders that cannot be written, tools from outside.</summary>
public sealed class FaultTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [SmallDiskFact]
    public async Task A_full_disk_is_said_waits_in_memory_and_loses_nothing_when_room_is_made()
    {
        using var disk = new SmallDisk(6);
        var filler = Path.Combine(disk.Path, "filler");
        var pack = new SyntheticPack(modules: 3);
        var written = pack.Next(1200);
        await using var log = CellLog.Open(Path.Combine(disk.Path, "a.cellog"), new CellLogOptions { CommitEveryS = 0.2 });
        await log.AppendAllAsync(written[..600]);
        Fill(filler);
        foreach (var s in written[600..]) log.Append(s);
        await UntilAsync(() => !log.Recording.IsRecording);

        Assert.StartsWith("NOT RECORDING from about ", log.Recording.Sentence, StringComparison.Ordinal);
        Assert.Contains("disk is full", log.Recording.Sentence, StringComparison.Ordinal);
        Assert.NotNull(log.Recording.SinceUnixMs);
        // Reading goes on.
        Assert.NotEmpty((await log.ReadTracesAsync(new TraceQuery(["B01.1"], TimeRange.All, 100))).Columns.StartUnixMs);

        File.Delete(filler);
        await log.FlushAsync();
        Assert.True(log.Recording.IsRecording, log.Recording.Sentence);
        CellLogTests.AssertSame(written, await CellLogTests.ReadAll(log));
    }

    [SmallDiskFact]
    public async Task A_folder_that_cannot_be_written_is_said_and_tried_again()
    {
        using var disk = new SmallDisk(6);
        disk.Remount("ro");
        await using var log = CellLog.Open(Path.Combine(disk.Path, "a.cellog"));
        var written = new SyntheticPack(modules: 1).Next(20);
        foreach (var s in written) log.Append(s);
        await UntilAsync(() => log.Recording.Sentence.StartsWith("NOT RECORDING", StringComparison.Ordinal));

        disk.Remount("rw");
        await log.FlushAsync();
        Assert.True(log.Recording.IsRecording, log.Recording.Sentence);
        CellLogTests.AssertSame(written, await CellLogTests.ReadAll(log));
    }

    [Fact]
    public async Task What_waits_longer_than_memory_holds_is_given_up_and_the_gap_is_recorded()
    {
        var path = _folder.File();
        // A directory where the file should be: nothing can be written until it goes.
        Directory.CreateDirectory(path);
        var written = new SyntheticPack(modules: 1).Next(50);
        await using var log = CellLog.Open(path, new CellLogOptions { QueueSnapshots = 20 });
        foreach (var s in written) log.Append(s);
        await UntilAsync(() => log.Recording.Sentence.StartsWith("NOT RECORDING", StringComparison.Ordinal));
        Directory.Delete(path);
        await log.FlushAsync();

        CellLogTests.AssertSame(written[30..], await CellLogTests.ReadAll(log));
        var gap = Assert.Single(await log.ReadEventsAsync(TimeRange.All), e => e.Kind == EventKinds.Gap);
        Assert.Equal(29, gap.LengthS);
        Assert.StartsWith("30 snapshots", gap.Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_strangers_database_is_not_written_to()
    {
        using (var connection = new SqliteConnection($"Data Source={_folder.File()};Pooling=False"))
        {
            connection.Open();
            using var command = connection.CreateCommand();
            command.CommandText = "CREATE TABLE songs (name TEXT)";
            command.ExecuteNonQuery();
        }

        var before = File.ReadAllBytes(_folder.File());
        await using (var log = CellLog.Open(_folder.File()))
        {
            log.Append(new SyntheticPack(modules: 1).Next());
            await UntilAsync(() => log.Recording.Sentence.StartsWith("NOT RECORDING", StringComparison.Ordinal));
            Assert.Contains("is not a cell log", log.Recording.Sentence, StringComparison.Ordinal);
        }

        using var after = new SqliteConnection($"Data Source={_folder.File()};Pooling=False;Mode=ReadOnly");
        after.Open();
        using var tables = after.CreateCommand();
        tables.CommandText = "SELECT group_concat(name) FROM sqlite_master";
        Assert.Equal("songs", tables.ExecuteScalar());
        Assert.NotEmpty(before);
    }

    /// <summary>Outside source: the sqlite3 shell.</summary>
    [ShellFact("sqlite3")]
    public async Task The_sqlite3_shell_opens_the_file_and_its_integrity_check_passes()
    {
        await using (var log = CellLog.Open(_folder.File())) await log.AppendAllAsync(new SyntheticPack(modules: 2).Next(1500));
        var check = Run("sqlite3", _folder.File(), "PRAGMA integrity_check; SELECT sum(snapshots) FROM chunk; SELECT count(*) FROM tail;");
        Assert.Equal("ok\n1500\n0\n", check);
    }

    [Fact]
    public async Task When_room_is_short_the_oldest_full_rate_gives_way_and_frozen_stretches_stay()
    {
        var free = 1L << 40;
        var rule = new Retention { FullRateAtLeastDays = 0.1, LeaveFreeBytes = 1 << 20 };
        var pack = new SyntheticPack(modules: 1) { PeriodUs = 10_000_000 };
        var written = pack.Next(8640);
        await using var log = CellLog.Open(_folder.File(), new CellLogOptions { Retention = rule, FreeBytes = _ => Interlocked.Read(ref free), LookAtRoomEveryS = 0 });
        await log.AppendAllAsync(written);
        await log.FreezeAsync(new FrozenWindow(new TimeRange(written[1000].Time.WallUnixMs, written[1060].Time.WallUnixMs), "cell-high.B01.2"));
        Interlocked.Exchange(ref free, 0);
        log.RecordEvent(EventKinds.Mark, "look", written[^1].Time);
        await UntilAsync(async () => (await log.ReadEventsAsync(TimeRange.All)).Any(e => e.Kind == EventKinds.Thinned));
        await log.FlushAsync();
        await log.FlushAsync();

        var left = await CellLogTests.ReadAll(log);
        Assert.True(left.Count < 8640);
        Assert.Contains(left, s => s.Sequence == 1030);
        Assert.DoesNotContain(left, s => s.Sequence == 500);
        Assert.Contains(left, s => s.Sequence == 8640 - 800);
        // What was thinned still answers, with its true extremes.
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], new TimeRange(written[400].Time.WallUnixMs, written[520].Time.WallUnixMs), 2000));
        Assert.Equal(written[400..520].Max(s => s.RawValues[0]), traces.Channels[0].Max.Max());
        Assert.StartsWith("NOT RECORDING from about ", log.Recording.Sentence, StringComparison.Ordinal);
        Assert.True(log.Recording.IsRecording);
    }

    [Fact]
    public async Task Days_beyond_the_rule_are_thinned_to_10_s_and_then_to_1_min()
    {
        var rule = new Retention { FullRateDays = 1, TenSecondDays = 2, FullRateAtLeastDays = 0.5 };
        var pack = new SyntheticPack(modules: 1) { PeriodUs = 30_000_000 };
        var written = pack.Next(5 * 2880);
        await using var log = CellLog.Open(_folder.File(), new CellLogOptions { Retention = rule, LookAtRoomEveryS = 0 });
        await log.AppendAllAsync(written);
        await log.FlushAsync();

        var left = await CellLogTests.ReadAll(log);
        Assert.InRange(written[^1].Time.WallUnixMs - left[0].Time.WallUnixMs, 86_000_000, 2 * 86_400_000);
        var all = await log.ReadTracesAsync(new TraceQuery(["B01.1"], TimeRange.All, 100_000));
        Assert.InRange(all.Columns.Snapshots.Sum(), 5 * 2880 - 25, 5 * 2880);
        Assert.Equal(written.Min(s => s.RawValues[0]), all.Channels[0].Min.Min());
        Assert.Equal(written.Max(s => s.RawValues[0]), all.Channels[0].Max.Max());
        Assert.DoesNotContain(true, all.Columns.BreakBefore[1..^1]);
        Assert.Contains(await log.ReadEventsAsync(TimeRange.All), e => e.Kind == EventKinds.Thinned);
    }

    internal static async Task UntilAsync(Func<bool> condition)
    {
        var clock = Stopwatch.StartNew();
        while (!condition())
        {
            Assert.True(clock.Elapsed < TimeSpan.FromSeconds(30), "it did not come to pass within 30 s");
            await Task.Delay(20);
        }
    }

    internal static async Task UntilAsync(Func<Task<bool>> condition)
    {
        var clock = Stopwatch.StartNew();
        while (!await condition())
        {
            Assert.True(clock.Elapsed < TimeSpan.FromSeconds(30), "it did not come to pass within 30 s");
            await Task.Delay(20);
        }
    }

    internal static string Run(string program, params string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true })!;
        var text = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return text;
    }

    private static void Fill(string path)
    {
        using var stream = File.Create(path);
        try
        {
            var block = new byte[4096];
            while (true)
            {
                stream.Write(block);
                stream.Flush();
            }
        }
        catch (IOException)
        {
            // Full.
        }
    }
}
