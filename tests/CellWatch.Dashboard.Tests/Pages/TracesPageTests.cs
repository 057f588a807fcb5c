using Bunit;
using Bunit.TestDoubles;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Pages;
using CellWatch.Dashboard.Tests.Strips;
using CellWatch.Testing.Pages;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

public sealed class TracesPageTests : PageTest
{
    private static readonly PackState State = Petrel.At("normal");
    private static readonly long Now = State.Snapshot.Time.WallUnixMs;

    private readonly MadeHistory _history = new(
        State.Snapshot.Map, [.. Enumerable.Range(0, 120).Select(s => Now - 120_000 + 1000L * s)], (name, i) => name == "B07.3" && i > 60 ? 3.88 : name == "packCurrentA" ? 12 : 3.9)
    {
        Events = [new EventRecord(1, Now - 30_000, EventKinds.Mark, "lead touched", "Anna", null)],
    };

    [Fact]
    public void It_says_when_how_far_apart_and_how_fine_and_who_moved_first()
    {
        Services.AddSingleton<IHistory>(_history);
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Contains("cells at most 20\u202fmV apart", page.Find(".verdict .say").TextContent, StringComparison.Ordinal));
        Assert.Contains("Every scan is drawn.", page.Find(".verdict .say").TextContent, StringComparison.Ordinal);
        Assert.StartsWith("First to move: B07.3", page.Find(".moved").TextContent, StringComparison.Ordinal);
        Assert.Contains("Mark: lead touched (Anna)", page.Find(".happened").TextContent, StringComparison.Ordinal);
        Assert.Contains("+12.0\u202fA", page.Find(".trace-table").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void The_log_is_asked_once_for_one_address_however_often_the_page_is_drawn()
    {
        Services.AddSingleton<IHistory>(_history);
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll(".moved")));
        var asked = _history.Asked.Count;
        for (var i = 0; i < 5; i++) page.Render();
        Assert.Equal(asked, _history.Asked.Count);
    }

    [Fact]
    public void Another_range_is_another_address()
    {
        Services.AddSingleton<IHistory>(_history);
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll(".trace-tools")));
        page.FindAll(".trace-tools button").First(b => b.TextContent == "10 min").Click();
        var uri = Services.GetRequiredService<NavigationManager>().Uri;
        Assert.Contains("from=", uri, StringComparison.Ordinal);
        Assert.Contains("cells=B", uri, StringComparison.Ordinal);
    }

    [Fact]
    public void A_range_without_a_record_says_what_there_is()
    {
        Services.AddSingleton<IHistory>(_history);
        Services.GetRequiredService<BunitNavigationManager>().NavigateTo("traces?from=2020-01-01T00:00:00Z&to=2020-01-01T01:00:00Z");
        var page = Show<TracesPage>(State);
        page.WaitForAssertion(() => Assert.Contains("Nothing recorded in this range. The record goes from", page.Find(".nothing").TextContent, StringComparison.Ordinal));
        Assert.Contains("nothing recorded", page.Find(".verdict .say").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void Without_a_log_the_page_says_so() =>
        Assert.Contains("No log is kept here", Show<TracesPage>(State).Find(".verdict .say").TextContent, StringComparison.Ordinal);
}
