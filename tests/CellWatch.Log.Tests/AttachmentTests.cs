using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Exchange;
using CellWatch.Log.Maintenance;
using CellWatch.Testing;
using Microsoft.Data.Sqlite;
using Xunit;

namespace CellWatch.Log.Tests;

/// <summary>Attachments: out to files, and what a changed byte does to one.</summary>
public sealed class AttachmentTests : IDisposable
{
    private static readonly SnapshotTime At = new(1, 1_790_000_000_000);

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task They_are_exported_as_files_with_a_table_that_says_what_they_are()
    {
        await using var log = CellLog.Open(_folder.File());
        var run = await log.OpenRunAsync(RunKind.Charge, "first charge", At, "Ada");
        await log.AddAttachmentAsync("link 3.png", "image/png", new byte[] { 1, 2, 3 }, At, "Ada", run);
        await log.AddAttachmentAsync("../a,b\"c.csv", "text/csv", "abc"u8.ToArray(), At, "Bo");
        Directory.CreateDirectory(_folder.File("out"));
        var files = await AttachmentExport.WriteAsync(log, TimeRange.All, _folder.File("out"));

        Assert.Equal(["1-link 3.png", "2-.._a,b_c.csv", "attachments.csv"], files.Select(Path.GetFileName));
        Assert.All(files, f => Assert.Equal(_folder.File("out"), Path.GetDirectoryName(f)));
        Assert.Equal([1, 2, 3], await File.ReadAllBytesAsync(files[0]));
        var lines = (await File.ReadAllTextAsync(files[2])).Split("\r\n");
        Assert.Equal("id,time,run,name,media type,bytes,by,sha256,file", lines[0]);
        // SHA-256 of "abc": FIPS 180-2, appendix B.1.
        Assert.Equal("2,2026-09-21T14:13:20.000Z,,\"../a,b\"\"c.csv\",text/csv,3,Bo,ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad,\"2-.._a,b_c.csv\"", lines[2]);
        Assert.Empty(await AttachmentExport.WriteAsync(log, new TimeRange(0, 1), _folder.File("out")));
    }

    [Fact]
    public async Task A_changed_byte_is_found_named_by_check_and_not_served()
    {
        await using (var log = CellLog.Open(_folder.File()))
        {
            await log.AddAttachmentAsync("a.bin", "application/octet-stream", new byte[1000], At, "Ada");
            await log.AddAttachmentAsync("b.bin", "application/octet-stream", new byte[1000], At, "Ada");
        }

        Assert.True(LogMaintenance.Check(_folder.File()).IsSound);
        using (var connection = new SqliteConnection($"Data Source={_folder.File()};Pooling=False"))
        {
            connection.Open();
            using var command = connection.CreateCommand();
            command.CommandText = "UPDATE attachment SET content = CAST(zeroblob(999) || x'01' AS BLOB) WHERE id = 2";
            command.ExecuteNonQuery();
            // What an older program kept has no checksum and is taken as it is.
            command.CommandText = "INSERT INTO attachment (wall_ms, run, name, media_type, by_whom, content) VALUES (1790000000000, NULL, 'c.bin', 'application/octet-stream', 'Ada', x'010203')";
            command.ExecuteNonQuery();
        }

        var lost = Assert.Single(LogMaintenance.Check(_folder.File()).Lost);
        Assert.Equal(("attachment 2 (b.bin)", "its checksum is wrong"), (lost.What, lost.Reason));
        using var history = LogHistory.Open(_folder.File());
        Assert.Equal("application/octet-stream", (await history.ReadAttachmentsAsync(TimeRange.All))[1].MediaType);
        Assert.Equal(1000, (await history.ReadAttachmentAsync(1))!.Length);
        Assert.Contains("does not read", (await Assert.ThrowsAsync<InvalidDataException>(() => history.ReadAttachmentAsync(2))).Message, StringComparison.Ordinal);
        Assert.Equal([1, 2, 3], await history.ReadAttachmentAsync(3));
        Directory.CreateDirectory(_folder.File("out"));
        Assert.Equal(["1-a.bin", "3-c.bin", "attachments.csv"], (await AttachmentExport.WriteAsync(history, TimeRange.All, _folder.File("out"))).Select(Path.GetFileName));
    }
}
