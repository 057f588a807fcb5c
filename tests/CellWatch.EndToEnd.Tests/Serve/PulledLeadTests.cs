using System.Diagnostics;
using System.Text.Json.Nodes;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.EndToEnd.Tests.Support;
using CellWatch.Log;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.Serve;

/// <summary>A USB lead pulled in the middle of a charge, on real pseudo-terminals.</summary>
public class PulledLeadTests
{
    [ToolFact("socat", "bash")]
    public async Task A_board_pulled_in_a_charge_is_NO_DATA_leaves_a_gap_and_comes_back_on_another_port_only_with_its_own_identity()
    {
        using var folder = new TemporaryFolder();
        using var writers = new Writers();
        using var pack = new PseudoTerminalPair(Directory.CreateDirectory(Path.Combine(folder.Path, "pack")).FullName);
        using var aft = new PseudoTerminalPair(Directory.CreateDirectory(Path.Combine(folder.Path, "aft")).FullName);
        using var other = new PseudoTerminalPair(Directory.CreateDirectory(Path.Combine(folder.Path, "other")).FullName);
        other.Pull();
        var web = ServiceProcess.FreePort();
        var site = folder.Write("site.json", Site(pack.ServiceEnd, aft.ServiceEnd, other.ServiceEnd, web));
        writers.Print(pack.BoardEnd, "printf '3700,3701,3702,21.5,60.0\\r\\n'");
        writers.Print(aft.BoardEnd, "printf 'BOARD-7,3710,3711,3712\\r\\n'");
        long pulledMs;
        long backMs;
        await using (var service = ServiceProcess.Start(web, "serve", "--site", site))
        {
            var state = await service.WaitForStateAsync(s => Known(s) == 6 && (string?)s["summary"]!["mode"] == "charging", "a charge with all six cells", 60);

            aft.Pull();
            var pulled = Stopwatch.StartNew();
            pulledMs = Now();
            state = await service.WaitForStateAsync(s => Aft(s).All(c => (string?)c!["state"] == "noData") && (string?)s["verdict"]!["state"] == "actNow", "NO DATA and ACT NOW", 10);
            Assert.True(pulled.Elapsed.TotalSeconds <= 5, $"it took {pulled.Elapsed.TotalSeconds:F1} s");
            Assert.All(Aft(state), c => Assert.Null((double?)c!["cellVoltageV"]));
            Assert.Equal(3, Known(state));

            // A board with another identity on the other port: nothing of it may stand as these cells.
            other.Join();
            var wrong = writers.Print(other.BoardEnd, "printf 'BOARD-9,3810,3811,3812\\r\\n'");
            state = await service.WaitForStateAsync(s => s["instruments"]!.ToJsonString().Contains("BOARD-9", StringComparison.Ordinal), "the stranger is named", 60);
            Assert.All(Aft(state), c => Assert.Null((double?)c!["cellVoltageV"]));
            Writers.End(wrong);

            writers.Print(other.BoardEnd, "printf 'BOARD-7,3720,3721,3722\\r\\n'");
            state = await service.WaitForStateAsync(s => Known(s) == 6, "the board's own identity", 90);
            backMs = Now();
            Assert.Equal([3.72, 3.721, 3.722], Aft(state).Select(c => (double)c!["cellVoltageV"]!));
            await Task.Delay(2500);
        }

        await using var log = CellLog.Open(Path.Combine(folder.Path, "pulled.cells.db"));
        var invented = 0;
        var known = 0;
        await foreach (var snapshot in ((IHistory)log).ReadSnapshotsAsync(new TimeRange(0, long.MaxValue)))
        {
            // From the age limit (4 s) after the pull until shortly before the return no row may hold a good value of the pulled board.
            if (snapshot.Time.WallUnixMs > pulledMs + 5000 && snapshot.Time.WallUnixMs < backMs - 2000 && snapshot.CellQuality[3] == Quality.Good) invented++;
            if (snapshot.CellQuality[3] == Quality.Good) known++;
        }

        Assert.Equal(0, invented);
        Assert.True(known > 4, "what was measured before and after is kept");
    }

    private static int Known(JsonNode state) => (int)state["summary"]!["knownCells"]!;

    private static JsonArray Aft(JsonNode state) => state["modules"]![1]!["cells"]!.AsArray();

    private static long Now() => DateTimeOffset.UtcNow.ToUnixTimeMilliseconds();

    private static string Site(string pack, string aft, string other, int web) => $$"""
        {
          "site": "pulled", "cellType": "nmc-4.20",
          "modules": [ { "id": "A1", "topology": "3S1P", "temperatures": 1 }, { "id": "B1", "topology": "3S1P", "temperatures": 0 } ],
          "frontEnds": [
            { "name": "fore", "wire": "plainLines", "port": "{{pack}}", "modules": ["A1"], "measuresPack": true, "plainLines": { "runs": [
              { "position": 1, "quantity": "cells", "count": 3, "scale": 0.001 }, { "position": 4, "quantity": "temperatures", "count": 1 },
              { "position": 5, "quantity": "packCurrent", "count": 1 } ] } },
            { "name": "aft", "wire": "plainLines", "port": "{{aft}}", "otherPorts": ["{{other}}"], "identity": "BOARD-7", "modules": ["B1"], "plainLines": { "runs": [
              { "position": 1, "quantity": "identity", "count": 1 }, { "position": 2, "quantity": "cells", "count": 3, "scale": 0.001 } ] } } ],
          "mqtt": { "enabled": false },
          "web": { "port": {{web}} }
        }
        """;
}
