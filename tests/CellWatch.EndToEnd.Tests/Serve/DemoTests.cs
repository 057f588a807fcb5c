using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using CellWatch.EndToEnd.Tests.Support;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.Serve;

/// <summary>The demo as a builder starts it: the simulated Petrel through the real decoders, faults pressed over HTTP.</summary>
public class DemoTests
{
    [Fact]
    public async Task A_pulled_lead_takes_36_cells_to_NO_DATA_and_back_and_everything_says_simulated()
    {
        await using var demo = Start();
        var state = await demo.WaitForStateAsync(s => Known(s) == 108, "all 108 cells", 60);
        Assert.True((bool)state["simulated"]!);
        Assert.Equal("charging", (string?)state["summary"]!["mode"]);

        await PressAsync(demo, "pull-lead");
        state = await demo.WaitForStateAsync(s => (string?)s["verdict"]!["state"] == "actNow" && NoData(s) == 36, "ACT NOW and NO DATA", 5);
        Assert.Equal(72, Known(state));
        // The farthest cell is never named among those that are not known.
        Assert.Equal("good", (string)Cells(state).ElementAt((int)state["summary"]!["highestCell"]!)["quality"]!);

        await PressAsync(demo, "pull-lead");
        state = await demo.WaitForStateAsync(s => Known(s) == 108, "the lead is back", 30);
        Assert.Equal(0, NoData(state));
    }

    [Fact]
    public async Task A_channel_that_repeats_itself_while_the_current_moves_is_doubtful_and_never_the_highest_or_lowest()
    {
        await using var demo = Start("--speed", "20");
        await demo.WaitForStateAsync(s => Known(s) == 108, "all 108 cells", 60);

        await PressAsync(demo, "stick-channel");
        var state = await demo.WaitForStateAsync(s => Cells(s).Any(c => (string?)c["quality"] is "stuck" or "doubtful"), "a doubtful channel", 60);
        var stuck = Cells(state).ToList().FindIndex(c => (string?)c["quality"] is "stuck" or "doubtful");
        for (var look = 0; look < 10; look++)
        {
            state = await demo.WaitForStateAsync(_ => true, "another look");
            Assert.NotEqual(stuck, (int)state["summary"]!["highestCell"]!);
            Assert.NotEqual(stuck, (int)state["summary"]!["lowestCell"]!);
            await Task.Delay(200);
        }
    }

    [Fact]
    public async Task A_charger_that_ignores_the_taper_is_stopped_in_words_with_the_hand_cut_off_by_its_name()
    {
        await using var demo = Start("--speed", "30");
        await demo.WaitForStateAsync(s => Known(s) == 108, "all 108 cells", 60);
        await PressAsync(demo, "ignore-taper");
        var state = await demo.WaitForStateAsync(
            s => ((string)s["verdict"]!["sentence"]!).StartsWith("STOP THE CHARGE NOW: red button on the charger", StringComparison.Ordinal), "STOP THE CHARGE NOW", 90);
        Assert.Equal("actNow", (string?)state["verdict"]!["state"]);
        Assert.Contains(state["alarms"]!.AsArray(), a => (string?)a!["priority"] == "high" && (bool)a["isActive"]!);
    }

    [Fact]
    public async Task The_next_morning_comes_within_seconds_with_its_record()
    {
        await using var demo = Start();
        var before = await demo.WaitForStateAsync(s => Known(s) == 108, "all 108 cells", 60);
        await PressAsync(demo, "next-morning");
        var morning = await demo.WaitForStateAsync(
            s => (double)s["elapsedS"]! - (double)before["elapsedS"]! > 3600 && Known(s) == 108, "the next morning", 30);
        Assert.True((bool)morning["simulated"]!);
        Assert.True((bool)morning["recording"]!["isRecording"]!);
    }

    [Fact]
    public async Task Exchanged_harnesses_are_named_by_the_rhythm_of_a_simulated_load_through_the_real_wires()
    {
        await using var demo = Start("--speed", "20");
        await demo.WaitForStateAsync(s => Known(s) == 108, "all 108 cells", 60);
        await PressAsync(demo, "hand-cut-off");
        await PressAsync(demo, "swap-harnesses");
        await demo.WaitForStateAsync(s => Math.Abs((double?)s["summary"]!["packCurrentA"] ?? 60) < 1, "no current", 30);

        // Refused while the sample project is being entered; then it is played.
        var order = new { by = "Ada", entry = new { subject = "B03", method = "moduleLoad", noPieceOver60V = false, simulatedLoad = true } };
        await PollAsync(async () => (await demo.Http.PostAsJsonAsync("/bench/proofs/rhythm", order)).IsSuccessStatusCode, "the rhythm begins", 120);
        JsonNode? last = null;
        await PollAsync(async () => (last = (await demo.Http.GetFromJsonAsync<JsonNode>("/bench/proofs/rhythm"))!["last"]) is not null, "the rhythm has ended", 60);
        Assert.Contains("the six channels labelled B05 answered", (string)last!["sentence"]!, StringComparison.Ordinal);
        var proofs = await demo.Http.GetFromJsonAsync<JsonNode>("/bench/proofs");
        Assert.False((bool)proofs!["supervised"]!);
        var state = await demo.WaitForStateAsync(s => Cells(s).Count(c => (string?)c["state"] == "notProven") == 12, "the cells of both modules NOT PROVEN", 10);
        Assert.True((bool)state["simulated"]!);
    }

    [Fact]
    public async Task The_service_log_is_switched_while_running_and_says_who_did()
    {
        await using var demo = Start();
        await demo.WaitForStateAsync(_ => true, "a state", 60);
        var wrong = await demo.Http.PostAsJsonAsync("/commands/log-level", new { level = "debgu", by = "Ada" });
        Assert.Equal(HttpStatusCode.BadRequest, wrong.StatusCode);
        Assert.Contains("debug", await wrong.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        var nobody = await demo.Http.PostAsJsonAsync("/commands/log-level", new { level = "debug", by = " " });
        Assert.Equal(HttpStatusCode.BadRequest, nobody.StatusCode);
        var right = await demo.Http.PostAsJsonAsync("/commands/log-level", new { level = "debug", by = "Ada" });
        Assert.Equal(HttpStatusCode.OK, right.StatusCode);
        Assert.Contains("by Ada", demo.Output, StringComparison.Ordinal);
    }

    private static ServiceProcess Start(params string[] options)
    {
        var port = ServiceProcess.FreePort();
        return ServiceProcess.Start(port, ["demo", "--port", $"{port}", .. options]);
    }

    private static async Task PressAsync(ServiceProcess demo, string key)
    {
        var answer = await demo.Http.PostAsJsonAsync("/commands/simulation", new { key, by = "a test" });
        Assert.True(answer.IsSuccessStatusCode, await answer.Content.ReadAsStringAsync());
    }

    private static async Task PollAsync(Func<Task<bool>> isSo, string what, int withinS)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(withinS));
        while (!await isSo())
        {
            Assert.False(patience.IsCancellationRequested, $"waited in vain: {what}");
            await Task.Delay(200);
        }
    }

    private static int Known(JsonNode state) => (int)state["summary"]!["knownCells"]!;

    private static IEnumerable<JsonNode> Cells(JsonNode state) => state["modules"]!.AsArray().SelectMany(m => m!["cells"]!.AsArray())!;

    private static int NoData(JsonNode state) => Cells(state).Count(c => (string?)c["state"] == "noData");
}
