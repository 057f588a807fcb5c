using CellWatch.Core.Bench.Project;
using CellWatch.Core.History;
using CellWatch.Core.Pack;
using CellWatch.Core.Proofs;
using CellWatch.Core.Snapshots;
using CellWatch.Host.Bench;
using CellWatch.Log;
using CellWatch.Testing;
using Microsoft.Extensions.DependencyInjection;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>Warm hand, current sensor and string voltage proven over HTTP by what the last seconds of the log hold.</summary>
public sealed class LiveProofsTests : IAsyncLifetime, IDisposable
{
    private readonly TemporaryFolder folder = new();
    private CellLog log = null!;
    private BenchServer server = null!;
    private DateTimeOffset began;
    private int seconds;

    public async Task InitializeAsync()
    {
        log = CellLog.Open(folder.File(), new CellLogOptions { SurvivePowerCut = false });
        server = await BenchServer.Start(BenchSite.For(MadeCharge.Layout, CellType.Nmc420, "red button on the station", "test"), more: services =>
        {
            services.AddLogging();
            services.AddSingleton<IHistory>(log);
            services.AddSingleton<IRecorder>(log);
            services.AddSingleton(new ChannelMap(MadeCharge.Layout));
            services.AddSingleton<ILiveProofs, LiveProofs>();
        });
        began = server.Clock.Now;
    }

    public async Task DisposeAsync()
    {
        await server.DisposeAsync();
        await log.DisposeAsync();
    }

    public void Dispose() => folder.Dispose();

    [Fact]
    public async Task The_sensor_that_rose_is_named_by_its_kelvins_and_proven_with_its_stretch_of_the_log()
    {
        await Play(90, (t, b) => b.Values[b.Map.FirstTemperature] = 20 + (t > 30 ? Math.Min(2.4, 0.08 * (t - 30)) : 0));
        var proof = await server.Enter("proofs/warm-hand/live", new { sensor = "B07.t1", seconds = 90 });
        Assert.True(proof.GetProperty("passed").GetBoolean());
        Assert.Equal("B07.t1 rose by 2.4 K and no other did.", proof.GetProperty("sentence").GetString());
        var kept = server.Service<BenchProject>().ProofStates.History("B07.t1", ProofMethod.WarmHand)[^1];
        Assert.Matches("^Live: 9[01] scans, .* UTC in the cell log.$", kept.Value.Evidence);
        Assert.False(kept.Record.Simulated);
        Assert.Equal("warm hand on B07.t1", Assert.Single(await log.ReadFrozenAsync()).Reason);
    }

    [Fact]
    public async Task Exchanged_sensors_and_none_that_rose_are_said_and_kept_as_tried()
    {
        await Play(90, (t, b) => b.Values[b.Map.FirstTemperature + 1] = 20 + (t > 30 ? Math.Min(2.0, 0.08 * (t - 30)) : 0));
        var other = await server.Enter("proofs/warm-hand/live", new { sensor = "B07.t1", seconds = 90 });
        Assert.False(other.GetProperty("passed").GetBoolean());
        Assert.Contains("B07.t2 rose: the sensors are exchanged", other.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.Contains("B07.t2 +2.0 K", other.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        await Play(120, (_, _) => { });
        Assert.Contains("No sensor rose", (await server.Enter("proofs/warm-hand/live", new { sensor = "B07.t1", seconds = 60 })).GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.Equal([false, false], server.Service<BenchProject>().ProofStates.History("B07.t1", ProofMethod.WarmHand).Select(a => a.Value.Passed));
    }

    [Fact]
    public async Task Stale_silent_and_old_data_refuse_and_nothing_is_kept()
    {
        Assert.Contains("Nothing was heard", await server.Refused("proofs/warm-hand/live", new { sensor = "B07.t1" }), StringComparison.Ordinal);
        await Play(90, (t, b) => b.Qualities[b.Map.FirstTemperature + 1] = t is > 40 and < 43 ? Quality.Stale : Quality.Good);
        Assert.Contains("B07.t2 gave no good value in 2 of", await server.Refused("proofs/warm-hand/live", new { sensor = "B07.t1" }), StringComparison.Ordinal);
        Assert.Contains("did you mean 'B07.t1'", await server.Refused("proofs/warm-hand/live", new { sensor = "B07.t9" }), StringComparison.Ordinal);
        server.Clock.Now = server.Clock.Now.AddSeconds(20);
        Assert.Contains("s old", await server.Refused("proofs/warm-hand/live", new { sensor = "B07.t1" }), StringComparison.Ordinal);
        Assert.Empty(server.Service<BenchProject>().ProofStates.History("B07.t1", ProofMethod.WarmHand));
    }

    [Fact]
    public async Task Sign_scale_and_zero_of_the_current_sensor_are_read_in_three_presses()
    {
        Assert.Contains("without load first", await server.Refused("proofs/current/live", new { step = "load", meterA = 20 }), StringComparison.Ordinal);
        await Current(0.03);
        Assert.Contains("Without load it reads +0.03 A", await Step("zero"), StringComparison.Ordinal);
        await Current(-20.1);
        Assert.Contains("Type what the clamp meter reads", await server.Refused("proofs/current/live", new { step = "load" }), StringComparison.Ordinal);
        Assert.Contains("Connect a charger", await Step("load", 20.2), StringComparison.Ordinal);
        await Current(10.9);
        var proof = await server.Enter("proofs/current/live", new { step = "charger" });
        Assert.True(proof.GetProperty("passed").GetBoolean(), proof.ToString());
        var kept = server.Service<BenchProject>().ProofStates.History("packCurrentA", ProofMethod.KnownCurrent)[^1].Value;
        Assert.Equal((0.03, -20.1, 20.2, 10.9), (Math.Round(kept.Readings["zeroA"], 6), Math.Round(kept.Readings["loadedA"], 6), kept.Readings["expectedLoadA"], Math.Round(kept.Readings["chargingA"], 6)));
        foreach (var part in (string[])["zero 0.03 A: Live:", "load -20.10 A: Live:", "Clamp meter 20.20 A", "charger 10.90 A: Live:"]) Assert.Contains(part, kept.Evidence, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_reversed_sensor_is_named_and_one_that_drifts_is_not_read()
    {
        await Current(0);
        await Step("zero");
        await Current(20.1);
        Assert.Contains("it is reversed", await Step("load", 20), StringComparison.Ordinal);
        await Play(10, (t, b) => b.Values[b.Map.PackCurrent] = -20 - 0.5 * (t % 10));
        Assert.Contains("wait until it is steady", await server.Refused("proofs/current/live", new { step = "load", meterA = 20 }), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Sum_and_channel_of_the_string_are_read_live_against_the_meter_at_rest_only()
    {
        await Play(12, (_, b) => b.Values[b.Map.StringVoltage] = 6 * 3.642);
        Assert.True((await server.Enter("proofs/string-voltage/live", new { meterV = 21.86 })).GetProperty("passed").GetBoolean());
        var wrong = await server.Enter("proofs/string-voltage/live", new { meterV = 22.3 });
        Assert.Contains("differ by more than 0.3 %", wrong.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        await Current(30);
        Assert.Contains("compared at rest", await server.Refused("proofs/string-voltage/live", new { meterV = 21.86 }), StringComparison.Ordinal);
        Assert.Contains("hand meter", await server.Refused("proofs/string-voltage/live", new { meterV = 0 }), StringComparison.Ordinal);
        Assert.Equal(2, server.Service<BenchProject>().ProofStates.History("stringVoltageV", ProofMethod.StringVoltage).Count);
    }

    private async Task<string> Step(string step, double? meterA = null) => (await server.Enter("proofs/current/live", new { step, meterA })).GetProperty("sentence").GetString()!;

    private Task Current(double currentA) => Play(12, (_, b) => b.Values[b.Map.PackCurrent] = currentA);

    /// <summary>Records some seconds at rest, a scan a second, up to now.</summary>
    private async Task Play(int count, Action<int, SnapshotBuffer> change)
    {
        await log.AppendAllAsync(Enumerable.Range(0, count).Select(i => MadeCharge.Scan(seconds + i, began, b =>
        {
            for (var g = 0; g < 6; g++) b.Values[g] = MadeCharge.CellV(g, 0);
            for (var s = 0; s < 2; s++) b.Values[b.Map.FirstTemperature + s] = 20;
            b.Values[b.Map.PackCurrent] = 0;
            b.Values[b.Map.StringVoltage] = 21.85;
            change(i, b);
        })));
        await log.FlushAsync();
        seconds += count;
        server.Clock.Now = began.AddSeconds(seconds - 1);
    }
}
