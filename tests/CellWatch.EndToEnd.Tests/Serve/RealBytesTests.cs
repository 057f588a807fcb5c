using System.Diagnostics;
using System.Globalization;
using System.Text.Json.Nodes;
using CellWatch.Core.History;
using CellWatch.EndToEnd.Tests.Support;
using CellWatch.Log;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.Serve;

/// <summary>
/// The service on real bytes: an independent process (bash) writes plain lines and serial-line CAN frames into pseudo-terminals made by
/// socat, while <c>serve</c> runs as a process of its own.
/// </summary>
public class RealBytesTests
{
    private const int ScanPeriodMs = 500;

    private const string Database = """
        VERSION ""

        BS_:

        BU_: Board

        BO_ 256 M01_Cells: 8 Board
         SG_ M01_C1_V : 0|16@1+ (0.0001,0) [0|6.5535] "V" Board
         SG_ M01_C2_V : 16|16@1+ (0.0001,0) [0|6.5535] "V" Board
         SG_ M01_C3_V : 32|16@1+ (0.0001,0) [0|6.5535] "V" Board
         SG_ M01_C4_V : 48|16@1+ (0.0001,0) [0|6.5535] "V" Board

        BO_ 512 String: 8 Board
         SG_ Str_I_A : 0|24@1- (0.001,0) [-8388|8388] "A" Board

        """;

    [ToolFact("socat", "bash")]
    public async Task Lines_and_frames_of_an_independent_process_become_cells_and_a_pulled_lead_is_no_data_within_5_s_and_recovers()
    {
        using var folder = new TemporaryFolder();
        var lines = Directory.CreateDirectory(Path.Combine(folder.Path, "lines")).FullName;
        var can = Directory.CreateDirectory(Path.Combine(folder.Path, "can")).FullName;
        using var linePort = new PseudoTerminalPair(lines);
        using var canPort = new PseudoTerminalPair(can);
        folder.Write("board.dbc", Database);
        var port = ServiceProcess.FreePort();
        var site = folder.Write("site.json", SiteText(linePort.ServiceEnd, canPort.ServiceEnd, port));
        // 3.6921, 3.6934, 3.6918, 3.6927 V (vector D01 of the shared decode vectors) and 60 A, little-endian 0x00EA60.
        using var writers = new Writers();
        writers.Print(canPort.BoardEnd, "printf 't10083990469036903F90\\rt200860EA000000000000\\r'");
        var board = writers.Print(linePort.BoardEnd, "printf '3700,3701,3702,21.5\\r\\n'");
        await using var service = ServiceProcess.Start(port, "serve", "--site", site);

        var state = await service.WaitForStateAsync(s => KnownCells(s) == 7, "all seven cells", 60);
        Assert.Equal(3.701, (double)Cell(state, 0, 1)["cellVoltageV"]!, 1e-9);
        Assert.Equal(3.6934, (double)Cell(state, 1, 1)["cellVoltageV"]!, 1e-9);
        Assert.Equal(60.0, (double)state["packCurrentA"]!, 1e-9);
        Assert.Equal("measured", (string)Cell(state, 1, 1)["origin"]!);
        Assert.False((bool)state["simulated"]!);
        Assert.False((bool)Cell(state, 0, 0)["proven"]!);

        // Mid-charge (60 A), the lead of the line board is pulled.
        linePort.Pull();
        var pulled = Stopwatch.StartNew();
        state = await service.WaitForStateAsync(s => (string?)Cell(s, 0, 0)["state"] == "noData", "NO DATA", 10);
        Assert.True(pulled.Elapsed.TotalSeconds <= 5, $"NO DATA came after {pulled.Elapsed.TotalSeconds:F1} s");
        Assert.Null((double?)Cell(state, 0, 0)["cellVoltageV"]);
        Assert.Equal("actNow", (string)(await service.WaitForStateAsync(s => (string?)s["verdict"]!["state"] == "actNow", "ACT NOW", 5))["verdict"]!["state"]!);
        Assert.Equal(3.6934, (double)Cell(state, 1, 1)["cellVoltageV"]!, 1e-9);

        Writers.End(board);
        linePort.Join();
        board = writers.Print(linePort.BoardEnd, "printf '3710,3711,3712,21.5\\r\\n'");
        state = await service.WaitForStateAsync(s => KnownCells(s) == 7, "the lead is back", 30);
        Assert.Equal(3.711, (double)Cell(state, 0, 1)["cellVoltageV"]!, 1e-9);
    }

    [ToolFact("socat", "bash")]
    public async Task Garbage_between_good_lines_is_counted_by_reason_and_guessed_never()
    {
        using var folder = new TemporaryFolder();
        using var writers = new Writers();
        using var linePort = new PseudoTerminalPair(folder.Path);
        var port = ServiceProcess.FreePort();
        var site = folder.Write("site.json", LinesOnly(linePort.ServiceEnd, port));
        writers.Print(linePort.BoardEnd, "printf '3700,3701,3702,21.5\\r\\n37x0,3701,3702,21.5\\r\\n3700,3701\\r\\n\\x00\\xff\\xfe\\r\\n'");
        await using var service = ServiceProcess.Start(port, "serve", "--site", site);

        var state = await service.WaitForStateAsync(s => Garbage(s) >= 6 && KnownCells(s) == 3, "garbage counted beside good cells", 60);
        Assert.True(state["instruments"]![0]!["garbage"]!.AsObject().Count >= 2, state["instruments"]!.ToJsonString());
        Assert.Equal(3.700, (double)Cell(state, 0, 0)["cellVoltageV"]!, 1e-9);
    }

    [ToolFact("socat", "bash")]
    public async Task Killed_like_a_power_cut_it_loses_no_more_than_a_second_of_the_log()
    {
        using var folder = new TemporaryFolder();
        using var writers = new Writers();
        using var linePort = new PseudoTerminalPair(folder.Path);
        var port = ServiceProcess.FreePort();
        var site = folder.Write("site.json", LinesOnly(linePort.ServiceEnd, port));
        writers.Print(linePort.BoardEnd, "printf '3700,3701,3702,21.5\\r\\n'");
        long lastUnixMs;
        long killedUnixMs;
        await using (var service = ServiceProcess.Start(port, "serve", "--site", site))
        {
            await service.WaitForStateAsync(s => KnownCells(s) == 3 && (bool)s["recording"]!["isRecording"]!, "recording", 60);
            await Task.Delay(3000);
            var last = await service.WaitForStateAsync(_ => true, "a state");
            lastUnixMs = DateTimeOffset.Parse((string)last["time"]!, CultureInfo.InvariantCulture).ToUnixTimeMilliseconds();
            killedUnixMs = DateTimeOffset.UtcNow.ToUnixTimeMilliseconds();
            await service.KillAsync();
        }

        await using (var again = ServiceProcess.Start(port, "serve", "--site", site))
        {
            await again.WaitForStateAsync(s => KnownCells(s) == 3 && (bool)s["recording"]!["isRecording"]!, "recording again", 60);
        }

        await using var log = CellLog.Open(Path.Combine(folder.Path, "lines.cells.db"));
        var kept = new List<long>();
        await foreach (var snapshot in ((IHistory)log).ReadSnapshotsAsync(new TimeRange(0, lastUnixMs + 1)))
            kept.Add(snapshot.Time.WallUnixMs);
        Assert.NotEmpty(kept);
        // Every snapshot is durable within 1 s of being taken: the first one lost must have been younger than that when the power went.
        var oldestLostAgeMs = killedUnixMs - (kept[^1] + ScanPeriodMs);
        Assert.True(oldestLostAgeMs <= 1000, $"a snapshot taken {oldestLostAgeMs} ms before the end is lost");
        Assert.Equal(kept.Distinct().Count(), kept.Count);
    }

    private static string SiteText(string linePort, string canPort, int port) => $$"""
        {
          "site": "harbour-test",
          "cellType": "nmc-4.20",
          "capacityAh": 110,
          "modules": [ { "id": "A1", "topology": "3S1P", "temperatures": 1 }, { "id": "B1", "topology": "4S2P", "temperatures": 0 } ],
          "frontEnds": [
            { "name": "lines", "wire": "plainLines", "port": "{{linePort}}", "modules": ["A1"], "plainLines": { "runs": [
              { "position": 1, "quantity": "cells", "count": 3, "scale": 0.001 }, { "position": 4, "quantity": "temperatures", "count": 1 } ] } },
            { "name": "can", "wire": "serialCan", "port": "{{canPort}}", "modules": ["B1"], "database": "board.dbc",
              "signals": { "cells": "M{module:00}_C{cell}_V", "packCurrent": "Str_I_A" } }
          ],
          "mqtt": { "enabled": false },
          "web": { "port": {{port}} }
        }
        """;

    private static string LinesOnly(string linePort, int port) => $$"""
        {
          "site": "lines", "cellType": "nmc-4.20",
          "modules": [ { "id": "A1", "topology": "3S1P", "temperatures": 1 } ],
          "frontEnds": [ { "name": "lines", "wire": "plainLines", "port": "{{linePort}}", "modules": ["A1"], "plainLines": { "runs": [
              { "position": 1, "quantity": "cells", "count": 3, "scale": 0.001 }, { "position": 4, "quantity": "temperatures", "count": 1 } ] } } ],
          "mqtt": { "enabled": false },
          "web": { "port": {{port}} }
        }
        """;

    private static int KnownCells(JsonNode state) => (int)state["summary"]!["knownCells"]!;

    private static long Garbage(JsonNode state) => state["instruments"]![0]!["garbage"]!.AsObject().Sum(g => (long)g.Value!);

    private static JsonNode Cell(JsonNode state, int module, int cell) => state["modules"]![module]!["cells"]![cell]!;
}
