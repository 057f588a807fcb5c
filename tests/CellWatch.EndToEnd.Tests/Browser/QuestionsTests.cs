using Microsoft.Playwright;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>Each page answers its own questions from the screen, in the first-charge story.</summary>
[Collection(BrowserCollection.Name)]
public sealed class QuestionsTests(DemoInBrowser demo)
{
    [BrowserFact]
    public async Task Whole_pack_says_whether_all_is_known_what_stands_out_and_by_how_much()
    {
        await using var page = await demo.OpenAsync("whole-pack");
        Assert.Matches("All 108 cells known[.] Widest: B[0-9]{2}[.][1-6], [0-9]+\u202fmV", await page.TextAsync(".verdict .say"));
        Assert.Equal(6, await page.Page.Locator(".six > div").CountAsync());
        await page.Page.Locator(".rule svg").First.WaitForAsync();
        // The table twin holds every module of the drawing.
        await page.Page.GetByRole(AriaRole.Button, new() { Name = "Table" }).ClickAsync();
        await page.Page.Locator(".twin table").WaitForAsync();
        Assert.Contains("B18", await page.TextAsync(".twin table"), StringComparison.Ordinal);
    }

    [BrowserFact]
    public async Task Charging_says_how_far_who_limits_and_what_to_do()
    {
        await using var page = await demo.OpenAsync("charging");
        Assert.Contains("B11.2 will be first at 4.150\u202fV", await page.TextAsync(".verdict .say"), StringComparison.Ordinal);
        Assert.Matches("[0-9]+\\s*mV", await page.TextAsync(".charge-grid .big"));
        Assert.StartsWith("B11.2", (await page.TextAsync(".charge-grid .next tbody tr")).Trim(), StringComparison.Ordinal);
        Assert.Contains("108 channels proven", await page.TextAsync(".charge-end"), StringComparison.Ordinal);
    }

    [BrowserFact]
    public async Task Module_sheet_says_of_each_group_volts_distance_and_state()
    {
        await using var page = await demo.OpenAsync("module-sheet/B07");
        Assert.Contains("B07 at slot 4 fore", await page.TextAsync(".verdict .say"), StringComparison.Ordinal);
        Assert.Equal(6, await page.Page.Locator(".module-table tbody tr").CountAsync());
        await page.Page.Keyboard.PressAsync("PageDown");
        await page.Page.WaitForFunctionAsync("() => document.querySelector('.verdict .say').textContent.includes('B05 at slot 5 fore')");
    }

    [BrowserFact]
    public async Task Alarms_says_that_nothing_stands_and_what_was_last()
    {
        await using var page = await demo.OpenAsync("alarms");
        Assert.StartsWith("No alarm", await page.TextAsync(".verdict .say"), StringComparison.Ordinal);
        Assert.Contains("Today, by hour", await page.TextAsync(".day"), StringComparison.Ordinal);
    }

    [BrowserFact]
    public async Task Instruments_says_that_all_three_are_alive_and_whom_they_measure()
    {
        await using var page = await demo.OpenAsync("instruments");
        Assert.Contains("All 3 instruments are alive", await page.TextAsync(".verdict .say"), StringComparison.Ordinal);
        Assert.Contains("B13-B18", await page.TextAsync(".instruments table"), StringComparison.Ordinal);
    }

    [BrowserFact]
    public async Task Traces_draws_zooms_by_hand_and_by_key_and_keeps_the_view_in_its_address()
    {
        await using var page = await demo.OpenAsync("traces?cells=B07.3,B11.2");
        await page.Page.Locator(".strips[data-drawn] canvas").WaitForAsync();
        Assert.Contains("First to move:", await page.TextAsync(".moved"), StringComparison.Ordinal);
        var before = page.Page.Url;
        var box = (await page.Page.Locator(".strips").BoundingBoxAsync())!;
        await page.Page.Mouse.MoveAsync(box.X + 300, box.Y + 60);
        await page.Page.Mouse.DownAsync();
        await page.Page.Mouse.MoveAsync(box.X + 500, box.Y + 60, new() { Steps = 4 });
        await page.Page.Mouse.UpAsync();
        await page.Page.WaitForFunctionAsync("was => location.href !== was && location.href.includes('from=')", before);
        var zoomed = page.Page.Url;
        await page.Page.Keyboard.PressAsync("-");
        await page.Page.WaitForFunctionAsync("was => location.href !== was", zoomed);
        // The same address in another browser is the same view.
        await using var again = await demo.OpenAsync(zoomed.Split('/', 4)[3]);
        await page.GoAsync(zoomed.Split('/', 4)[3]);
        Assert.Equal(await page.TextAsync(".verdict .say"), await again.TextAsync(".verdict .say"));
        var download = await page.Page.RunAndWaitForDownloadAsync(() => page.Page.GetByRole(AriaRole.Button, new() { Name = "CSV of what is seen" }).ClickAsync());
        Assert.Contains("SIMULATED", download.SuggestedFilename, StringComparison.Ordinal);
        var csv = await File.ReadAllTextAsync(await download.PathAsync());
        Assert.Contains("B11.2", csv, StringComparison.Ordinal);
        Assert.StartsWith("# SIMULATED DATA", csv, StringComparison.Ordinal);
    }

    [BrowserFact]
    public async Task Night_review_says_what_was_bled_what_is_left_and_who_is_not_helped_by_bleeding()
    {
        await using var page = await demo.OpenAsync("night-review");
        Assert.StartsWith("Spread ", await page.TextAsync(".verdict .say"), StringComparison.Ordinal);
        var table = await page.TextAsync(".night-table");
        Assert.Contains("Low capacity:", table, StringComparison.Ordinal);
        Assert.Contains("bleeding will not help", table, StringComparison.Ordinal);
        Assert.Contains("B06.2", table, StringComparison.Ordinal);
        Assert.Equal(3, await page.Page.Locator(".carpet canvas, .before-after svg, .bleeds svg").CountAsync());
    }
}
