using Bunit;
using CellWatch.Core.Bench;
using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Pages;
using CellWatch.Dashboard.Tests.Strips;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

/// <summary>A made night: eight hours, one cell bled by 0.5 Ah, one that falls by 0.124 A from then on with its command off.</summary>
public sealed class NightReviewPageTests : PageTest
{
    private const double CapacityAh = 110;
    private const long MinuteMs = 60_000;
    private static readonly OcvCurve Curve = OcvCurves.Named("nmc532-graphite-mohtat2020");
    private static readonly PackState State = Petrel.At("normal");
    private static readonly long Now = State.Snapshot.Time.WallUnixMs;

    // Fourteen hours in steps of five minutes: two of rest, eight of night, four of rest.
    private static readonly long[] Times = [.. Enumerable.Range(0, 168).Select(i => Now - 14 * 60 * MinuteMs + i * 5 * MinuteMs)];

    [Fact]
    public void It_says_whether_the_spread_shrank_who_did_not_come_in_and_why()
    {
        var page = ShowNight();
        page.WaitForAssertion(() => Assert.Contains("Spread 0.9 to 0.4 Ah without B16.4, ".Replace(" Ah", "\u202fAh", StringComparison.Ordinal), page.Find(".verdict .say").TextContent, StringComparison.Ordinal));
        Assert.Contains("CAUTION", page.Find(".verdict .word").TextContent, StringComparison.Ordinal);
        var first = page.Find(".night-table tbody tr");
        Assert.Contains("B16.4", first.TextContent, StringComparison.Ordinal);
        Assert.Contains("Bleed stays on:", first.TextContent, StringComparison.Ordinal);
        Assert.Contains("Decides: lead-drop test", first.TextContent, StringComparison.Ordinal);
        var bled = page.FindAll(".night-table tbody tr").Single(r => r.TextContent.Contains("B08.2", StringComparison.Ordinal));
        // Due 0.90, counted 4.10 V over 33 ohm for four hours (0.497), seen 0.50, left 0.40.
        Assert.Equal("0.90", bled.QuerySelector("[data-head=due]")!.TextContent);
        Assert.Equal("0.50", bled.QuerySelector("[data-head=counted]")!.TextContent);
        Assert.Equal("0.50", bled.QuerySelector("[data-head=seen]")!.TextContent);
        Assert.Equal("0.40", bled.QuerySelector("[data-head=left]")!.TextContent);
        Assert.Equal("1", bled.QuerySelector("[data-head='more nights']")!.TextContent);
    }

    [Fact]
    public void Figures_that_cannot_be_compared_are_withheld_with_the_reason()
    {
        var page = ShowNight(warmerBy: 5);
        page.WaitForAssertion(() => Assert.Contains("Figures are withheld: temperature differs by", page.Markup, StringComparison.Ordinal));
        Assert.Empty(page.FindAll(".night-table"));
    }

    [Fact]
    public void A_night_that_is_not_over_holds_no_figures()
    {
        var page = ShowNight(untilStep: 100);
        page.WaitForAssertion(() => Assert.Contains("The night is not over", page.Find(".verdict .say").TextContent, StringComparison.Ordinal));
        Assert.Empty(page.FindAll(".night-table"));
    }

    [Fact]
    public void Without_any_bleed_the_page_says_so_and_what_it_waits_for()
    {
        Options.Night = new NightSetup(Curve, CapacityAh);
        Services.AddSingleton<IHistory>(new MadeHistory(State.Snapshot.Map, Times, (_, _) => 0) { ColumnMs = 5 * MinuteMs });
        var page = Show<NightReviewPage>(State);
        page.WaitForAssertion(() => Assert.Contains("No balancing in the last two days", page.Find(".verdict .say").TextContent, StringComparison.Ordinal));
    }

    [Fact]
    public void Without_a_cell_type_nothing_is_told_in_Ah()
    {
        Services.AddSingleton<IHistory>(new MadeHistory(State.Snapshot.Map, Times, (_, _) => 0));
        var page = Show<NightReviewPage>(State);
        page.WaitForAssertion(() => Assert.Contains("Choose the cell type and its capacity first", page.Find(".verdict .say").TextContent, StringComparison.Ordinal));
    }

    private IRenderedComponent<NightReviewPage> ShowNight(double warmerBy = 0, int untilStep = 168)
    {
        Options.Night = new NightSetup(Curve, CapacityAh);
        Services.AddSingleton<IHistory>(new MadeHistory(State.Snapshot.Map, Times[..untilStep], (name, i) => Value(name, i, warmerBy)) { ColumnMs = 5 * MinuteMs, JoinWithinMs = 5 * MinuteMs });
        return Show<NightReviewPage>(State);
    }

    private static double Value(string name, int step, double warmerBy)
    {
        if (name == "packCurrentA") return 0;
        if (name.EndsWith(".t1", StringComparison.Ordinal) || name.EndsWith(".t2", StringComparison.Ordinal)) return 20 + (step > 120 ? warmerBy : 0);
        // B08.2 is bled for four hours; the switch of B16.4 stays on from the evening and was never told to.
        if (name.EndsWith(".bleed", StringComparison.Ordinal)) return name == "B08.2.bleed" && step is >= 24 and < 72 ? 1 : name == "B01.1.bleed" && step is >= 24 and < 120 ? 1 : 0;
        var aboveAh = name switch
        {
            "B08.2" => 0.9 - 0.5 * Math.Clamp((step - 24) / 48.0, 0, 1),
            "B16.4" => -0.124 * Math.Max(0, step - 24) / 12.0,
            _ => 0,
        };
        return Curve.VoltageAt(93 + 100 * aboveAh / CapacityAh);
    }
}
