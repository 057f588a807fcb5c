using Bunit;
using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Dashboard.BenchPages;
using CellWatch.Dashboard.Live;
using CellWatch.Testing.Pages;
using Microsoft.AspNetCore.Components;
using Microsoft.AspNetCore.Components.Forms;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

/// <summary>Bench, Fitting plan, Proofs and Reports over records in memory.</summary>
public sealed class BenchPagesTests : PageTest
{
    private readonly MemoryDesk desk = new();

    public BenchPagesTests() => Services.AddSingleton<IBenchDesk>(desk);

    [Fact]
    public void Empty_pages_say_what_to_do_next()
    {
        Assert.Contains("No module yet. The first one is entered", Say<Bench>(), StringComparison.Ordinal);
        Assert.Contains("No plan yet: the slots of the craft are not entered.", Say<BenchPages.FittingPlan>(), StringComparison.Ordinal);
        Assert.Contains("0 of 20 gates proven. Next: 1, vehicle safe.", Say<BenchPages.Proofs>(), StringComparison.Ordinal);
        Assert.Contains("Nothing to report yet", Say<Reports>(), StringComparison.Ordinal);
    }

    [Fact]
    public void A_module_sheet_tells_what_is_on_record_of_its_module_and_what_comes_next_where_nothing_is()
    {
        desk.Enter("Ada", (p, who) => p.Modules.Add(new ModuleRecord { Identity = "B07", MassKg = 12.4 }, who.By, who.At, who.Simulated));
        var page = Show<ModuleHistory>(Petrel.At("normal"), p => p.Add(h => h.Module, "B07"));
        Assert.Contains("B07 has no tests on record yet. Next: incoming inspection.", page.Find(".module-history").TextContent, StringComparison.Ordinal);
        desk.Enter("Ada", (p, who) => p.Runs.Inspect(new("B07"), new InspectionEntry([3.7, 3.7, 3.7, 3.7, 3.7, 3.7], [], 22.2, 0, 20, 55, false, false, "", "hand meter"), who));
        page.WaitForAssertion(() => Assert.Contains("inspection ", page.Find(".module-history").TextContent, StringComparison.Ordinal));
        Assert.EndsWith("about=B07", page.Find(".module-history a").GetAttribute("href"), StringComparison.Ordinal);
    }

    [Fact]
    public void While_the_records_are_being_made_the_pages_say_so_and_show_nothing_half()
    {
        desk.Preparing = "the sample project is being entered.";
        Assert.Equal("Not yet: the sample project is being entered.", Say<BenchPages.Proofs>());
        Assert.Equal("Not yet: the sample project is being entered.", Say<Bench>());
    }

    [Fact]
    public async Task A_gate_without_its_evidence_is_not_taken_and_nothing_is_stored()
    {
        await Services.GetRequiredService<PersonAtThePage>().SetAsync("Ada");
        var page = Open<BenchPages.Proofs>();
        Do(page, p => p.FindAll(".gate-sheet .btn").Single(b => b.TextContent.Contains("signed as Ada", StringComparison.Ordinal)).Click());
        var answer = page.Find(".bench-answer").TextContent;
        Assert.Contains("Not taken.", answer, StringComparison.Ordinal);
        Assert.Contains("Service plug out and locked", answer, StringComparison.Ordinal);
        Assert.Empty(desk.Store.All());
    }

    [Fact]
    public void A_press_that_would_be_refused_says_how_much_is_open()
    {
        var page = Open<BenchPages.Proofs>();
        Assert.Contains("unmet", page.FindAll(".gate-sheet .btn").Single(b => b.TextContent.Contains("signed with a name", StringComparison.Ordinal)).ClassName, StringComparison.Ordinal);
        Assert.Equal("3 of its 3 needs are open; pressed now it says which.", page.Find("#missing").TextContent);
        Do(page, p => p.FindAll(".need input[type=checkbox]")[0].Change(true));
        Assert.StartsWith("2 of its 3 needs are open", page.Find("#missing").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_rhythm_is_ordered_on_the_page_and_its_count_is_shown_while_it_is_played()
    {
        var rhythms = new RhythmDeskInMemory();
        Services.AddSingleton<IRhythmDesk>(rhythms);
        await Services.GetRequiredService<PersonAtThePage>().SetAsync("Ada");
        var page = Open<BenchPages.Proofs>();
        Assert.True(page.Find(".rhythm-form .btn").HasAttribute("disabled"));
        Do(page, p => p.Find("#rhythm-module").Change("B03"));
        Do(page, p => p.Find("#rhythm-below").Change(true));
        Do(page, p => p.Find(".rhythm-form .btn").Click());
        Assert.Equal(("Ada", new RhythmOrder("B03", ProofMethod.ModuleLoad, true, false)), rhythms.Begun);

        foreach (var (timeS, words) in new[] { (2.0, "GET READY, load off 8 s"), (14.5, "LOAD ON 6 s"), (25, "LOAD OFF 5 s") })
        {
            rhythms.At(timeS);
            page.Render();
            Assert.Equal(words, page.Find(".rhythm-do").TextContent.Replace('\u202f', ' '));
        }

        Assert.Contains("cycle 1 of 5", page.Find(".rhythm-where").TextContent, StringComparison.Ordinal);
        Do(page, p => p.Find(".rhythm .btn").Click());
        Assert.Empty(page.FindAll(".rhythm"));
        Assert.Contains("Stopped by Ada", page.Find(".gate-sheet").TextContent, StringComparison.Ordinal);
    }

    /// <summary>A desk that begins, counts as told and stops; it judges nothing.</summary>
    private sealed class RhythmDeskInMemory : IRhythmDesk
    {
        public event Action? Changed;

        public (string By, RhythmOrder Order)? Begun { get; private set; }

        public RhythmView? Playing { get; private set; }

        public RhythmResult? Last { get; private set; }

        public bool CanSimulateLoad => false;

        public RhythmView Begin(string by, RhythmOrder order)
        {
            Begun = (by, order);
            At(0);
            return Playing!;
        }

        public void At(double timeS)
        {
            Playing = new RhythmView(Begun!.Value.Order, Begun.Value.By, LoadRhythm.ByHand.CountAt(timeS), LoadRhythm.ByHand, timeS, (int)(2 * timeS), null);
            Changed?.Invoke();
        }

        public void Stop(string by) => (Playing, Last) = (null, new RhythmResult(Begun!.Value.Order, null, $"Stopped by {by}: nothing was judged.", DateTimeOffset.UnixEpoch));
    }

    /// <summary>Readings of the-job section 11: 267 kOhm, 667 ohm/V of 400 V, one leak of 200 kOhm at group 27.</summary>
    [Fact]
    public async Task An_isolation_test_is_entered_by_its_form_and_its_result_stands_above_it()
    {
        await Services.GetRequiredService<PersonAtThePage>().SetAsync("Ada");
        var page = Open<BenchPages.Proofs>();
        Assert.Contains("More than 60 V DC can kill", page.Find(".isolation .gate-caution").TextContent.Replace('\u202f', ' '), StringComparison.Ordinal);
        Type(page, ("PackV", "400"), ("MinusToBodyV", "100"), ("PlusToBodyV", "300,0"), ("KnownOhm", "200"), ("KnownAtMinus", "plus"), ("WithKnownV", "150"), ("HumidityPercent", "58"));
        Assert.Contains("V2\u2032", page.Find("label[for=WithKnownV]").TextContent, StringComparison.Ordinal);
        Do(page, p => p.Find(".isolation form").Submit());
        var result = page.Find(".isolation-result").TextContent.Replace('\u202f', ' ');
        foreach (var words in new[] { "267 k\u03a9", "667 ohm/V", "200 k\u03a9", "about 25 % up from negative: group 27", "Two leaks would look the same", "Passes and is low: find out why" })
            Assert.Contains(words, result, StringComparison.Ordinal);
        Assert.Equal("Ada", Assert.Single(desk.Store.All()).By);
    }

    [Theory]
    [InlineData("KnownAtMinus", "minus", "larger reading, here plus to body")]
    [InlineData("MinusToBodyV", "250", "add up to more than the pack voltage", "PlusToBodyV")]
    [InlineData("WithKnownV", "350", "rose when the known resistor was fitted")]
    [InlineData("PackV", "four hundred", "is no number: type it like")]
    [InlineData("KnownAtMinus", "", "Choose the side")]
    [InlineData("WithKnownV", "", "Still to be measured")]
    [InlineData("MeterOhm", "1", "at least 10 M\u03a9")]
    [InlineData("HumidityPercent", "158", "between 0 and 100")]
    public async Task A_refused_isolation_test_says_why_at_its_field_keeps_what_was_typed_and_stores_nothing(string field, string typed, string says, string? at = null)
    {
        await Services.GetRequiredService<PersonAtThePage>().SetAsync("Ada");
        var page = Open<BenchPages.Proofs>();
        Type(page, ("PackV", "400"), ("MinusToBodyV", "100"), ("PlusToBodyV", "300"), ("KnownOhm", "200"), ("KnownAtMinus", "plus"), ("WithKnownV", "150"), (field, typed));
        Do(page, p => p.Find(".isolation form").Submit());
        Assert.Contains(says, page.Find($"#{at ?? field}-fault").TextContent.Replace('\u202f', ' '), StringComparison.Ordinal);
        Assert.Equal("true", page.Find($"#{at ?? field}").GetAttribute("aria-invalid"));
        Assert.Single(page.FindAll(".isolation .field-fault"));
        Assert.Contains("Not taken.", page.Find(".isolation .bench-answer").TextContent, StringComparison.Ordinal);
        Assert.Equal(typed, page.Find("#" + field).GetAttribute("value") ?? "");
        Assert.Equal("200", page.Find("#KnownOhm").GetAttribute("value"));
        Assert.Empty(desk.Store.All());
    }

    private static void Type(IRenderedComponent<BenchPages.Proofs> page, params (string Field, string Text)[] typed)
    {
        foreach (var (field, text) in typed) Do(page, p => p.Find("#" + field).Change(text));
    }

    [Fact]
    public void A_gate_that_an_opened_connector_took_back_is_the_headline_with_its_reason()
    {
        new Shelf<GateRecord>(desk.Store, "gate").Put("09", new GateRecord(9, GateState.Proven, new Dictionary<string, string>(StringComparer.Ordinal) { ["measuredV"] = "70.3" }, ""), 0, "Ada", desk.Now, true);
        var page = Open<BenchPages.Proofs>();
        Assert.Contains("1 of 20 gates proven.", page.Find(".say").TextContent, StringComparison.Ordinal);
        desk.Enter("Bea", (p, who) => p.Proofs.Disconnected("B04", "plug pulled to move the box", who));
        page.WaitForAssertion(() => Assert.Contains("Gate 9 re-opened: Connector of B04: plug pulled to move the box.", page.Find(".say").TextContent, StringComparison.Ordinal));
        Assert.Contains("CAUTION", page.Find(".word").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void What_was_re_opened_is_always_said_and_each_gate_with_its_day_and_reason()
    {
        var shelf = new Shelf<GateRecord>(desk.Store, "gate");
        foreach (var number in new[] { 9, 10 })
            shelf.Put($"{number:00}", new GateRecord(number, GateState.Proven, new Dictionary<string, string>(StringComparer.Ordinal), ""), 0, "Ada", desk.Now, true);
        var page = Open<BenchPages.Proofs>();
        Assert.EndsWith("Re-opened: none.", page.Find(".say").TextContent, StringComparison.Ordinal);
        Assert.Empty(page.FindAll(".reopened"));
        desk.Enter("Bea", (p, who) => p.Proofs.Disconnected("B04", "plug pulled to move the box", who));
        page.WaitForAssertion(() => Assert.Equal(2, page.FindAll(".reopened li").Count));
        Assert.Contains("9 third module joined: over 60 V. Re-opened 14:00: Connector of B04: plug pulled to move the box.", page.Find(".reopened li").TextContent, StringComparison.Ordinal);
        Assert.EndsWith(" Also: 10.", page.Find(".say").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void A_need_of_many_modules_says_which_count_and_names_only_a_few()
    {
        desk.Enter("Ada", (p, who) =>
        {
            for (var m = 1; m <= 20; m++) p.Modules.Add(new ModuleRecord { Identity = $"B{m:00}", MassKg = 12.4 }, who.By, who.At, who.Simulated);
            return true;
        });
        var needs = NeedsOf(4, "normal");
        Assert.Contains("Now: 0 of 18 modules have their rest test; any 18 of the 20 on the register that are not rejected will do", needs, StringComparison.Ordinal);
        Assert.DoesNotContain("B01", needs, StringComparison.Ordinal);
    }

    [Fact]
    public void What_the_records_prove_and_what_a_simulated_site_states_are_told_apart()
    {
        var sheet = Open<BenchPages.Proofs>().Find(".gate-sheet").TextContent;
        Assert.Contains("By the records: Not supervised: 146 channels not proven", sheet, StringComparison.Ordinal);
        Assert.Contains("Live now: 108 cells count as proven only because the simulated site says so.", sheet, StringComparison.Ordinal);
    }

    [Fact]
    public void A_charge_that_runs_is_said_at_the_gate_that_needs_its_record()
    {
        Assert.Contains("no DC charge is on record. A charge is running; it counts when its record is kept.", NeedsOf(15, "charging"), StringComparison.Ordinal);
        Assert.DoesNotContain("A charge is running", NeedsOf(15, "normal"), StringComparison.Ordinal);
    }

    [Fact]
    public void A_reading_that_surprises_is_asked_for_twice_and_one_that_is_no_number_is_refused()
    {
        desk.Enter("Ada", (p, who) => p.Modules.Add(new ModuleRecord { Identity = "B07", MassKg = 12.4 }, who.By, who.At, who.Simulated));
        var page = Open<Bench>();
        Do(page, p => p.FindAll(".hand-head select")[1].Change("B07"));
        Enter(page, "0");
        Assert.Contains("2 of 7", page.Find(".hand-step").TextContent, StringComparison.Ordinal);
        Enter(page, "9.1");
        Assert.Contains("Measure again", page.Find(".hand-answer").TextContent, StringComparison.Ordinal);
        Assert.Contains("2 of 7", page.Find(".hand-step").TextContent, StringComparison.Ordinal);
        Enter(page, "3,72 V");
        Assert.Contains("is no number", page.Find(".hand-answer").TextContent, StringComparison.Ordinal);
        Enter(page, "3,72");
        Assert.Contains("3 of 7", page.Find(".hand-step").TextContent, StringComparison.Ordinal);
        Do(page, p => p.Find(".taken .linkbtn").Click());
        Assert.Contains("2 of 7", page.Find(".hand-step").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_picture_handed_in_on_the_page_is_kept_with_its_caption_and_shown_and_a_damaged_one_is_not()
    {
        desk.Enter("Ada", (p, who) => p.Modules.Add(new ModuleRecord { Identity = "B07", MassKg = 12.4 }, who.By, who.At, who.Simulated));
        await Services.GetRequiredService<PersonAtThePage>().SetAsync("Ada");
        var page = Open<Bench>();
        // One black pixel.
        var picture = Convert.FromBase64String("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABAQAAAAA3bvkkAAAACklEQVQI12NgAAAAAgAB4iG8MwAAAABJRU5ErkJggg==");
        Do(page, p => p.Find(".hand-in input[type=text]").Change("Tap 2 cleaned"));
        page.FindComponents<InputFile>()[0].UploadFiles(InputFileContent.CreateFromBinary(picture[..^8], "image.png", contentType: "image/png"));
        page.WaitForAssertion(() => Assert.Contains("image.png is damaged", page.Find(".file-answer").TextContent, StringComparison.Ordinal));
        Assert.Empty(page.FindAll(".pictures li"));
        page.FindComponents<InputFile>()[0].UploadFiles(InputFileContent.CreateFromBinary(picture, "image.png", contentType: "image/png"));
        page.WaitForAssertion(() => Assert.Contains("Tap 2 cleaned", page.Find(".pictures li").TextContent, StringComparison.Ordinal));
        var sha256 = Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(picture));
        Assert.Equal($"/bench/files/{sha256}", page.Find(".pictures img").GetAttribute("src"));
        Assert.Equal(picture, desk.Store.File(sha256));
    }

    [Fact]
    public void A_report_is_listed_with_its_limits_and_opens_in_every_form()
    {
        desk.Listed = [new ReportEntry("grades", "Grade table", "", desk.Now, 2, "1de28512", "one standard deviation", "since the last: B07 A to B", true)];
        var row = Open<Reports>().Find(".reports tbody tr");
        Assert.Equal("1de28512", row.QuerySelector(".limits")!.TextContent);
        Assert.Contains("± is one standard deviation", row.TextContent, StringComparison.Ordinal);
        Assert.Contains("B07 A to B", row.TextContent, StringComparison.Ordinal);
        Assert.Equal(["print", "PDF", "CSV", "JSON"], row.QuerySelectorAll(".forms a").Select(a => a.TextContent));
    }

    [Fact]
    public void A_report_says_for_whom_it_usually_is_what_changed_and_which_limits_a_fingerprint_stands_for()
    {
        desk.Listed = [new ReportEntry("charge", "Charge record", "first DC charge", desk.Now, 1, "1ec60d13", "", "limited by B07.3 at 4.150 V", true, "the first DC charge")];
        var page = Open<Reports>();
        var row = page.Find(".reports tbody tr");
        Assert.Equal("inspector, insurer", row.QuerySelector("th .s")!.TextContent);
        Assert.Equal("the first DC charge", row.QuerySelector(".says .s")!.TextContent);
        Assert.Equal("Supervision record. Not a certificate of conformity.", page.Find(".report-line b").TextContent);
        var lines = page.FindAll(".report-line");
        Assert.Equal("For the inspector: charge record. For the buyer: nothing yet. For the insurer: charge record. For whom is common practice, no source: ask the one who receives it.", lines[0].TextContent);
        Assert.Contains("Limits 1ec60d13: all settings as they are now", lines[1].TextContent, StringComparison.Ordinal);
    }

    private static void Enter(IRenderedComponent<Bench> page, string typed)
    {
        Do(page, p => p.Find("#reading").Input(typed));
        Do(page, p => p.Find(".hand-step").Submit());
    }

    private string NeedsOf(int gate, string scene)
    {
        var page = Show<BenchPages.Proofs>(Petrel.At(scene));
        Do(page, p => p.FindAll(".gates button")[gate - 1].Click());
        return page.Find(".needs").TextContent;
    }

    private IRenderedComponent<T> Open<T>()
        where T : IComponent => Show<T>(Petrel.At("normal"));

    private string Say<T>()
        where T : IComponent => Open<T>().Find(".say").TextContent;
}
