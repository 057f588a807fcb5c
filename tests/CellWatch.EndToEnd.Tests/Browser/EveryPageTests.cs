using CellWatch.EndToEnd.Tests.Support;
using Deque.AxeCore.Commons;
using Deque.AxeCore.Playwright;
using Microsoft.Playwright;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>What holds for every page there is, in a real browser on the real host.</summary>
[Collection(BrowserCollection.Name)]
public sealed class EveryPageTests(DemoInBrowser demo)
{
    public static TheoryData<string> Pages => [.. DemoInBrowser.Paths];

    /// <summary>One opening a page: its name and sentence, both themes by rules of WCAG 2.2 A and AA that axe can judge, then 360 px.</summary>
    [BrowserTheory]
    [MemberData(nameof(Pages))]
    public async Task It_says_simulated_passes_axe_in_both_themes_fits_a_phone_and_asks_nobody_outside(string path)
    {
        await using var page = await demo.OpenAsync(path);
        Assert.Contains("SIMULATED", await page.Page.TitleAsync(), StringComparison.Ordinal);
        Assert.Equal(2, await page.Page.Locator(".sim:visible").CountAsync());
        Assert.Contains("SIMULATED DATA", await page.TextAsync(".sim.top"), StringComparison.Ordinal);
        Assert.Equal(1, await page.Page.Locator(".rail a[aria-current=page]").CountAsync());
        await page.KeepPictureAsync($"{path}-light");
        var found = await ViolationsAsync(page, "light");
        await page.Page.GetByRole(AriaRole.Button, new() { Name = "Light or dark" }).ClickAsync();
        await page.Page.WaitForFunctionAsync("() => document.documentElement.dataset.theme === 'dark'");
        await page.KeepPictureAsync($"{path}-dark");
        found.AddRange(await ViolationsAsync(page, "dark"));
        Assert.True(found.Count == 0, string.Join("\n", found));

        await page.Page.SetViewportSizeAsync(360, 780);
        await page.Page.Locator(".phone-bar").WaitForAsync();
        var fits = await page.BecomesAsync("document.documentElement.scrollWidth <= 360");
        Assert.True(fits, $"{path} is {await page.Page.EvaluateAsync<int>("document.documentElement.scrollWidth")} px wide on a phone of 360.");
        await page.KeepPictureAsync($"{path}-phone");
        Assert.Empty(page.Complaints);
    }

    [BrowserFact]
    public async Task When_the_program_ends_every_page_says_no_data_within_seven_seconds_and_keeps_no_figure()
    {
        var port = ServiceProcess.FreePort();
        await using var mortal = DemoInBrowser.StartDemo(port);
        await mortal.WaitForStateAsync(s => s["summary"]?["knownCells"]?.GetValue<int>() == 108, "all cells known", 90);
        var pages = new List<PageUnderTest>();
        try
        {
            foreach (var path in DemoInBrowser.Paths) pages.Add(await demo.OpenAsync(path, demo: mortal));
            await mortal.KillAsync();
            foreach (var page in pages)
            {
                // Five seconds without a word, and what a busy machine adds.
                await page.Page.Locator("#no-word").WaitForAsync(new() { State = WaitForSelectorState.Visible, Timeout = 7_000 });
                Assert.Contains("NO DATA", await page.TextAsync("#no-word"), StringComparison.Ordinal);
                Assert.Contains("Do not rely on anything below.", await page.TextAsync("#no-word"), StringComparison.Ordinal);
                Assert.Equal(0, await page.Page.Locator(".fig:visible").CountAsync());
            }

            await pages[0].KeepPictureAsync("whole-pack-no-data");
        }
        finally
        {
            foreach (var page in pages) await page.DisposeAsync();
        }
    }

    // An experimental rule of axe wants the visible letters in one piece inside the spoken name. A slot of the fitting plan shows "1 + - B01 A 102.9" in its
    // corners and speaks "Slot 1 fore: B01, grade A, 102.9 Ah, plus to port": the same in words.
    private static bool IsSlotAbbreviation(AxeResultItem violation) =>
        violation.Id == "label-content-name-mismatch" && violation.Nodes.All(n => n.Html.StartsWith("<g class=\"slot", StringComparison.Ordinal));

    private static async Task<List<string>> ViolationsAsync(PageUnderTest page, string theme)
    {
        var result = await page.Page.RunAxe(new AxeRunOptions
        {
            RunOnly = new RunOnlyOptions { Type = "tag", Values = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] },
            ResultTypes = [ResultType.Violations],
            Iframes = false,
        });
        return [.. result.Violations.Where(v => !IsSlotAbbreviation(v)).Select(v => $"{theme} {v.Id}: {v.Help} {string.Join(" | ", v.Nodes.Take(4).Select(n => n.Html))}")];
    }
}
