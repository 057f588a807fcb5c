using System.Text;
using System.Text.Json;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Commands;
using CellWatch.Core.History;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.Host.Bench;
using CellWatch.Log;
using CellWatch.Testing;
using Microsoft.Extensions.DependencyInjection;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>The record of a charge made over HTTP out of what the cell log holds of it.</summary>
public sealed class ChargeFromLogTests : IAsyncLifetime, IDisposable
{
    private readonly TemporaryFolder folder = new();
    private CellLog log = null!;
    private BenchServer server = null!;
    private DateTimeOffset began;
    private long run;

    public async Task InitializeAsync()
    {
        log = CellLog.Open(folder.File(), new CellLogOptions { SurvivePowerCut = false });
        server = await BenchServer.Start(BenchSite.For(MadeCharge.Layout, CellType.Nmc420, "red button on the station", "test"), more: services =>
        {
            services.AddSingleton<IHistory>(log);
            services.AddSingleton(new ChannelMap(MadeCharge.Layout));
            services.AddSingleton<IChargeMaker, LogChargeMaker>();
        });
        began = server.Clock.Now;
        run = await log.OpenRunAsync(RunKind.Charge, "charge", At(MadeCharge.RestEndS - 1), "recognised");
        await log.AppendAllAsync(Enumerable.Range(0, MadeCharge.EndS + 60).Where(t => t is < 800 or > 820).Select(t => MadeCharge.Scan(t, began, b => b.Origins.Fill(Origin.Simulated))));
        log.RecordCommand(new ConfirmPresence("Ada"), new CommandAnswer(true, "Noted."), At(290));
        log.RecordCommand(new HandCutOffTried("Ada"), new CommandAnswer(true, "Noted."), At(MadeCharge.CutS + 10));
        log.RecordCommand(new ConfirmPresence("Bea"), new CommandAnswer(true, "Noted."), At(1500));
        log.RecordEvent(EventKinds.Mark, "fan of the station louder", At(1000), "Bea");
        await log.FlushAsync();
    }

    public async Task DisposeAsync()
    {
        await server.DisposeAsync();
        await log.DisposeAsync();
    }

    public void Dispose() => folder.Dispose();

    [Fact]
    public async Task A_recognised_charge_becomes_a_record_with_its_curve_its_gap_and_who_limited()
    {
        Assert.Contains("is not over yet", await server.Refused("charges/from-log", new { id = "first DC charge", kind = "dc", run }), StringComparison.Ordinal);
        await log.CloseRunAsync(run, At(MadeCharge.EndS), "recognised");
        var record = await server.Enter("charges/from-log", new { id = "first DC charge", kind = "dc", run, frontEndsIsolated = true, people = 2, wallWh = 600 });
        Assert.True(record.GetProperty("simulated").GetBoolean());
        var c = record.GetProperty("value");
        Assert.Equal("B07.4", c.GetProperty("limitedBy").GetString());
        Assert.True(c.GetProperty("currentObeyed").GetBoolean());
        Assert.InRange(c.GetProperty("inAh").GetDouble(), MadeCharge.InAh - 22 * 60 / 3600.0 - 0.05, MadeCharge.InAh - 22 * 60 / 3600.0 + 0.05);
        Assert.Equal(22, c.GetProperty("details").GetProperty("gaps")[0].GetProperty("lengthS").GetDouble());
        Assert.Equal(["a channel silent for 5 s"], c.GetProperty("stops").EnumerateArray().Select(s => s.GetString()));
        Assert.Equal(["Bea"], c.GetProperty("details").GetProperty("presence").EnumerateArray().Select(s => s.GetProperty("by").GetString()));
        Assert.Contains(c.GetProperty("details").GetProperty("events").EnumerateArray(), e => e.GetProperty("what").GetString() == "fan of the station louder");
        var met = c.GetProperty("preconditions").EnumerateArray().ToDictionary(p => p.GetProperty("name").GetString()!, p => p.GetProperty("met").GetBoolean());
        Assert.True(met["hand cut-off"] && met["person present"] && met["second person"] && met["front ends isolated"] && met["data fresh"] && met["temperature"], string.Join(", ", met.Where(m => !m.Value)));
        Assert.False(met["channels proven"]);

        var gate = server.Service<BenchProject>().Gates.FactsFor(15)["dcCharge"];
        Assert.False(gate.Met);
        Assert.Contains("a channel silent for 5 s", gate.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Its_report_is_two_pages_in_both_forms_with_what_was_not_known()
    {
        await server.Enter("charges/from-log", new { id = "first DC charge", kind = "dc", from = began.AddSeconds(MadeCharge.RestEndS), to = began.AddSeconds(MadeCharge.EndS) });
        var html = await server.Client.GetStringAsync("/bench/reports/charge?about=first%20DC%20charge");
        foreach (var part in (string[])["Who limited: B07.4 at 4.", "the current obeyed", "at least", "Gaps, nothing filled in", "22.0", "Bea", "fan of the station louder", "time constant 33", "R squared 1.000", "4.20", "fingerprint"])
            Assert.Contains(part, html.Replace("\u202f", " ", StringComparison.Ordinal), StringComparison.Ordinal);
        var pdf = Encoding.Latin1.GetString(await server.Client.GetByteArrayAsync("/bench/reports/charge?about=first%20DC%20charge&format=pdf"));
        // Two pages; a third only where much happened.
        Assert.Matches(@"/Count [23]\b", pdf);
    }

    [Theory]
    [InlineData("""{"id":"x","kind":"dc"}""", "Say which charge")]
    [InlineData("""{"id":" ","kind":"dc","run":1}""", "Give the record a name")]
    [InlineData("""{"id":"x","kind":"dc","run":99}""", "no run 99")]
    [InlineData("""{"id":"x","kind":"dc","from":"2026-03-03T09:00:00Z","to":"2026-03-03T08:00:00Z"}""", "ended before it began")]
    [InlineData("""{"id":"x","kind":"dc","from":"2026-02-01T09:00:00Z","to":"2026-02-01T10:00:00Z"}""", "holds nothing at full rate")]
    [InlineData("""{"id":"x","kind":"dc","from":"2026-03-03T09:00:00Z","to":"2026-03-03T09:04:00Z"}""", "this is no charge")]
    public async Task What_is_no_charge_is_refused_in_a_sentence_and_nothing_is_kept(string order, string sentence)
    {
        using var parsed = JsonDocument.Parse(order);
        Assert.Contains(sentence, await server.Refused("charges/from-log", parsed.RootElement), StringComparison.Ordinal);
        Assert.Empty(server.Service<BenchProject>().Safety.Charges());
    }

    [Fact]
    public async Task The_name_of_another_charge_is_not_written_over()
    {
        await server.Enter("charges/from-log", new { id = "first", kind = "ac", from = began.AddSeconds(MadeCharge.RestEndS), to = began.AddSeconds(MadeCharge.CutS + 10) });
        Assert.Contains("give this one another name", await server.Refused("charges/from-log", new { id = "first", kind = "dc", from = began.AddSeconds(MadeCharge.BeginS), to = began.AddSeconds(MadeCharge.EndS) }), StringComparison.Ordinal);
    }

    private SnapshotTime At(int s) => new(1_000_000L * (s + 1), began.AddSeconds(s).ToUnixTimeMilliseconds());
}
