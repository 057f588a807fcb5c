using Bunit;
using CellWatch.Core.Sources;
using CellWatch.Dashboard.Layout;
using CellWatch.Dashboard.Pages;
using CellWatch.Dashboard.Texts;
using CellWatch.Testing.Pages;
using Microsoft.AspNetCore.Components;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

public sealed class HelpTests : PageTest
{
    [Fact]
    public void Every_figure_names_methods_of_the_list_of_sources_and_is_named_once()
    {
        Assert.All(FigureList.All, f => Assert.All(f.Methods, m => Assert.Contains(SourceList.All, s => s.Name == m)));
        Assert.Equal(FigureList.All.Count, FigureList.All.Select(f => f.Id).Distinct(StringComparer.Ordinal).Count());
        Assert.All(FigureList.All, f => Assert.Contains(PageNames.All, p => p.Path == f.Page));
    }

    [Fact]
    public void Every_page_has_its_questions_and_at_least_one_figure_explained()
    {
        foreach (var page in PageNames.All.Where(p => p.Path is not ("help" or "first-run")))
        {
            Assert.True(PageQuestions.Of.ContainsKey(page.Path), page.Path);
            Assert.Contains(FigureList.All, f => f.Page == page.Path);
        }
    }

    [Fact]
    public void The_page_holds_every_figure_every_method_and_every_state_and_each_link_inside_it_leads_somewhere()
    {
        var page = Show<Help>(Petrel.At("normal"));
        Assert.All(FigureList.All, f => Assert.Contains(f.Says, page.Find("#" + f.Id).TextContent, StringComparison.Ordinal));
        Assert.Equal(SourceList.All.Count, page.FindAll("#sources dl > div").Count);
        Assert.Equal(Enum.GetValues<Core.Live.StateWord>().Length + 1, page.FindAll(".help-table tbody tr").Count);
        var ids = page.FindAll("[id]").Select(e => e.Id).ToHashSet(StringComparer.Ordinal);
        Assert.Equal(ids.Count, page.FindAll("[id]").Count);
        Assert.All(page.FindAll("a[href^='help#']"), a => Assert.Contains(a.GetAttribute("href")!["help#".Length..], ids));
    }

    public static TheoryData<Type> PagesOfThePack => [typeof(WholePack), typeof(ModuleSheet), typeof(Charging), typeof(Alarms), typeof(Instruments)];

    [Theory]
    [MemberData(nameof(PagesOfThePack))]
    public void Headings_lead_to_figures_that_are_explained(Type type)
    {
        var page = Show<DynamicComponent>(Petrel.At("charging"), p => p.Add(d => d.Type, type));
        var links = page.FindAll("a.help-link").Select(a => a.GetAttribute("href")!["help#".Length..]).ToList();
        Assert.NotEmpty(links);
        Assert.All(links, l => Assert.Contains(FigureList.All, f => f.Id == l));
    }

    [Fact]
    public void The_first_run_says_its_cautions_before_anything_is_connected_and_a_command_for_each_answer()
    {
        var page = Show<FirstRun>(null);
        var text = page.Markup;
        Assert.True(text.IndexOf("can kill", StringComparison.Ordinal) < text.IndexOf("cellwatch ports", StringComparison.Ordinal));
        Assert.Equal(3, page.FindAll(".guide-answers .guide").Count);
        foreach (var command in new[] { "cellwatch ports", "cellwatch new site.json", "cellwatch log import", "cellwatch demo" }) Assert.Contains(command, text, StringComparison.Ordinal);
        Assert.Contains("cellwatch ports", FirstRunWords.Plain(), StringComparison.Ordinal);
    }
}
