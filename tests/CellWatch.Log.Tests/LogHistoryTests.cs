using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Log.Tests;

/// <summary>Reading a log without writing it: beside a service, and from a medium that cannot be written.</summary>
public sealed class LogHistoryTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task A_log_is_read_while_a_service_writes_it()
    {
        await using var log = CellLog.Open(_folder.File());
        var written = new SyntheticPack(modules: 1).Next(700);
        await log.AppendAllAsync(written[..650]);
        using var history = LogHistory.Open(_folder.File());
        Assert.Equal(650, await CountAsync(history));
        await log.AppendAllAsync(written[650..]);
        Assert.Equal(700, await CountAsync(history));
    }

    [SmallDiskFact]
    public async Task A_log_on_a_medium_that_cannot_be_written_is_read()
    {
        using var disk = new SmallDisk(6);
        var path = Path.Combine(disk.Path, "a log, kept #1.cellog");
        await using (var log = CellLog.Open(path)) await log.AppendAllAsync(new SyntheticPack(modules: 1).Next(700));
        disk.Remount("ro");
        using var history = LogHistory.Open(path);
        Assert.Equal(700, await CountAsync(history));
        Assert.Equal(700, (await history.ReadTracesAsync(new TraceQuery(["B01.1"], TimeRange.All, 100))).Columns.Snapshots.Sum());
    }

    [Fact]
    public void What_is_no_log_is_refused_with_a_sentence()
    {
        Assert.Contains("There is no file", Assert.Throws<FileNotFoundException>(() => LogHistory.Open(_folder.File("none"))).Message, StringComparison.Ordinal);
        var text = _folder.Write("text.cellog", new string('x', 5000));
        Assert.Contains("is damaged. Run 'log repair'", Assert.Throws<InvalidDataException>(() => LogHistory.Open(text)).Message, StringComparison.Ordinal);
    }

    private static async Task<int> CountAsync(LogHistory history)
    {
        var count = 0;
        await foreach (var _ in history.ReadSnapshotsAsync(TimeRange.All)) count++;
        return count;
    }
}
