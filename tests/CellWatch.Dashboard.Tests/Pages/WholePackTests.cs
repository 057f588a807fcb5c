using Bunit;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Pages;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

public sealed class WholePackTests : PageTest
{
    [Fact]
    public void Before_the_first_scan_the_page_says_what_is_missing_and_what_to_do()
    {
        var page = Show<WholePack>(null);
        Assert.Contains("NO DATA", page.Find(".verdict").TextContent, StringComparison.Ordinal);
        Assert.Contains("Connect an instrument on Instruments", page.Markup, StringComparison.Ordinal);
        Assert.Empty(page.FindAll(".six"));
    }

    [Fact]
    public void The_six_figures_answer_from_the_state()
    {
        var text = Show<WholePack>(Petrel.At("no-data")).Find(".six").TextContent;
        Assert.Contains("Highest B11.2", text, StringComparison.Ordinal);
        Assert.Contains("3.919", text, StringComparison.Ordinal);
        Assert.Contains("Lowest B07.3", text, StringComparison.Ordinal);
        Assert.Contains("−18\u202fmV", text, StringComparison.Ordinal);
        Assert.Contains("6 cells not in sum", text, StringComparison.Ordinal);
        Assert.Contains("34 of 36 sensors", text, StringComparison.Ordinal);
    }

    [Fact]
    public void A_figure_that_is_not_known_is_said_in_words()
    {
        var state = Petrel.At("normal");
        state = state with { Summary = state.Summary with { PackCurrentA = null, Mode = PackMode.Unknown, StringVoltageV = null, SumV = null, SpreadAh = null } };
        var text = Show<WholePack>(state).Find(".six").TextContent;
        Assert.Contains("not known", text, StringComparison.Ordinal);
        Assert.Contains("string voltage not measured", text, StringComparison.Ordinal);
        Assert.DoesNotContain("N/A", text, StringComparison.Ordinal);
        Assert.DoesNotContain("NaN", text, StringComparison.Ordinal);
    }

    [Fact]
    public void What_stands_out_names_the_place_the_figure_and_what_would_decide_it()
    {
        var rows = Show<WholePack>(Petrel.At("no-data")).FindAll(".out .row");
        Assert.Equal(2, rows.Count);
        Assert.Contains("B07.3", rows[1].TextContent, StringComparison.Ordinal);
        Assert.Contains("Decides: bench discharge", rows[1].TextContent, StringComparison.Ordinal);
        Assert.Equal("module-sheet/B07?cell=3", rows[1].QuerySelector("a")!.GetAttribute("href"));
    }

    [Theory]
    [InlineData(-0.0024, 0.4, "\u22122\u202fmV in the last hour")]
    [InlineData(0.0004, 0.4, "as an hour ago")]
    [InlineData(-0.0004, double.NaN, "as an hour ago")]
    [InlineData(0.011, -35, "+11\u202fmV in 1 h, then at \u221235.0\u202fA")]
    public void A_cell_that_stands_out_says_whether_it_still_moves_and_another_current_then(double movedV, double packCurrentA, string said)
    {
        var state = Petrel.At("no-data");
        var row = state.StandsOut.Single(r => r.Place == "B07.3");
        (Earlier.V[row.Cell!.Value], Earlier.PackCurrentA) = (movedV, packCurrentA);
        Assert.Equal(said, Show<WholePack>(state).FindAll(".out .row")[1].QuerySelector(".s:not(:empty)")!.TextContent);
    }

    [Fact]
    public void Where_nothing_is_known_of_the_last_hour_nothing_is_said()
        => Assert.DoesNotContain("hour", Show<WholePack>(Petrel.At("no-data")).Markup, StringComparison.Ordinal);

    [Fact]
    public void A_ruler_that_has_nothing_to_show_is_disabled_with_its_reason()
    {
        var button = Show<WholePack>(Petrel.At("charging")).FindAll(".seg button").Single(b => b.TextContent.StartsWith("Charge", StringComparison.Ordinal));
        Assert.True(button.HasAttribute("disabled"));
        Assert.Contains("rest", button.GetAttribute("title"), StringComparison.Ordinal);
    }

    [Fact]
    public void The_table_twin_is_in_the_page_only_while_it_is_open()
    {
        var page = Show<WholePack>(Petrel.At("no-data"));
        Assert.Empty(page.FindAll(".twin"));
        Do(page, p => p.FindAll("button").Single(b => b.TextContent == "Table").Click());
        var rows = page.FindAll(".twin tbody tr");
        Assert.Equal(18, rows.Count);
        Assert.Contains("caution", rows[3].TextContent, StringComparison.Ordinal);
        Assert.Contains("−18", rows[3].TextContent, StringComparison.Ordinal);
        Assert.Contains("no data", rows[11].TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void A_scan_travels_as_one_byte_array_with_its_notes()
    {
        Show<WholePack>(Petrel.At("no-data"));
        var first = JSInterop.Invocations["cellwatch.rule.frame"];
        Assert.Single(first);
        Assert.Equal(329, Assert.IsType<byte[]>(first[0].Arguments[1]).Length);
        Assert.NotNull(first[0].Arguments[2]);
    }

    [Fact]
    public void The_simulation_strip_is_there_only_with_simulated_data()
    {
        var strip = new CollectingSimulationStrip();
        Services.AddSingleton<ISimulationStrip>(strip);
        var page = Show<WholePack>(Petrel.At("normal"));
        Do(page, p => p.FindAll(".sim-strip button").Single(b => b.TextContent == "Pull a lead").Click());
        Assert.Equal(["pull-lead"], strip.Pressed);
        Assert.Contains("Done: pull-lead.", page.Find(".sim-strip").TextContent, StringComparison.Ordinal);
        Assert.Empty(Show<WholePack>(Petrel.At("normal", simulated: false)).FindAll(".sim-strip"));
    }
}
