using System.Globalization;
using System.Text;
using CellWatch.Core.Bench;
using CellWatch.EndToEnd.Tests.Bench;
using CellWatch.Host.Api;
using Microsoft.Playwright;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>Acceptance stories of Fitting plan and Night review, on a demo of their own.</summary>
[Collection(BrowserCollection.Name)]
public sealed class PlanAndNightStoryTests(DemoInBrowser demo)
{
    /// <summary>
    /// Stories 10 and 16. Capacity recordings and nights come in over HTTP, because no screen takes a week; what the pages say of them is the story.
    /// </summary>
    [BrowserFact]
    public async Task The_price_of_the_weakest_names_each_group_and_seven_nights_tell_four_causes_where_one_left_two_undecided()
    {
        await using var service = StoryDemo.Start("1");
        await using var page = await StoryDemo.OpenProofsAsync(demo, service);

        // Story 10: the smallest group of every module, measured anew.
        var plan = System.Text.Json.JsonDocument.Parse(await service.Http.GetStringAsync("/bench/plan")).RootElement.GetProperty("value").GetProperty("moduleOfSlot").EnumerateArray().Select(m => m.GetString()!).ToList();
        // The spare: the module that is graded and not in the plan. One that was rejected is no spare.
        var spare = System.Text.Json.JsonDocument.Parse(await service.Http.GetStringAsync("/bench/grades")).RootElement.GetProperty("value").GetProperty("cards").EnumerateArray()
            .Where(c => c.GetProperty("grade").GetString()!.ToUpperInvariant() is "A" or "B").Select(c => c.GetProperty("identity").GetString()!).Single(m => !plan.Contains(m));
        foreach (var module in plan.Append(spare))
        {
            var lowestAh = module switch { "B07" => 96.1, "B12" => 101.8, "B04" => 102.0, _ => module == spare ? 104.0 : 103.2 };
            var run = (await StoryDemo.EnterAsync(service, "runs", new RunBody(module, RunMethod.Capacity, "load", true))).GetProperty("value").GetProperty("id").GetString();
            await StoryDemo.EnterAsync(service, $"runs/{run}/cut-tried", new CutBody(-36.7, -0.02, 0.1));
            await StoryDemo.EnterAsync(service, $"runs/{run}/capacity", new CsvBody(Discharge(lowestAh), null));
        }

        await page.GoAsync("fitting-plan");
        var price = page.Page.Locator(".plan-end section", new() { HasText = "Price of the weakest" });
        await StoryDemo.UntilAsync(page, ".plan-end", "limited by B07.3");
        var stairs = (await price.InnerTextAsync()).Replace('\u202f', ' ');
        Assert.Matches(@"^96\.1 Ah, 38\.4 kWh, limited by B07\.3", stairs[stairs.IndexOf("96.1", StringComparison.Ordinal)..]);
        Assert.Matches($@"B07 out, {spare} in: 101\.8 Ah, then limited by B12\.3; \+5\.7 Ah, \+2\.3 kWh", stairs);
        Assert.Matches(@"B12 out, one as good in: 102\.0 Ah, then limited by B04\.3; \+0\.2 Ah, \+0\.1 kWh: stop here", stairs);

        // Story 16, one night: a leak of 5 mA and 8 % less capacity look alike.
        var (nights, low) = BenchStoryTests.Week();
        await StoryDemo.EnterAsync(service, "nights", new NightBody("night-1", nights[0], null));
        await page.GoAsync("night-review");
        await page.Page.GetByRole(AriaRole.Button, new() { Name = "night-1", Exact = true }).ClickAsync();
        await StoryDemo.UntilAsync(page, ".night-table", "B05.5");
        await ShowAllAsync(page);
        foreach (var cell in new[] { "B04.3", "B05.5" })
        {
            var row = await RowAsync(page, cell);
            Assert.Contains("Undecided:", row, StringComparison.Ordinal);
            Assert.Contains("Decides:", row, StringComparison.Ordinal);
            Assert.Contains("5 mA in one night is 0.05 Ah, below the noise", row, StringComparison.Ordinal);
        }

        // Seven nights and a discharge to 40 %.
        for (var n = 1; n < 6; n++) await StoryDemo.EnterAsync(service, "nights", new NightBody($"night-{n + 1}", nights[n], null));
        await StoryDemo.EnterAsync(service, "low-reading", low);
        await StoryDemo.EnterAsync(service, "nights", new NightBody("night-7", nights[6], null));
        await page.GoAsync("night-review");
        await page.Page.GetByRole(AriaRole.Button, new() { Name = "night-7", Exact = true }).ClickAsync();
        await StoryDemo.UntilAsync(page, ".night-table", "B09.1");
        await ShowAllAsync(page);
        foreach (var (cell, cause) in new[] { ("B01.4", "Charge offset"), ("B04.3", "Low capacity"), ("B05.5", "Leak"), ("B09.1", "Bleed") })
        {
            var row = await RowAsync(page, cell);
            Assert.Matches($"{cause}[a-z ]*:", row);
            // Each with a figure that excludes its rivals.
            Assert.Matches("[0-9]", row[row.IndexOf(cause, StringComparison.Ordinal)..]);
            var more = (await page.Page.Locator(".night-table tr", new() { HasText = cell }).Locator("[data-head='more nights']").InnerTextAsync()).Trim();
            Assert.Equal(cell == "B01.4", int.TryParse(more, CultureInfo.InvariantCulture, out var left) && left > 0);
        }

        Assert.Empty(page.Complaints);
    }

    private static async Task ShowAllAsync(PageUnderTest page)
    {
        var more = page.Page.GetByRole(AriaRole.Button, new() { NameRegex = new System.Text.RegularExpressions.Regex("^Show [0-9]+ more", System.Text.RegularExpressions.RegexOptions.None, TimeSpan.FromSeconds(1)) });
        if (await more.IsVisibleAsync()) await more.ClickAsync();
    }

    private static async Task<string> RowAsync(PageUnderTest page, string cell) =>
        (await page.Page.Locator(".night-table tr", new() { HasText = cell }).InnerTextAsync()).Replace('\u202f', ' ');

    /// <summary>A discharge at 36.7 A, as straight lines: group 3 reaches 3.0 V after so many Ah, the others have 1 Ah more.</summary>
    private static string Discharge(double lowestAh)
    {
        const double CurrentA = 36.7;
        const int Steps = 900;
        var csv = new StringBuilder("time_s,current_A,cell1_V,cell2_V,cell3_V,cell4_V,cell5_V,cell6_V,temp1_degC,tester_Ah\n");
        var stepS = lowestAh / CurrentA * 3600 / Steps;
        for (var i = -6; i <= Steps; i++)
        {
            var outAh = Math.Max(0, i) * lowestAh / Steps;
            string Cell(int g) => (4.15 - (i >= 0 ? 0.04 : 0) - 1.11 * outAh / (g == 3 ? lowestAh : lowestAh + 1)).ToString("0.0000", CultureInfo.InvariantCulture);
            // The load comes on within a hundredth of a second: rows are joined by a straight line, and a slow one would count half a step too much.
            var timeS = i < 0 ? 59.99 + (i + 1) * stepS : 60 + i * stepS;
            csv.Append(CultureInfo.InvariantCulture, $"{timeS:0.000},{(i < 0 ? 0 : -CurrentA):0.0},{string.Join(',', Enumerable.Range(1, 6).Select(Cell))},22.0,{-outAh:0.000}\n");
        }

        return csv.ToString();
    }
}
