using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using CellWatch.EndToEnd.Tests.Support;

namespace CellWatch.EndToEnd.Tests.Serve;

/// <summary>The plan of the next night over HTTP, asked of the simulated Petrel.</summary>
public class BalanceAdviceTests
{
    [Fact]
    public async Task A_plan_is_withheld_during_a_charge_and_made_in_the_morning_and_a_wrong_level_is_refused()
    {
        var port = ServiceProcess.FreePort();
        await using var demo = ServiceProcess.Start(port, "demo", "--port", port.ToString(CultureInfo.InvariantCulture));
        await demo.WaitForStateAsync(s => (int)s["summary"]!["knownCells"]! == 108, "all 108 cells", 60);
        var charging = await PlanAsync(demo);
        Assert.Empty(charging["cells"]!.AsArray());
        Assert.StartsWith("The pack is not at rest.", (string)charging["withheld"]![0]!, StringComparison.Ordinal);
        Assert.True((bool)charging["simulated"]!);

        using (var press = await demo.Http.PostAsJsonAsync("/commands/simulation", new { key = "next-morning", by = "a test" })) press.EnsureSuccessStatusCode();
        await demo.WaitForStateAsync(s => (string)s["summary"]!["mode"]! == "rest" && (double)s["summary"]!["modeForS"]! > 1800 && (int)s["summary"]!["knownCells"]! == 108, "the next morning", 30);
        var plan = await PlanAsync(demo);
        var cells = plan["cells"]!.AsArray();
        Assert.NotEmpty(cells);
        Assert.All(cells, c =>
        {
            // V / R = 4.1 V / 33 ohm, on for 0.45 of the time: hours follow from the charge.
            Assert.InRange((double)c!["bleedA"]!, 0.120, 0.130);
            Assert.Equal((double)c["removeAh"]! / ((double)c["bleedA"]! * 0.45), (double)c["hours"]!, 6);
            Assert.Equal(int.Parse(((string)c["cell"]!)[^1..], CultureInfo.InvariantCulture) % 2 == 1 ? "odd" : "even", (string)c["turn"]!);
        });
        Assert.Equal(cells.Sum(c => (double)c!["removeAh"]!), (double)plan["totalAh"]!, 9);
        // B07.3 and B11.2 have less capacity in the story: nobody is bled down to them.
        Assert.Contains(plan["leftAlone"]!.AsArray(), s => ((string)s!).Contains("B07.3", StringComparison.Ordinal));
        Assert.DoesNotContain(cells, c => (string)c!["cell"]! is "B07.3" or "B11.2");
        Assert.Contains("No front end here takes a bleed command", (string)plan["byHand"]!, StringComparison.Ordinal);
        Assert.Equal(270, (double)plan["schedule"]!["turnS"]!);

        // The causes of the same pack, and what its links say, through their own doors and in the state.
        var causes = JsonNode.Parse(await demo.Http.GetStringAsync("/advice/causes"))!["cells"]!.AsArray();
        var weak = causes.Single(c => (string)c!["cell"]! == "B07.3")!;
        Assert.Equal("lowCapacity", (string)weak["cause"]!);
        Assert.InRange((double)weak["capacityAh"]!, 98, 103);
        Assert.Contains("A charge offset would be the same at every level", (string)weak["evidence"]!, StringComparison.Ordinal);
        var links = JsonNode.Parse(await demo.Http.GetStringAsync("/advice/links"))!;
        Assert.NotEmpty(links["entries"]!.AsArray());
        // The model: 18 links of 40 uOhm; positive, whatever the direction of the current.
        Assert.InRange((double)links["latest"]!["linkMilliohm"]!, 0.5, 1.2);
        var state = JsonNode.Parse(await demo.Http.GetStringAsync("/state"))!;
        Assert.Equal((double)links["latest"]!["linkMilliohm"]!, (double)state["links"]!["latest"]!["linkMilliohm"]!, 9);
        Assert.Equal(3, state["noise"]!.AsArray().Count);
        Assert.All(state["modules"]!.AsArray().SelectMany(m => m!["cells"]!.AsArray()), c => Assert.InRange((double)c!["chargeDifferenceAh"]!, -2, 2));

        var elsewhere = JsonNode.Parse(await demo.Http.GetStringAsync("/advice/balance?atPercent=60"))!;
        Assert.Empty(elsewhere["cells"]!.AsArray());
        using var wrong = await demo.Http.GetAsync("/advice/balance?atPercent=5");
        Assert.Equal(HttpStatusCode.BadRequest, wrong.StatusCode);
        Assert.Contains("atPercent is 5; allowed: 20 to 100.", await wrong.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.NotNull(JsonNode.Parse(await demo.Http.GetStringAsync("/openapi/v1.json"))!["paths"]!["/advice/balance"]);
    }

    private static async Task<JsonNode> PlanAsync(ServiceProcess demo) => JsonNode.Parse(await demo.Http.GetStringAsync("/advice/balance"))!;
}
