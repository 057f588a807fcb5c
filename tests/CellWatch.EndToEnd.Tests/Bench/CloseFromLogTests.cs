using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.History;
using CellWatch.Core.Pack;
using CellWatch.Core.Register;
using CellWatch.Core.Snapshots;
using CellWatch.Host.Api;
using CellWatch.Host.Bench;
using CellWatch.Log;
using CellWatch.Testing;
using Microsoft.Extensions.DependencyInjection;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>Runs on the pack's own instruments, closed over HTTP with what the cell log holds of them.</summary>
public sealed class CloseFromLogTests : IAsyncLifetime, IDisposable
{
    private static readonly PackLayout Layout = new("petrel", [new PackModule(new ModuleId("B07"), new ModuleTopology(6, 2), 2, 1, "bench")]);
    private readonly TemporaryFolder folder = new();
    private readonly SeededDraws draws = new(5);
    private CellLog log = null!;
    private BenchServer server = null!;
    private DateTimeOffset began;

    public async Task InitializeAsync()
    {
        log = CellLog.Open(folder.File(), new CellLogOptions { SurvivePowerCut = false });
        server = await BenchServer.Start(more: services =>
        {
            services.AddSingleton<IHistory>(log);
            services.AddSingleton(new ChannelMap(Layout));
            services.AddSingleton<IRunCloser, LogCloser>();
        });
        began = server.Clock.Now;
        foreach (var id in new[] { "B07", "B08" })
        {
            await server.Enter("modules", new ModuleRecord { Identity = id, MassKg = 12.5 });
            await server.Enter($"modules/{id}/inspection", new InspectionEntry([.. Enumerable.Repeat(3.85, 6)], [], 23.1, 0, 20, 50, false, false, "clean", "meter 2"));
        }
    }

    public async Task DisposeAsync()
    {
        await server.DisposeAsync();
        await log.DisposeAsync();
    }

    public void Dispose() => folder.Dispose();

    [Fact]
    public async Task Story_5_live_ten_days_of_the_log_tell_the_leak_and_accuse_no_sibling()
    {
        await server.Enter("runs", new RunBody("B07", RunMethod.Rest, "shelf", false));
        // 1 mV a day on group 4 against its module, all swing 0.4 mV/K with the room; a scan every ten minutes is enough of a log.
        var scans = Enumerable.Range(0, 10 * 144 + 1).Select(i => Scan(i, i * 600.0, t => (0, 20 + 1.5 * Math.Sin(2 * Math.PI * t / 86400)), (g, t, degC) => 3.85 + 0.0004 * (degC - 20) - (g == 3 ? 0.001 * t / 86400 : 0)));
        await log.AppendAllAsync(scans);
        server.Clock.Now = began.AddDays(10);
        var closed = await server.Enter("runs/B07-rest-1/from-log", new ReasonBody(""));
        Assert.Contains("Group 4 loses", closed.GetProperty("finding").GetString(), StringComparison.Ordinal);
        Assert.Equal("ended", closed.GetProperty("run").GetProperty("value").GetProperty("state").GetString());
        var rest = server.Service<BenchProject>().Runs.RestOf("B07")!.Value.Outcome;
        // The slope of the site's curve at 3.85 V makes the milliampere; against the module's median the leak is 1 mV a day whatever that is.
        Assert.InRange(rest.Groups[3].SlopeMvPerDay, -1.05, -0.95);
        Assert.All(rest.Groups.Where(g => g.Cell != 4), g => Assert.Equal(Verdict.Accept, g.Verdict));
        Assert.True(rest.SmallestLeakFoundMilliampere > 0);
        Assert.Single((await server.Get("runs/B07-rest-1")).GetProperty("value").GetProperty("raw").EnumerateArray());
    }

    [Fact]
    public async Task A_pulse_is_found_in_the_log_and_its_resistances_are_kept()
    {
        await server.Enter("runs", new RunBody("B07", RunMethod.Pulse, "load", true));
        // An hour of rest, 10.5 s of 110 A, rest again; 0.8 mOhm at once and 0.3 mOhm that lag with 4 s.
        double Since(double t) => t - 3600;
        bool On(double t) => Since(t) is >= 0 and < 11;
        var scans = Enumerable.Range(0, 2 * 3700).Select(i => Scan(i, i * 0.5, t => (On(t) ? -110 : 0, 21), (_, t, _) => 3.72 - (On(t) ? 110 * (0.0008 + 0.0003 * (1 - Math.Exp(-Since(t) / 4))) : 0), noiseV: 0.0002));
        await log.AppendAllAsync(scans);
        server.Clock.Now = began.AddSeconds(3700);
        var closed = await server.Enter("runs/B07-pulse-1/from-log", new ReasonBody(""));
        Assert.Contains("at 110 A", closed.GetProperty("finding").GetString(), StringComparison.Ordinal);
        var pulse = server.Service<BenchProject>().Runs.PulseOf("B07")!.Value;
        Assert.True(pulse.Outcome.Comparable, pulse.Outcome.Sentence);
        Assert.All(pulse.Outcome.Groups, g => Assert.InRange(g.TenSecondMilliohm, 1.03, 1.10));
        Assert.InRange(pulse.ChargePercent, 30, 60);
    }

    [Fact]
    public async Task What_the_log_cannot_give_is_refused_in_a_sentence_and_the_run_goes_on()
    {
        await server.Enter("runs", new RunBody("B07", RunMethod.Pulse, "load", true));
        await server.Enter("runs", new RunBody("B08", RunMethod.Rest, "shelf", false));
        Assert.Contains("B08 is not on this pack's instruments", await server.Refused("runs/B08-rest-1/from-log", new ReasonBody("")), StringComparison.Ordinal);
        Assert.Contains("Say who you are", await server.Refused("runs/B07-pulse-1/from-log", new ReasonBody(""), by: " "), StringComparison.Ordinal);
        server.Clock.Now = began.AddMinutes(30);
        Assert.Contains("no discharge of 30 A or more", await server.Refused("runs/B07-pulse-1/from-log", new ReasonBody("")), StringComparison.Ordinal);
        Assert.Equal("running", (await server.Get("runs/B07-pulse-1")).GetProperty("value").GetProperty("state").GetString());
        await server.Enter("runs/B07-pulse-1/discard", new ReasonBody("no load at hand"));

        await server.Enter("runs", new RunBody("B07", RunMethod.Rest, "shelf", false));
        Assert.Contains("The log holds nothing of B07", await server.Refused("runs/B07-rest-1/from-log", new ReasonBody("")), StringComparison.Ordinal);
        await log.AppendAllAsync(Enumerable.Range(0, 100).Select(i => Scan(i, 1800 + i * 600.0, t => (t is > 30_000 and < 31_000 ? -37 : 0, 20), (_, _, _) => 3.85)));
        server.Clock.Now = began.AddDays(1);
        Assert.Contains("this was no rest", await server.Refused("runs/B07-rest-1/from-log", new ReasonBody("")), StringComparison.Ordinal);
    }

    private Snapshot Scan(long i, double timeS, Func<double, (double CurrentA, double DegC)> now, Func<int, double, double, double> cellV, double noiseV = 0.0001) => Some.Snapshot(Layout, i + 1, b =>
    {
        b.Begin(i + 1, new SnapshotTime((long)(timeS * 1e6) + 1_000_000, began.ToUnixTimeMilliseconds() + (long)(timeS * 1000)));
        b.Qualities.Fill(Quality.Good);
        b.Origins.Fill(Origin.Measured);
        b.AgesUs.Fill(100_000);
        var (currentA, degC) = now(timeS);
        for (var g = 0; g < 6; g++) b.Values[g] = cellV(g, timeS, degC) + noiseV * draws.Normal();
        for (var s = 0; s < 2; s++) b.Values[b.Map.FirstTemperature + s] = degC;
        b.Values[b.Map.PackCurrent] = currentA;
    });
}
