using Bunit;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Pages;
using CellWatch.Testing.Pages;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

public sealed class ModuleSheetTests : PageTest
{
    [Fact]
    public void The_highest_cell_stands_on_top_and_a_caution_carries_its_word()
    {
        var rows = Show<ModuleSheet>(Petrel.At("no-data"), p => p.Add(m => m.Id, "B07")).FindAll(".module-table tbody tr");
        Assert.Equal(["6", "5", "4", "3", "2", "1"], rows.Select(r => r.QuerySelector("th")!.TextContent));
        Assert.Contains("caution", rows[3].TextContent, StringComparison.Ordinal);
        Assert.Contains("3.894", rows[3].TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void A_module_without_data_shows_no_old_figure()
    {
        var page = Show<ModuleSheet>(Petrel.At("no-data"), p => p.Add(m => m.Id, "B12"));
        Assert.Contains("none of its 6 cells is seen", page.Find(".say").TextContent, StringComparison.Ordinal);
        Assert.DoesNotContain("3.9", page.Find(".module-table tbody").TextContent, StringComparison.Ordinal);
        Assert.Contains("Module voltage not known", page.Find(".module-head").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void An_unknown_module_is_said_and_the_others_are_offered()
    {
        var page = Show<ModuleSheet>(Petrel.At("normal"), p => p.Add(m => m.Id, "B99"));
        Assert.Contains("There is no module B99", page.Find(".say").TextContent, StringComparison.Ordinal);
        Assert.Equal(18, page.FindAll(".module-chooser a").Count);
    }

    [Fact]
    public void Without_a_name_the_module_that_stands_out_is_opened() =>
        Assert.StartsWith("B12", Show<ModuleSheet>(Petrel.At("no-data")).Find(".say").TextContent, StringComparison.Ordinal);

    [Fact]
    public void What_to_do_next_stands_under_the_sentence()
    {
        Assert.StartsWith("Next:", Show<ModuleSheet>(Petrel.At("no-data"), p => p.Add(m => m.Id, "B07")).Find(".next-step").TextContent, StringComparison.Ordinal);
        Assert.StartsWith("Nothing to do at B02:", Show<ModuleSheet>(Petrel.At("normal"), p => p.Add(m => m.Id, "B02")).Find(".next-step").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void The_word_is_of_the_module_and_the_packs_word_stands_beside_it_where_it_differs()
    {
        var page = Show<ModuleSheet>(Petrel.At("act-now"), p => p.Add(m => m.Id, "B02"));
        Assert.Contains("NORMAL", page.Find(".verdict .word").TextContent, StringComparison.Ordinal);
        Assert.Contains("module B02", page.Find(".verdict .word").TextContent, StringComparison.Ordinal);
        Assert.Equal("pack ACT NOW", page.Find(".verdict .pack-word").TextContent);
        Assert.Empty(Show<ModuleSheet>(Petrel.At("act-now"), p => p.Add(m => m.Id, "B11")).FindAll(".pack-word"));
    }

    [Fact]
    public void While_the_pack_charges_lost_cells_are_act_now_here_as_on_every_page()
    {
        var state = Petrel.At("pulled");
        var lost = state.Layout.Modules[state.Layout.ModuleOfCell(state.CellStates.IndexOf(Core.Live.StateWord.NoData))];
        Assert.Contains("ACT NOW", Show<ModuleSheet>(state, p => p.Add(m => m.Id, lost.Id.Text)).Find(".verdict .word").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Page_down_goes_to_the_next_slot()
    {
        Show<ModuleSheet>(Petrel.At("normal"), p => p.Add(m => m.Id, "B03"));
        await Services.GetRequiredService<PageKeys>().PressAsync("PageDown");
        Assert.EndsWith("module-sheet/B07", Services.GetRequiredService<NavigationManager>().Uri, StringComparison.Ordinal);
    }
}
