using System.Text.Json;
using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Proofs;
using CellWatch.Core.Snapshots;
using CellWatch.Host.Api;
using CellWatch.Host.Bench;
using CellWatch.Testing;
using Microsoft.Extensions.DependencyInjection;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>The rhythm played on live scans, begun and read over HTTP; the scans are stepped by hand at 2 Hz, with 1 mV of noise.</summary>
public sealed class LiveRhythmTests
{
    [Fact]
    public async Task Story_1_live_the_six_channels_labelled_as_the_other_module_answer_within_two_cycles()
    {
        var pack = new BenchPack { HarnessOf = m => m switch { "B03" => "B11", "B11" => "B03", _ => m } };
        await using var server = await Start(pack);
        await Static(server, "B03");
        await Static(server, "B11");
        pack.Scan();
        var begun = await server.Enter("proofs/rhythm", Hand("B03"));
        Assert.Equal("getReady", begun.GetProperty("playing").GetProperty("count").GetProperty("phase").GetString());

        // The builder follows the count with 5 ohm on the terminals of B03: 4.7 A through 1 mOhm a group.
        var ended = await PlayAsync(server, pack, () => pack.Load("B03", 0.0047), untilS: 50.5);
        // Ten seconds to get ready, two cycles, and the scan that ends them.
        Assert.InRange(pack.TimeS, 49, 52);
        Assert.Contains("the six channels labelled B11 answered", ended.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.Equal(["B03", "B11"], ended.GetProperty("outcome").GetProperty("notProvenModules").EnumerateArray().Select(m => m.GetString()));
        var proofs = await server.Get("proofs");
        Assert.False(proofs.GetProperty("supervised").GetBoolean());
        Assert.All(proofs.GetProperty("channels").EnumerateArray().Where(c => Of(c, "B03") || Of(c, "B11")), c => Assert.False(c.GetProperty("proven").GetBoolean()));

        // The failed attempt is kept with its evidence: dips of both modules, the stretch of the log, by whom.
        var kept = (await server.Get("proofs/B03/module-load"))[0];
        Assert.Equal("Ada", kept.GetProperty("by").GetString());
        Assert.Contains("in the cell log; 2 of 5 cycles", kept.GetProperty("value").GetProperty("evidence").GetString(), StringComparison.Ordinal);
        var readings = kept.GetProperty("value").GetProperty("readings");
        Assert.InRange(readings.GetProperty("B11.4 dipMv").GetDouble(), 4.0, 5.4);
        Assert.InRange(readings.GetProperty("B03.4 dipMv").GetDouble(), -0.9, 0.9);
    }

    [Fact]
    public async Task A_module_that_answers_is_proven_live_and_an_opened_connector_voids_it()
    {
        var pack = new BenchPack();
        await using var server = await Start(pack);
        await Static(server, "B05");
        pack.Scan();
        await server.Enter("proofs/rhythm", Hand("B05"));
        var ended = await PlayAsync(server, pack, () => pack.Load("B05", 0.0025), untilS: 112);
        Assert.True(ended.GetProperty("outcome").GetProperty("proven").GetBoolean(), ended.ToString());
        Assert.InRange(ended.GetProperty("outcome").GetProperty("dipMv").GetDouble(), 2.0, 3.2);
        Assert.True(ended.GetProperty("outcome").GetProperty("confidencePercent").GetDouble() > 99.9);
        Assert.True(await Proven(server, "B05.6"));
        await server.Enter("proofs/disconnected", new DisconnectedBody("B05", "plug pulled to reach a bolt"));
        Assert.False(await Proven(server, "B05.6"));
    }

    [Fact]
    public async Task A_connector_that_is_seen_to_open_voids_its_proofs_and_reopens_gate_9_by_itself()
    {
        var pack = new BenchPack();
        await using var server = await Joined(pack);
        foreach (var g in Enumerable.Range(1, 6)) pack.Missing.Add($"B05.{g}");
        var voided = new TaskCompletionSource();
        server.Service<BenchDoor>().Changed += () => voided.TrySetResult();
        for (var scan = 0; scan < 14; scan++) pack.Scan();
        await voided.Task.WaitAsync(TimeSpan.FromSeconds(20));
        Assert.False(await Proven(server, "B05.1"));
        Assert.True(await Proven(server, "B06.1"));
        var gate = await server.Get("gates/9");
        Assert.Equal("reopened", gate.GetProperty("state").GetString());
        Assert.Contains("Connector of B05: all its cells fell silent", gate.GetProperty("reason").GetString(), StringComparison.Ordinal);
        Assert.Contains("was it opened? Prove it anew", gate.GetProperty("reason").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_cell_is_named_live_and_without_a_load_no_channel_is()
    {
        var pack = new BenchPack();
        await using var server = await Start(pack);
        pack.Scan();
        await server.Enter("proofs/rhythm", new RhythmOrder("B05.2", ProofMethod.CellRhythm, true, false));
        var named = await PlayAsync(server, pack, () => pack.Load("B05.2", 0.001), untilS: 112);
        Assert.Equal(["B05.2"], named.GetProperty("outcome").GetProperty("answered").EnumerateArray().Select(a => a.GetString()));
        Assert.InRange(named.GetProperty("outcome").GetProperty("dipMv").GetDouble(), 0.6, 1.4);
        Assert.True(await Proven(server, "B05.2"));

        await server.Enter("proofs/rhythm", new RhythmOrder("B05.3", ProofMethod.CellRhythm, true, false));
        var none = await PlayAsync(server, pack, () => { }, untilS: 112);
        Assert.StartsWith("No channel followed the rhythm.", none.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.False(await Proven(server, "B05.3"));
    }

    [Fact]
    public async Task A_fall_of_all_cells_after_a_charge_is_not_taken_for_a_load()
    {
        var pack = new BenchPack { CommonV = t => 0.03 * Math.Exp(-t / 60) };
        await using var server = await Start(pack);
        pack.Scan();
        await server.Enter("proofs/rhythm", Hand("B07"));
        var none = await PlayAsync(server, pack, () => { }, untilS: 112);
        Assert.StartsWith("No channel followed the load on B07", none.GetProperty("sentence").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_spoils_a_rhythm_ends_it_without_a_verdict_and_what_may_not_be_is_refused_in_a_sentence()
    {
        var pack = new BenchPack();
        await using var server = await Start(pack);
        Assert.Contains("Nothing has been heard", await server.Refused("proofs/rhythm", Hand("B05")), StringComparison.Ordinal);
        pack.Scan();
        Assert.Contains("Say first that no joined piece exceeds 60 V", await server.Refused("proofs/rhythm", Hand("B05") with { NoPieceOver60V = false }), StringComparison.Ordinal);
        Assert.Contains("real instruments", await server.Refused("proofs/rhythm", Hand("B05") with { SimulatedLoad = true }), StringComparison.Ordinal);
        Assert.Contains("'B55' is no module of this pack", await server.Refused("proofs/rhythm", Hand("B55")), StringComparison.Ordinal);
        Assert.Contains("Say who you are", await server.Refused("proofs/rhythm", Hand("B05"), by: " "), StringComparison.Ordinal);
        pack.Missing.Add("B05.4");
        pack.Scan();
        Assert.Contains("B05.4 gives no good value now", await server.Refused("proofs/rhythm", Hand("B05")), StringComparison.Ordinal);
        pack.Missing.Clear();
        pack.CurrentA = -36.7;
        pack.Scan();
        Assert.Contains("36.7 A flow: a rhythm is played at rest", await server.Refused("proofs/rhythm", Hand("B05")), StringComparison.Ordinal);

        pack.CurrentA = 0;
        pack.Scan();
        await server.Enter("proofs/rhythm", Hand("B05"));
        Assert.Contains("being played on B05 already", await server.Refused("proofs/rhythm", Hand("B06")), StringComparison.Ordinal);
        pack.Scan();
        pack.TimeS += 7;
        pack.Scan();
        var hole = (await server.Get("proofs/rhythm")).GetProperty("last");
        Assert.Contains("s without data: nothing was judged", hole.GetProperty("sentence").GetString(), StringComparison.Ordinal);

        await server.Enter("proofs/rhythm", Hand("B05"));
        pack.Scan();
        pack.CurrentA = 60;
        pack.Scan();
        Assert.Contains("A current of 60.0 A flowed", (await server.Get("proofs/rhythm")).GetProperty("last").GetProperty("sentence").GetString(), StringComparison.Ordinal);
        pack.CurrentA = 0;
        pack.Scan();
        await server.Enter("proofs/rhythm", Hand("B05"));
        await server.Enter("proofs/rhythm/stop", new ReasonBody(""));
        Assert.Contains("Stopped by Ada", (await server.Get("proofs/rhythm")).GetProperty("last").GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.Equal(0, (await server.Get("proofs/B05/module-load")).GetArrayLength());
    }

    [Fact]
    public async Task On_a_joined_string_no_load_is_put_on_by_hand()
    {
        var pack = new BenchPack();
        await using var server = await Joined(pack);
        Assert.Contains("Gate 9 is proven: the string is joined and over 60 V", await server.Refused("proofs/rhythm", Hand("B05")), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_load_of_a_simulated_pack_follows_the_count_where_asked_and_its_proof_is_marked_simulated()
    {
        var pack = new BenchPack { Origin = Origin.Simulated };
        var load = new LoadOfBenchPack(pack, 0.0047);
        await using var server = await Start(pack, load);
        pack.Scan();
        Assert.True((await server.Get("proofs/rhythm")).GetProperty("canSimulateLoad").GetBoolean());
        await server.Enter("proofs/rhythm", Hand("B02") with { NoPieceOver60V = false, SimulatedLoad = true });
        var ended = await PlayAsync(server, pack, null, untilS: 112);
        Assert.True(ended.GetProperty("outcome").GetProperty("proven").GetBoolean(), ended.ToString());
        Assert.Equal(5, load.TimesOn);
        Assert.Null(pack.Loaded);
        var kept = (await server.Get("proofs/B02/module-load"))[0];
        Assert.True(kept.GetProperty("simulated").GetBoolean());
        Assert.Contains("SIMULATED load following the count", kept.GetProperty("value").GetProperty("evidence").GetString(), StringComparison.Ordinal);
    }

    private static RhythmOrder Hand(string module) => new(module, ProofMethod.ModuleLoad, NoPieceOver60V: true, SimulatedLoad: false);

    private static Task<BenchServer> Start(BenchPack pack, ISimulatedLoad? load = null) => BenchServer.Start(more: services =>
    {
        services.AddSingleton<ILiveView>(pack);
        if (load is not null) services.AddSingleton(load);
        services.AddSingleton<IRhythmDesk, RhythmPlayer>();
        services.AddSingleton(new ChannelMap(pack.Layout));
        services.AddHostedService<ConnectorGuard>();
    });

    /// <summary>A project entered up to the joined string, and one scan of it.</summary>
    private static async Task<BenchServer> Joined(BenchPack pack)
    {
        var server = await Start(pack);
        foreach (var step in new PetrelProject().Steps().TakeWhile(s => s.Path != "isolation"))
        {
            server.Clock.Now = step.At;
            await server.Post(step.Path, step.Body);
        }

        Assert.Equal("proven", (await server.Get("gates/9")).GetProperty("state").GetString());
        pack.Scan();
        return server;
    }

    private static async Task Static(BenchServer server, string module)
    {
        Assert.True((await server.Enter("proofs/stack", new StackBody(module, [.. Enumerable.Range(0, 7).Select(i => i * 3.9)]))).GetProperty("outcome").GetProperty("passed").GetBoolean());
        Assert.True((await server.Enter("proofs/sum", new SumBody(module, [.. Enumerable.Repeat(3.9, 6)], 23.4))).GetProperty("outcome").GetProperty("passed").GetBoolean());
    }

    /// <summary>Steps scans at 2 Hz; the hand switches a third of a second after the count, as hands do.</summary>
    private static async Task<JsonElement> PlayAsync(BenchServer server, BenchPack pack, Action? switchOn, double untilS)
    {
        var desk = server.Service<IRhythmDesk>();
        pack.TimeS = 0;
        var over = new TaskCompletionSource();
        desk.Changed += () =>
        {
            if (desk.Playing is null) over.TrySetResult();
        };
        for (var t = 0.0; t <= untilS && desk.Playing is { } playing; t += 0.5)
        {
            if (switchOn is not null)
            {
                var due = playing.Rhythm.CountAt(t - 0.33).Phase == RhythmPhase.On;
                if (due && pack.Loaded is null) switchOn();
                else if (!due) pack.TakeOff();
            }

            var judged = playing.SoFar;
            pack.Scan();
            // A verdict is worked out beside the scans; the test waits for it at the end of each cycle so that it knows when it fell.
            if (playing.Count.Cycle >= 2 && playing.Count.LeftS <= 0.5 && playing.Count.Phase == RhythmPhase.Off)
            {
                pack.Scan();
                for (var look = 0; look < 200 && desk.Playing is { } now && ReferenceEquals(now.SoFar, judged); look++) await Task.Delay(5);
            }
        }

        pack.TakeOff();
        await over.Task.WaitAsync(TimeSpan.FromSeconds(20));
        return (await server.Get("proofs/rhythm")).GetProperty("last");
    }

    private static bool Of(JsonElement channel, string module) => channel.GetProperty("channel").GetString()!.StartsWith(module + ".", StringComparison.Ordinal);

    private static async Task<bool> Proven(BenchServer server, string channel) =>
        (await server.Get("proofs")).GetProperty("channels").EnumerateArray().Single(c => c.GetProperty("channel").GetString() == channel).GetProperty("proven").GetBoolean();

    /// <summary>The Petrel's 108 cells at rest at 3.9 V, with 1 mV of noise, scanned when told to.</summary>
    private sealed class BenchPack : ILiveView
    {
        private readonly PackLayout layout = PetrelProject.Site("test").Layout;

        public PackLayout Layout => layout;

        private readonly SeededDraws draws = new(11);
        private long sequence;
        private double dipV;

        public event Action? Changed;

        public PackState? Latest { get; private set; }

        public Func<string, string> HarnessOf { get; init; } = m => m;

        public Func<double, double> CommonV { get; init; } = _ => 0;

        public Origin Origin { get; init; } = Origin.Measured;

        public HashSet<string> Missing { get; } = [];

        public string? Loaded { get; private set; }

        public double CurrentA { get; set; }

        public double TimeS { get; set; }

        public void Load(string subject, double dip) => (Loaded, dipV) = (subject, dip);

        public void TakeOff() => (Loaded, dipV) = (null, 0);

        public void Scan()
        {
            var snapshot = Some.Snapshot(layout, ++sequence, b =>
            {
                b.Begin(sequence, new SnapshotTime(1_000_000_000 + (long)(TimeS * 1e6), Some.WallUnixMs + (long)(TimeS * 1000)));
                for (var c = 0; c < layout.CellCount; c++)
                {
                    var id = layout.CellAt(c);
                    var really = $"{HarnessOf(id.Module.Text)}.{id.Number}";
                    var on = Loaded is { } l && (really == l || really.StartsWith(l + ".", StringComparison.Ordinal));
                    b.Values[c] = 3.9 + CommonV(TimeS) + 0.001 * draws.Normal() - (on ? dipV : 0);
                    b.Qualities[c] = Missing.Contains(id.ToString()) ? Quality.Missing : Quality.Good;
                }

                b.Qualities[layout.CellCount..].Fill(Quality.Good);
                b.Values[b.Map.PackCurrent] = CurrentA;
                b.Origins.Fill(Origin);
            });
            Latest = Some.State(snapshot) with { FrontEnds = [Some.FrontEnd() with { Channels = [.. Enumerable.Range(0, layout.CellCount)] }] };
            TimeS += 0.5;
            Changed?.Invoke();
        }
    }

    private sealed class LoadOfBenchPack(BenchPack pack, double dipV) : ISimulatedLoad
    {
        public int TimesOn { get; private set; }

        public void LoadModule(ModuleId? module)
        {
            if (module is not { } on)
            {
                pack.TakeOff();
                return;
            }

            TimesOn++;
            pack.Load(on.Text, dipV);
        }

        public void LoadCell(CellId? cell) => throw new InvalidOperationException("No cell is asked for here.");
    }
}
