using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using CellWatch.EndToEnd.Tests.Support;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.History;

/// <summary>The record of a whole service, over HTTP: the simulated Petrel with a lead pulled.</summary>
public class HistoryOfTheDemoTests
{
    [Fact]
    public async Task An_alarm_is_acknowledged_and_shelved_over_HTTP_and_the_record_tells_who_and_when()
    {
        using var folder = new TemporaryFolder();
        var port = ServiceProcess.FreePort();
        await using var demo = ServiceProcess.Start(port, "demo", "--port", port.ToString(CultureInfo.InvariantCulture), "--mqtt-port", "-1", "--data", folder.Path);
        await demo.WaitForStateAsync(s => (int)s["summary"]!["knownCells"]! == 108, "all 108 cells", 60);
        using (var press = await demo.Http.PostAsJsonAsync("/commands/simulation", new { key = "charger-noise", by = "Ada" })) press.EnsureSuccessStatusCode();
        // Not one of those that must never be put aside.
        var state = await demo.WaitForStateAsync(s => s["alarms"]!.AsArray().Any(IsNewAndLow), "an alarm that may be shelved", 20);
        var alarm = (string)state["alarms"]!.AsArray().First(IsNewAndLow)!["id"]!;

        using (var acknowledged = await demo.Http.PostAsJsonAsync("/commands/acknowledge", new { alarmId = alarm, by = "Ada" })) acknowledged.EnsureSuccessStatusCode();
        using (var shelved = await demo.Http.PostAsJsonAsync("/commands/shelve", new { alarmId = alarm, minutes = 30, reason = "ground loop made by hand", by = "Bo" })) shelved.EnsureSuccessStatusCode();
        using (var refused = await demo.Http.PostAsJsonAsync("/commands/shelve", new { alarmId = alarm, minutes = 30, reason = "", by = "Bo" }))
            Assert.NotEmpty(await HistoryServer.ProblemAsync(refused, HttpStatusCode.Conflict));

        var commands = await ListAsync(demo, "commands", c => c.Count(x => (string)x!["by"]! is "Ada" or "Bo" && (string)x["command"]! is "AcknowledgeAlarm" or "ShelveAlarm") >= 2);
        Assert.Contains(commands, c => (string)c!["command"]! == "AcknowledgeAlarm" && (string)c["by"]! == "Ada" && (bool)c["accepted"]!);
        Assert.Contains(commands, c => (string)c!["command"]! == "ShelveAlarm" && ((string)c["details"]!).Contains("ground loop made by hand", StringComparison.Ordinal));
        var steps = await ListAsync(demo, "alarms", a => a.Any(x => (string)x!["alarm"]!["id"]! == alarm && (string)x["to"]! == "shelved"));
        Assert.Contains(steps, a => (string)a!["alarm"]!["id"]! == alarm && (string)a["to"]! == "unacknowledged");
        Assert.Contains(steps, a => (string)a!["alarm"]!["id"]! == alarm && (string)a["to"]! == "acknowledged");
        // The most urgent is never put aside, and what surrounds it is kept at full rate.
        using (var press = await demo.Http.PostAsJsonAsync("/commands/simulation", new { key = "reverse-current", by = "Ada" })) press.EnsureSuccessStatusCode();
        state = await demo.WaitForStateAsync(s => s["alarms"]!.AsArray().Any(IsNewAndHigh), "an urgent alarm", 20);
        var urgent = (string)state["alarms"]!.AsArray().First(IsNewAndHigh)!["id"]!;
        using (var refused = await demo.Http.PostAsJsonAsync("/commands/shelve", new { alarmId = urgent, minutes = 30, reason = "a test", by = "Bo" }))
            Assert.NotEmpty(await HistoryServer.ProblemAsync(refused, HttpStatusCode.Conflict));
        var limit = System.Diagnostics.Stopwatch.StartNew();
        while ((await GetAsync(demo, ""))["frozen"]!.AsArray().Count == 0) Assert.True(limit.Elapsed.TotalSeconds < 20, "nothing was frozen around the alarm");

        // The simulated hours before the service began are there, and the door's page of numbers is the log's.
        var envelope = await GetAsync(demo, "envelope?columns=200");
        Assert.True(envelope["startUnixMs"]!.AsArray().Count > 100);
        Assert.Equal(108, envelope["known"]!.AsArray().Max(n => (double)n!), 1e-9);
        Assert.NotNull(JsonNode.Parse(await demo.Http.GetStringAsync("/openapi/v1.json"))!["paths"]!["/history/traces"]);
    }

    [Fact]
    public async Task A_strange_page_cannot_open_a_run()
    {
        await using var server = await HistoryServer.StartAsync();
        using var request = new HttpRequestMessage(HttpMethod.Post, "/history/runs") { Content = JsonContent.Create(new { kind = "rest", title = "a", by = "Ada" }) };
        request.Headers.Add("Sec-Fetch-Site", "cross-site");
        using var answer = await server.Client.SendAsync(request);
        await HistoryServer.ProblemAsync(answer, HttpStatusCode.Forbidden);
        Assert.Empty((await server.GetAsync("runs")).AsArray());
    }

    private static bool IsNewAndLow(JsonNode? alarm) => (string)alarm!["state"]! == "unacknowledged" && (string)alarm["priority"]! == "low";

    private static bool IsNewAndHigh(JsonNode? alarm) => (string)alarm!["state"]! == "unacknowledged" && (string)alarm["priority"]! == "high";

    private static async Task<JsonNode> GetAsync(ServiceProcess demo, string path) => JsonNode.Parse(await demo.Http.GetStringAsync($"/history/{path}"))!;

    /// <summary>Asks until the record holds what is wanted: it is on disk within a second.</summary>
    private static async Task<JsonArray> ListAsync(ServiceProcess demo, string path, Func<JsonArray, bool> wanted)
    {
        for (var looks = 0; looks < 50; looks++)
        {
            var list = (await GetAsync(demo, path)).AsArray();
            if (wanted(list)) return list;
            await Task.Delay(100);
        }

        Assert.Fail($"/history/{path} does not hold what was done: {await demo.Http.GetStringAsync($"/history/{path}")}");
        return [];
    }
}
