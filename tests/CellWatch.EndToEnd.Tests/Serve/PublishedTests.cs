using System.Globalization;
using System.Text.Json.Nodes;
using CellWatch.EndToEnd.Tests.Support;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.Serve;

/// <summary>
/// What the running service publishes, read by an independent client (Debian's mosquitto_sub, MQTT 5) from the broker inside the
/// service and from an independent broker (mosquitto).
/// </summary>
public class PublishedTests
{
    [ToolFact("socat", "bash", "mosquitto_sub")]
    public async Task An_independent_client_reads_cells_pack_and_presence_from_the_broker_inside()
    {
        using var folder = new TemporaryFolder();
        using var wire = new PseudoTerminalPair(folder.Path);
        using var writers = new Writers();
        var (web, mqtt) = (ServiceProcess.FreePort(), ServiceProcess.FreePort());
        writers.Print(wire.BoardEnd, "printf '3700,3701,3702,21.5,60.0\\r\\n'");
        await using var service = ServiceProcess.Start(web, "serve", "--site", folder.Write("site.json", Site(wire, web, $$"""{ "port": {{mqtt}} }""")));
        await service.WaitForStateAsync(s => (int)s["summary"]!["knownCells"]! == 3, "three cells", 60);

        // A reader that comes late still gets what is retained.
        using var reader = new MosquittoReader(mqtt, "reader-test/#");
        await CellsAsync(reader);
    }

    [ToolFact("socat", "bash", "mosquitto_sub", "mosquitto")]
    public async Task An_independent_broker_takes_everything_and_what_happened_while_it_was_down_comes_once_and_in_order()
    {
        using var folder = new TemporaryFolder();
        using var wire = new PseudoTerminalPair(folder.Path);
        using var writers = new Writers();
        var (web, mqtt) = (ServiceProcess.FreePort(), ServiceProcess.FreePort());
        var brokerFile = folder.Write("mosquitto.conf", string.Create(CultureInfo.InvariantCulture, $"listener {mqtt} 127.0.0.1\nallow_anonymous true\npersistence false\n"));
        var board = writers.Print(wire.BoardEnd, "printf '3700,3701,3702,21.5,60.0\\r\\n'");
        // The service starts first: no broker is a normal state, not an end.
        await using var service = ServiceProcess.Start(web, "serve", "--site", folder.Write("site.json", Site(wire, web, $$"""{ "host": "127.0.0.1", "port": {{mqtt}} }""")));
        var state = await service.WaitForStateAsync(s => (int)s["summary"]!["knownCells"]! == 3, "three cells", 60);
        Assert.False((bool)state["sending"]!["isSending"]!);

        var broker = writers.Start("mosquitto", "-c", brokerFile);
        await service.WaitForStateAsync(s => (bool)s["sending"]!["isSending"]!, "sending", 30);
        using (var reader = new MosquittoReader(mqtt, "reader-test/#")) await CellsAsync(reader);

        // The broker dies; a cell passes its upper limit while nobody listens.
        Writers.End(broker);
        await service.WaitForStateAsync(s => !(bool)s["sending"]!["isSending"]!, "NOT SENDING", 30);
        Writers.End(board);
        writers.Print(wire.BoardEnd, "printf '3700,3701,4270,21.5,60.0\\r\\n'");
        await service.WaitForStateAsync(s => (string?)s["verdict"]!["state"] == "actNow", "ACT NOW without a broker", 30);

        writers.Start("mosquitto", "-c", brokerFile);
        await service.WaitForStateAsync(s => (bool)s["sending"]!["isSending"]!, "sending again", 90);
        using var late = new MosquittoReader(mqtt, "reader-test/#");
        var pack = await late.WaitForAsync("reader-test/pack", p => (string?)p["state"] == "actNow", "the pack's word");
        var alarm = pack["alarms"]!.AsArray().Select(a => (string)a!["id"]!).First(id => id.Contains("A1.3", StringComparison.Ordinal));
        using var alarms = new MosquittoReader(mqtt, $"reader-test/alarm/{alarm}");
        var told = await alarms.WaitForAsync($"reader-test/alarm/{alarm}", _ => true, "the alarm raised while the broker was down");
        Assert.True((bool)told["isActive"]!);
        Assert.Equal(4.27, (double)told["value"]!, 1e-9);
    }

    private static async Task CellsAsync(MosquittoReader reader)
    {
        var cells = await reader.WaitForAsync("reader-test/module/A1/cells", _ => true, "cells of A1");
        Assert.Equal([3.7, 3.701, 3.702], cells["cellVoltageV"]!.AsArray().Select(v => (double)v!));
        Assert.All(cells["quality"]!.AsArray(), q => Assert.Equal("good", (string)q!));
        Assert.False((bool)cells["simulated"]!);
        Assert.Equal(DateTimeOffset.UtcNow, DateTimeOffset.Parse((string)cells["time"]!, CultureInfo.InvariantCulture), TimeSpan.FromMinutes(1));
        JsonNode pack = await reader.WaitForAsync("reader-test/pack", _ => true, "the pack");
        Assert.Equal(60.0, (double)pack["packCurrentA"]!, 1e-9);
        Assert.Equal("A1.3", (string)pack["highestCell"]!);
    }

    private static string Site(PseudoTerminalPair wire, int web, string mqtt) => $$"""
        {
          "site": "reader-test", "cellType": "nmc-4.20",
          "modules": [ { "id": "A1", "topology": "3S1P", "temperatures": 1 } ],
          "frontEnds": [ { "name": "lines", "wire": "plainLines", "port": "{{wire.ServiceEnd}}", "modules": ["A1"], "measuresPack": true, "plainLines": { "runs": [
              { "position": 1, "quantity": "cells", "count": 3, "scale": 0.001 }, { "position": 4, "quantity": "temperatures", "count": 1 },
              { "position": 5, "quantity": "packCurrent", "count": 1 } ] } } ],
          "mqtt": {{mqtt}},
          "web": { "port": {{web}} }
        }
        """;
}
