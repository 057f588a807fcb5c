using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Codec;
using CellWatch.Log.Exchange;
using CellWatch.Log.Maintenance;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Log.Tests;

/// <summary>
/// Logs of every version ever shipped still read, to the last bit. Each folder of <c>Formats</c> holds a log and its content as text,
/// written by that version's program.
/// </summary>
public sealed class FormatTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData("v1")]
    public async Task A_log_of_an_old_version_reads_whole(string version)
    {
        var kept = Path.Combine(AppContext.BaseDirectory, "Formats", version);
        File.Copy(Path.Combine(kept, "petrel.cellog"), _folder.File());
        var check = LogMaintenance.Check(_folder.File());
        Assert.True(check.IsSound, check.InWords());

        await using var log = CellLog.Open(_folder.File());
        await log.FlushAsync();
        var expected = ExportImport.FromCsv(Path.Combine(kept, "petrel.csv")).ToList();
        CellLogTests.AssertSame(expected, await CellLogTests.ReadAll(log));
        Assert.Equal(700, expected.Count);
        Assert.Equal("kettle on", Assert.Single(await log.ReadEventsAsync(TimeRange.All), e => e.Kind == EventKinds.Mark).Text);
        Assert.Equal("first charge", Assert.Single(await log.ReadRunsAsync(TimeRange.All)).Title);
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], TimeRange.All, 60));
        Assert.Equal(expected.Min(s => s.RawValues[0]), traces.Channels[0].Min.Min());
    }

    /// <summary>CRC-32/ISO-HDLC: the check value of the catalogue of parametrised CRC algorithms (also zlib's).</summary>
    [Fact]
    public void The_checksum_is_the_common_one()
    {
        Assert.Equal(0xCBF43926u, Crc32.Of("123456789"u8));
        Assert.Equal(0u, Crc32.Of([]));
        // Eight bytes at a time or one by one: the same.
        var bytes = Enumerable.Range(0, 1000).Select(i => (byte)(i * 7)).ToArray();
        var crc = 0xFFFFFFFFu;
        foreach (var b in bytes)
        {
            crc ^= b;
            for (var i = 0; i < 8; i++) crc = (crc & 1) != 0 ? 0xEDB88320 ^ (crc >> 1) : crc >> 1;
        }

        Assert.Equal(~crc, Crc32.Of(bytes));
    }

    [Fact]
    public void Numbers_of_quality_and_origin_are_part_of_the_format()
    {
        Assert.Equal([0, 1, 2, 3, 4, 5, 6], Enum.GetValues<Quality>().Select(q => (int)q));
        Assert.Equal(["Missing", "Good", "Stale", "OutOfRange", "Stuck", "Open", "Doubtful"], Enum.GetNames<Quality>());
        Assert.Equal(["Unknown", "Measured", "Simulated", "Replayed", "Substituted"], Enum.GetNames<Origin>());
    }
}
