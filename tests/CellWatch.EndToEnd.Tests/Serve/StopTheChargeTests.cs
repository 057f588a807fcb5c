using System.Globalization;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using CellWatch.EndToEnd.Tests.Support;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.Serve;

/// <summary>The charge that does not obey, from the simulated charger to the page's words, an independent reader of the broker, and the record.</summary>
public class StopTheChargeTests
{
    [ToolFact("mosquitto_sub")]
    public async Task The_stop_goes_out_by_MQTT_with_cell_voltage_and_current_and_the_record_keeps_the_ten_seconds_before()
    {
        using var folder = new TemporaryFolder();
        var (web, mqtt) = (ServiceProcess.FreePort(), ServiceProcess.FreePort());
        await using var demo = ServiceProcess.Start(
            web, "demo", "--port", web.ToString(CultureInfo.InvariantCulture), "--mqtt-port", mqtt.ToString(CultureInfo.InvariantCulture), "--data", folder.Path, "--speed", "20");
        await demo.WaitForStateAsync(s => (int)s["summary"]!["knownCells"]! == 108, "all 108 cells", 60);
        using var reader = new MosquittoReader(mqtt, "petrel/alarm/taper-missing.pack");
        using (var press = await demo.Http.PostAsJsonAsync("/commands/simulation", new { key = "ignore-taper", by = "a test" })) press.EnsureSuccessStatusCode();

        var state = await demo.WaitForStateAsync(s => s["alarms"]!.AsArray().Any(a => (string)a!["id"]! == "taper-missing.pack"), "the missing taper", 120);
        Assert.Equal("actNow", (string?)state["verdict"]!["state"]);
        Assert.StartsWith("STOP THE CHARGE NOW: red button on the charger.", (string)state["verdict"]!["sentence"]!, StringComparison.Ordinal);
        var alarm = state["alarms"]!.AsArray().First(a => (string)a!["id"]! == "taper-missing.pack")!;
        Assert.Equal("unacknowledged", (string)alarm["state"]!);

        var told = await reader.WaitForAsync("petrel/alarm/taper-missing.pack", p => (bool?)p["isActive"] == true, "the alarm on the broker", 30);
        Assert.Equal("B11.2", (string)told["cell"]!);
        Assert.InRange((double)told["cellVoltageV"]!, 4.14, 4.20);
        Assert.InRange((double)told["packCurrentA"]!, 5, 65);

        var limit = System.Diagnostics.Stopwatch.StartNew();
        JsonArray frozen;
        while ((frozen = JsonNode.Parse(await demo.Http.GetStringAsync("/history/"))!["frozen"]!.AsArray()).Count == 0) Assert.True(limit.Elapsed.TotalSeconds < 30, "nothing was kept around the alarm");
        var since = DateTimeOffset.Parse((string)alarm["since"]!, CultureInfo.InvariantCulture);
        DateTimeOffset Time(JsonNode? stretch, string end) => DateTimeOffset.Parse((string)stretch![end]!, CultureInfo.InvariantCulture);
        Assert.Contains(frozen, f => Time(f, "from") <= since.AddSeconds(-10) && Time(f, "to") >= since);
    }
}
