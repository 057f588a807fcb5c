using System.Globalization;
using System.Text;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.EndToEnd.Tests.Support;
using CellWatch.Log;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.CommandLine;

/// <summary>The commands <c>log check|repair|export|import</c> as processes.</summary>
public sealed class LogCommandTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData("csv")]
    [InlineData("parquet")]
    public async Task Exported_imported_and_exported_again_it_is_the_same_to_the_byte(string format)
    {
        await WriteAsync(900);
        var (first, second) = (_folder.File($"first.{format}"), _folder.File($"second.{format}"));
        var (exit, output, error) = await ServiceProcess.RunAsync(null, "log", "export", _folder.File(), "--out", first, "--format", format);
        Assert.True(exit == 0, error);
        Assert.Equal(first, output.Trim());
        (exit, output, error) = await ServiceProcess.RunAsync(null, "log", "import", first, "--into", _folder.File("again.cellog"));
        Assert.True(exit == 0, error);
        Assert.Contains("900 snapshots", output, StringComparison.Ordinal);
        await ServiceProcess.RunAsync(null, "log", "export", _folder.File("again.cellog"), "--out", second, "--format", format);
        Assert.Equal(File.ReadAllBytes(first), File.ReadAllBytes(second));
        Assert.Equal(File.ReadAllBytes(first + ".json"), File.ReadAllBytes(second + ".json"));
    }

    [Fact]
    public async Task A_range_is_exported_with_Battery_Data_Format_labels_and_an_empty_one_is_said()
    {
        var written = await WriteAsync(120);
        string Time(int i) => written[i].Time.Wall.ToString("yyyy-MM-ddTHH:mm:ss.fffZ", CultureInfo.InvariantCulture);
        var (exit, output, _) = await ServiceProcess.RunAsync(null, "log", "export", _folder.File(), "--out", _folder.File("bdf"), "--format", "bdf", "--institution", "Petrel", "--from", Time(10), "--to", Time(20));
        Assert.Equal(0, exit);
        var files = output.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(6, files.Length);
        var lines = File.ReadAllLines(files[0]);
        Assert.StartsWith("Test Time / s,Voltage / V,Current / A,Unix Time / s", lines[0], StringComparison.Ordinal);
        Assert.Equal(11, lines.Length);

        (exit, _, var error) = await ServiceProcess.RunAsync(null, "log", "export", _folder.File(), "--out", _folder.File("no.csv"), "--from", "2030-01-01T00:00:00Z");
        Assert.Equal(2, exit);
        Assert.Contains("nothing was written", error, StringComparison.Ordinal);
        Assert.False(File.Exists(_folder.File("no.csv")));
        (exit, _, error) = await ServiceProcess.RunAsync(null, "log", "export", _folder.File(), "--out", _folder.File("no.csv"), "--from", "noon");
        Assert.Equal(2, exit);
        Assert.Contains("RFC 3339", error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("csv")]
    [InlineData("parquet")]
    public async Task A_killed_export_leaves_no_file_under_the_final_name_and_the_next_one_is_whole(string format)
    {
        await WriteAsync(40_000);
        var file = _folder.File($"a.{format}");
        var part = new FileInfo(file + ".part");
        var wasRunning = await ServiceProcess.RunAndKillAsync(() => { part.Refresh(); return part is { Exists: true, Length: > 0 }; }, "log", "export", _folder.File(), "--out", file, "--format", format);
        Assert.True(wasRunning, "it was done before it could be killed");
        Assert.False(File.Exists(file));
        Assert.False(File.Exists(file + ".json"));

        var (exit, _, error) = await ServiceProcess.RunAsync(null, "log", "export", _folder.File(), "--out", file, "--format", format);
        Assert.True(exit == 0, error);
        Assert.True(File.Exists(file) && File.Exists(file + ".json"));
        Assert.False(File.Exists(file + ".part"));
    }

    [Fact]
    public async Task Attachments_are_written_as_files_with_a_table()
    {
        await using (var log = CellLog.Open(_folder.File())) await log.AddAttachmentAsync("link3.png", "image/png", new byte[] { 1, 2, 3 }, new SnapshotTime(1, 1_790_000_000_000), "Ada");
        var (exit, output, error) = await ServiceProcess.RunAsync(null, "log", "export", _folder.File(), "--out", _folder.File("out"), "--format", "attachments");
        Assert.True(exit == 0, error);
        Assert.Equal(["1-link3.png", "attachments.csv"], output.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(Path.GetFileName));
        Assert.Equal([1, 2, 3], File.ReadAllBytes(_folder.File(Path.Combine("out", "1-link3.png"))));
    }

    [Fact]
    public async Task Damage_is_named_by_check_and_left_out_by_repair()
    {
        await WriteAsync(2400);
        var (exit, output, _) = await ServiceProcess.RunAsync(null, "log", "check", _folder.File());
        Assert.Equal(0, exit);
        Assert.Contains("sound", output, StringComparison.Ordinal);

        var bytes = File.ReadAllBytes(_folder.File());
        // Blocks at full rate begin with these letters; pages given back may hold old ones, so every second one is hit.
        var blocks = 0;
        for (var at = bytes.AsSpan().IndexOf("CWL"u8); at >= 0; at = bytes.AsSpan(at + 3).IndexOf("CWL"u8) is >= 0 and var next ? at + 3 + next : -1)
            if (blocks++ % 2 == 1) bytes[at + 100] ^= 4;
        Assert.True(blocks >= 4);
        File.WriteAllBytes(_folder.File(), bytes);
        (exit, output, _) = await ServiceProcess.RunAsync(null, "log", "check", _folder.File());
        Assert.Equal(2, exit);
        Assert.Contains("damaged", output, StringComparison.Ordinal);
        Assert.Contains("Lost: ", output, StringComparison.Ordinal);

        (exit, output, var error) = await ServiceProcess.RunAsync(null, "log", "repair", _folder.File());
        Assert.True(exit == 0, error);
        Assert.Contains("The damaged file is kept as", output, StringComparison.Ordinal);
        await using var log = CellLog.Open(_folder.File());
        Assert.InRange((await ReadAsync(log)).Count, 1, 2399);
    }

    [Fact]
    public async Task What_cannot_be_used_is_said_in_a_sentence()
    {
        var (exit, _, error) = await ServiceProcess.RunAsync(null, "log", "check", _folder.File("none.cellog"));
        Assert.Equal((3, true), (exit, error.Contains("There is no file", StringComparison.Ordinal)));
        (exit, _, error) = await ServiceProcess.RunAsync(null, "log", "import", _folder.Write("cut.csv", "time_s,cell1_V\n0,3.7\n1"), "--into", _folder.File());
        Assert.Equal((2, true), (exit, error.Contains("line 3: 1 fields where the headings have 2", StringComparison.Ordinal)));
        (exit, _, error) = await ServiceProcess.RunAsync(null, "log", "import", _folder.Write("a.log", ""), "--into", _folder.File());
        Assert.Equal((2, true), (exit, error.Contains("needs --site", StringComparison.Ordinal)));
        await using var log = CellLog.Open(_folder.File("busy.cellog"));
        await log.FlushAsync();
        (exit, _, error) = await ServiceProcess.RunAsync(null, "log", "repair", _folder.File("busy.cellog"));
        Assert.Equal((3, true), (exit, error.Contains("being written by another service (process", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task A_second_service_on_the_same_log_is_refused_with_a_sentence()
    {
        var site = _folder.Write("site.json", """
            {
              "site": "twice", "cellType": "nmc-4.20", "modules": [ { "id": "A1", "topology": "3S1P", "temperatures": 0 } ],
              "frontEnds": [ { "name": "lines", "wire": "plainLines", "port": "/dev/no-such-port", "modules": ["A1"], "plainLines": { "runs": [
                  { "position": 1, "quantity": "cells", "count": 3, "scale": 0.001 } ] } } ],
              "mqtt": { "enabled": false }, "web": { "port": PORT }
            }
            """.Replace("PORT", ServiceProcess.FreePort().ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal));
        await using var log = CellLog.Open(_folder.File("twice.cells.db"));
        await log.FlushAsync();
        var (exit, _, error) = await ServiceProcess.RunAsync(null, "serve", "--site", site);
        Assert.Equal(3, exit);
        Assert.Contains("being written by another service (process", error, StringComparison.Ordinal);
        Assert.DoesNotContain("   at ", error, StringComparison.Ordinal);
    }

    /// <summary>Story 9: three rows at time 0 in mid-file are kept, marked and not used.</summary>
    [SharedFact("data")]
    public async Task A_table_whose_clock_went_back_is_imported_row_by_row_and_the_report_says_so()
    {
        var file = Directory.GetFiles(SharedMaterial.PathOf("data"), "*clock_fault*.csv").Order(StringComparer.Ordinal).First();
        var (exit, output, error) = await ServiceProcess.RunAsync(null, "log", "import", file, "--into", _folder.File());
        Assert.True(exit == 0, error);
        Assert.Contains($"{File.ReadLines(file).Count() - 1} snapshots", output, StringComparison.Ordinal);
        Assert.Contains("3 rows whose clock went back are kept and marked doubtful", output, StringComparison.Ordinal);
    }

    /// <summary>Expected values: 0.1 mV steps of the message as the signal database states them, set by hand into the bytes.</summary>
    [Fact]
    public async Task A_candump_log_is_read_through_the_sites_signal_database()
    {
        _folder.Write("board.dbc", """
            VERSION ""

            BS_:

            BU_: Board

            BO_ 256 M01_Cells: 8 Board
             SG_ M01_C1_V : 0|16@1+ (0.0001,0) [0|6.5535] "V" Board
             SG_ M01_C2_V : 16|16@1+ (0.0001,0) [0|6.5535] "V" Board
             SG_ M01_C3_V : 32|16@1+ (0.0001,0) [0|6.5535] "V" Board

            BO_ 512 String: 8 Board
             SG_ Str_I_A : 0|24@1- (0.001,0) [-8388|8388] "A" Board

            """);
        var site = _folder.Write("site.json", """
            {
              "site": "frames", "cellType": "nmc-4.20",
              "modules": [ { "id": "B1", "topology": "3S2P", "temperatures": 0 } ],
              "frontEnds": [ { "name": "can", "wire": "linuxCan", "port": "can0", "modules": ["B1"], "database": "board.dbc",
                  "signals": { "cells": "M{module:00}_C{cell}_V", "packCurrent": "Str_I_A" } } ],
              "mqtt": { "enabled": false }
            }
            """);
        var frames = new StringBuilder();
        for (var i = 0; i < 40; i++)
        {
            // Half a second apart; 10 s of silence after the twentieth.
            var time = 1_790_000_000m + (0.5m * i) + (i >= 20 ? 10 : 0);
            frames.Append(CultureInfo.InvariantCulture, $"({time:F6}) can0 100#{Swap(36921 + i)}{Swap(36934)}{Swap(36918)}0000\n({time + 0.01m:F6}) can0 200#60EA000000000000\n({time + 0.02m:F6}) can0 7DF#00\n");
        }

        var file = _folder.Write("frames.log", frames + "(1790000099.0) can0 10G#00\nDROPCOUNT: dropped 3 CAN frames on 'can0' socket (total drops 3)\n");
        var (exit, output, error) = await ServiceProcess.RunAsync(null, "log", "import", file, "--into", _folder.File(), "--site", site);
        Assert.True(exit == 0, error);
        Assert.Contains("frames were lost before they were logged", output, StringComparison.Ordinal);
        Assert.Contains("1 lines do not read", output, StringComparison.Ordinal);

        await using var log = CellLog.Open(_folder.File());
        var traces = await log.ReadTracesAsync(new TraceQuery(["B1.1", "B1.2", "packCurrentA"], TimeRange.All, 1000));
        Assert.Equal(3.6921 + 0.0001, traces.Channels[0].Mean[0], 1e-9);
        Assert.Equal(3.6921 + 0.0039, traces.Channels[0].Mean[^1], 1e-9);
        Assert.Equal(60.0, traces.Channels[2].Mean[0], 1e-9);
        Assert.Contains(true, traces.Columns.BreakBefore);
        Assert.All(await ReadAsync(log), s => Assert.Equal(Origin.Replayed, s.Origin[0]));
    }

    private static string Swap(int value) => string.Create(CultureInfo.InvariantCulture, $"{value & 0xFF:X2}{value >> 8:X2}");

    private async Task<Snapshot[]> WriteAsync(int snapshots)
    {
        var written = new SyntheticPack(modules: 1).Next(snapshots);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(written);
        return written;
    }

    private static async Task<List<Snapshot>> ReadAsync(CellLog log)
    {
        var all = new List<Snapshot>();
        await foreach (var snapshot in log.ReadSnapshotsAsync(TimeRange.All)) all.Add(snapshot);
        return all;
    }
}
