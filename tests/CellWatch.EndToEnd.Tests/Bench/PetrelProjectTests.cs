using System.Text;
using System.Text.Json;
using CellWatch.Core.Register;
using CellWatch.Host.Bench;
using CellWatch.Host.Reports;
using CellWatch.Log.BenchRecords;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>The Petrel's whole project, entered once through the HTTP door into a file.</summary>
public sealed class FinishedProject : IAsyncLifetime
{
    private readonly string path = Path.Combine(Path.GetTempPath(), $"petrel-{Guid.NewGuid():N}.cellwatch");

    internal BenchServer Server { get; private set; } = null!;

    public async Task InitializeAsync()
    {
        Server = await BenchServer.Start(store: () => SqliteRecordStore.Open(path));
        foreach (var step in new PetrelProject().Steps())
        {
            Server.Clock.Now = step.At;
            using var answer = await step.SendAsync(Server.Client);
            Assert.True(answer.IsSuccessStatusCode, $"{step.Path} at {step.At:yyyy-MM-dd}: {await answer.Content.ReadAsStringAsync()}");
        }
    }

    public async Task DisposeAsync()
    {
        await Server.DisposeAsync();
        foreach (var file in Directory.GetFiles(Path.GetTempPath(), Path.GetFileName(path) + "*")) File.Delete(file);
    }
}

/// <summary>A whole project, from intake over first AC and DC charge to the first season, through the HTTP door alone; and its reports.</summary>
public sealed class PetrelProjectTests(FinishedProject project) : IClassFixture<FinishedProject>
{
    private BenchServer Server => project.Server;

    [Fact]
    public async Task The_petrel_goes_from_intake_to_its_first_season()
    {
        var gates = await Server.Get("gates");
        Assert.Equal(19, gates.EnumerateArray().Count(g => g.GetProperty("state").GetString() == "proven"));
        Assert.Matches(@"limited by B\d\d\.[1-6] at 4\.15\d V and 60 A, hand cut-off tried", gates[14].GetProperty("evidence").GetProperty("dcCharge").GetString());
        var summary = await Server.Get("summary");
        Assert.True(summary.GetProperty("supervised").GetBoolean());
        Assert.Equal(20, summary.GetProperty("nextGate").GetInt32());
        Assert.Contains("not yet a year", (await Server.Get("reports/fade?format=json")).ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Grades_follow_from_the_simulated_tests()
    {
        var cards = (await Server.Get("grades")).GetProperty("value").GetProperty("cards").EnumerateArray().ToDictionary(c => c.GetProperty("identity").GetString()!);
        Assert.Equal(("r", "rest test"), (cards["B20"].GetProperty("grade").GetString(), cards["B20"].GetProperty("decidedBy").GetString()));
        Assert.Equal(("b", "capacity"), (cards["B07"].GetProperty("grade").GetString(), cards["B07"].GetProperty("decidedBy").GetString()));
        Assert.Equal("a", cards["B01"].GetProperty("grade").GetString());
        Assert.Equal("rejected", (await Server.Get("modules/B20")).GetProperty("module").GetProperty("status").GetString());
    }

    [Fact]
    public async Task A_failed_connector_check_is_kept_beside_the_one_that_passed()
    {
        var stacks = await Server.Get("proofs/B09/stack");
        Assert.Equal([false, true], stacks.EnumerateArray().Select(s => s.GetProperty("value").GetProperty("passed").GetBoolean()));
    }

    [Fact]
    public void Every_record_says_simulated() => Assert.All(Server.Service<IRecordStore>().All(), r => Assert.True(r.Simulated, $"{r.Kind} {r.Key}"));

    [Fact]
    public async Task Every_report_carries_the_statement_and_simulated_in_every_form()
    {
        var list = (await Server.Get("reports")).EnumerateArray().ToList();
        var kinds = list.Select(r => r.GetProperty("kind").GetString()!).Distinct().ToList();
        Assert.Equal(BenchReports.Kinds.Keys.Order(), kinds.Order());
        foreach (var report in list.DistinctBy(r => r.GetProperty("kind").GetString()).Concat(list.Where(r => r.GetProperty("kind").GetString() == "certificate").Where((_, i) => i % 20 == 0)))
        {
            var address = $"/bench/reports/{report.GetProperty("kind").GetString()}?about={report.GetProperty("about").GetString()}";
            var html = await Server.Client.GetStringAsync(address);
            var csv = await Server.Client.GetStringAsync(address + "&format=csv");
            var json = await Server.Client.GetStringAsync(address + "&format=json");
            var pdf = await Server.Client.GetByteArrayAsync(address + "&format=pdf");
            foreach (var text in new[] { html, csv }) Assert.Contains(ReportDocument.Statement, text, StringComparison.Ordinal);
            foreach (var text in new[] { html, csv }) Assert.Contains("SIMULATED", text, StringComparison.Ordinal);
            Assert.Matches("fingerprint [0-9a-f]{8}", html);
            foreach (var text in new[] { html, csv }) Assert.Contains("CellWatch ", text, StringComparison.Ordinal);
            Assert.True(JsonDocument.Parse(json).RootElement.GetProperty("simulated").GetBoolean());
            Assert.DoesNotContain("http", html.Replace("http-equiv", "", StringComparison.Ordinal), StringComparison.Ordinal);
            Assert.Equal("%PDF", Encoding.ASCII.GetString(pdf, 0, 4));
        }
    }

    [Fact]
    public async Task The_grade_table_says_what_it_is_not_and_names_the_limit_that_decided()
    {
        var html = await Server.Client.GetStringAsync("/bench/reports/grades");
        Assert.Contains("Method and limits: own, listed below. Not an evaluation to UL 1974 or IEC 63330. Grades describe used modules; A = no limits found.", html, StringComparison.Ordinal);
        Assert.Contains("leakRejectMilliampere", html, StringComparison.Ordinal);
        Assert.Contains("siblingScore", html, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_report_that_does_not_exist_is_refused_with_the_nearest_name()
    {
        var answer = await Server.Client.GetAsync(new Uri("/bench/reports/passprt", UriKind.Relative));
        Assert.Equal(422, (int)answer.StatusCode);
        Assert.Contains("did you mean 'passport'", await answer.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_suggested_plan_is_scored_beside_the_manual_one_with_its_gap()
    {
        var compared = await Server.Enter("plan/compare", new { moduleOfSlot = PetrelProject.Site("test").Layout.Modules.Select(m => m.Id.Text) });
        var (suggested, manual) = (compared.GetProperty("suggested"), compared.GetProperty("manual"));
        Assert.InRange(suggested.GetProperty("gapPercent").GetDouble(), 0, 1);
        Assert.True(suggested.GetProperty("score").GetProperty("total").GetDouble() <= manual.GetProperty("score").GetProperty("total").GetDouble());
    }
}
