using System.Net;
using System.Text.Json.Nodes;
using CellWatch.Core.History.Runs;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Host.Pipeline;
using CellWatch.Testing;
using Microsoft.Extensions.Logging.Abstractions;

namespace CellWatch.EndToEnd.Tests.History;

/// <summary>Runs recognised by themselves, from states to the record and out by HTTP.</summary>
public class RecognisedRunTests
{
    [Fact]
    public async Task A_charge_is_opened_and_closed_by_itself_and_is_not_by_hand()
    {
        await using var server = await HistoryServer.StartAsync();
        using var keeper = Keeper(server);
        await keeper.StartAsync(CancellationToken.None);
        var pack = Pack(s => s is > 100 and <= 1300 ? 60 : 0);
        var states = Play(keeper, pack, 700);
        var open = (await UntilAsync(server, runs => runs.Count == 1))[0]!;
        Assert.Equal(("charge", "recognised"), ((string)open["kind"]!, (string)open["openedBy"]!));
        Assert.Null(open["to"]);
        Assert.Equal(states[100].Snapshot.Time.Wall, (DateTimeOffset)open["from"]!);

        states.AddRange(Play(keeper, pack, 1000));
        var closed = (await UntilAsync(server, runs => runs[0]!["to"] is not null))[0]!;
        Assert.Equal("recognised", (string)closed["closedBy"]!);
        Assert.Equal(states[1299].Snapshot.Time.Wall, (DateTimeOffset)closed["to"]!);
        var figures = JsonNode.Parse((string)closed["settings"]!)!;
        Assert.Equal("over", (string)figures["endedBy"]!);
        Assert.Equal(60 * 1199 / 3600.0, (double)figures["chargeInAh"]!, 0.02);
        Assert.Equal(0, (int)figures["gaps"]!);
        await keeper.StopAsync(CancellationToken.None);
    }

    [Fact]
    public async Task A_run_opened_by_hand_is_neither_doubled_nor_closed()
    {
        await using var server = await HistoryServer.StartAsync();
        using var keeper = Keeper(server);
        await keeper.StartAsync(CancellationToken.None);
        var run = (long)(await server.PostAsync("runs", new { kind = "charge", title = "first charge", by = "Ada" }, HttpStatusCode.Created))["id"]!;
        // The run of the pack's clock begins after the person opened it.
        var pack = Pack(s => s is > 60 and <= 660 ? 60 : s is > 2000 and <= 2200 ? -30 : 0, new SnapshotTime(5_000_000, DateTimeOffset.UtcNow.AddSeconds(2).ToUnixTimeMilliseconds()));
        Play(keeper, pack, 3400);
        var runs = await UntilAsync(server, r => r.Count == 2 && r[1]!["to"] is not null);
        Assert.Equal((run, "charge"), ((long)runs[0]!["id"]!, (string)runs[0]!["kind"]!));
        Assert.Null(runs[0]!["to"]);
        Assert.Equal(("drive", "recognised"), ((string)runs[1]!["kind"]!, (string)runs[1]!["openedBy"]!));
        await keeper.StopAsync(CancellationToken.None);
        Assert.Null((await server.GetAsync("runs"))[0]!["to"]);
    }

    [Fact]
    public async Task A_recognised_run_a_person_closed_stays_closed()
    {
        await using var server = await HistoryServer.StartAsync();
        using var keeper = Keeper(server);
        await keeper.StartAsync(CancellationToken.None);
        var pack = Pack(_ => 60);
        Play(keeper, pack, 300);
        var run = (long)(await UntilAsync(server, r => r.Count == 1))[0]!["id"]!;
        await server.PostAsync($"runs/{run}/close", new { by = "Ada" }, HttpStatusCode.OK);
        Play(keeper, pack, 300);
        await keeper.StopAsync(CancellationToken.None);
        Assert.Equal("Ada", (string)Assert.Single((await server.GetAsync("runs")).AsArray())!["closedBy"]!);
    }

    [Fact]
    public async Task A_program_that_ends_in_order_or_not_leaves_no_run_open_and_the_next_splices_nothing()
    {
        await using var server = await HistoryServer.StartAsync();
        var pack = Pack(_ => 60);
        using (var ends = Keeper(server))
        {
            await ends.StartAsync(CancellationToken.None);
            await server.Log.AppendAllAsync(Play(ends, pack, 300).Select(s => s.Snapshot));
            await UntilAsync(server, r => r.Count == 1);
            await ends.StopAsync(CancellationToken.None);
        }

        Assert.Equal("dataEnd", (string)JsonNode.Parse((string)(await server.GetAsync("runs"))[0]!["settings"]!)!["endedBy"]!);
        long lastMs;
        using (var killed = Keeper(server))
        {
            await killed.StartAsync(CancellationToken.None);
            var states = Play(killed, pack, 300);
            await server.Log.AppendAllAsync(states.Select(s => s.Snapshot));
            lastMs = states[^1].Snapshot.Time.WallUnixMs;
            await UntilAsync(server, r => r.Count == 2);
        }

        using var next = Keeper(server);
        await next.StartAsync(CancellationToken.None);
        var left = (await UntilAsync(server, r => r[1]!["to"] is not null))[1]!;
        Assert.Equal("programEnd", (string)JsonNode.Parse((string)left["settings"]!)!["endedBy"]!);
        Assert.InRange(((DateTimeOffset)left["to"]!).ToUnixTimeMilliseconds(), lastMs, lastMs + 1000);
        Play(next, pack, 100);
        var runs = await UntilAsync(server, r => r.Count == 3);
        Assert.Null(runs[2]!["to"]);
        Assert.True((DateTimeOffset)runs[2]!["from"]! >= (DateTimeOffset)left["to"]!);
        await next.StopAsync(CancellationToken.None);
    }

    private static RunKeeper Keeper(HistoryServer server) => new(new RunRecognition(), server.Log, server.Log, NullLogger<RunKeeper>.Instance);

    private static SyntheticPack Pack(Func<double, double> currentA, SnapshotTime? start = null) =>
        new(modules: 1) { CurrentA = currentA, Start = start ?? new SnapshotTime(5_000_000, 1_790_000_000_000) };

    private static List<PackState> Play(RunKeeper keeper, SyntheticPack pack, int seconds)
    {
        var states = new List<PackState>();
        foreach (var snapshot in pack.Next(seconds))
        {
            states.Add(Some.State(snapshot));
            keeper.Offer(states[^1]);
        }

        return states;
    }

    private static async Task<JsonArray> UntilAsync(HistoryServer server, Func<JsonArray, bool> wanted)
    {
        for (var looks = 0; looks < 200; looks++)
        {
            var runs = (await server.GetAsync("runs")).AsArray();
            if (wanted(runs)) return runs;
            await Task.Delay(50);
        }

        Assert.Fail($"the runs are not as wanted: {await server.GetAsync("runs")}");
        return [];
    }
}
