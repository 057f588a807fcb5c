using CellWatch.EndToEnd.Tests.Support;
using Deque.AxeCore.Playwright;
using Microsoft.Playwright;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>States that a demo does not reach when asked: scripted scenes, drawn by the same pages.</summary>
[Collection(BrowserCollection.Name)]
public sealed class SceneTests(DemoInBrowser demo)
{
    [BrowserFact]
    public async Task A_flood_keeps_the_order_on_top_readable_and_every_scene_keeps_its_word_on_every_page()
    {
        await using var preview = ServiceProcess.StartPreview(ServiceProcess.FreePort(), "flood");
        await preview.GetWhenUpAsync("/alarms");
        await using var page = await demo.OpenAsync("alarms", demo: preview);
        Assert.StartsWith("STOP THE CHARGE NOW: red button on the station.", await page.TextAsync(".opened .do"), StringComparison.Ordinal);
        Assert.Contains("a flood: 39 alarms in 10", await page.TextAsync(".next-step"), StringComparison.Ordinal);
        Assert.Equal(14, await page.Page.Locator(".alarm-list .row:not(.head)").CountAsync());
        // The press that matters is in sight without scrolling.
        var seen = (await page.Page.Locator(".opened .press").BoundingBoxAsync())!;
        Assert.True(seen.Y + seen.Height < 700);
        await page.KeepPictureAsync("alarms-flood");
        Assert.Empty((await page.Page.RunAxe()).Violations.Where(v => v.Impact is "serious" or "critical").Select(v => $"{v.Id}: {v.Help}"));

        // Not seen, and motion is not wanted: a thick double border instead of flashing.
        Assert.Equal("double", await page.Page.Locator(".press.unseen").EvaluateAsync<string>("e => getComputedStyle(e).borderTopStyle"));
        Assert.Equal("none", await page.Page.Locator(".press.unseen").EvaluateAsync<string>("e => getComputedStyle(e).animationName"));

        foreach (var path in new[] { "whole-pack", "charging", "alarms", "module-sheet/B11" })
        {
            await page.GoAsync(path);
            Assert.Contains("ACT NOW", await page.TextAsync(".verdict .word"), StringComparison.Ordinal);
        }

        foreach (var path in new[] { "module-sheet/B02", "settings", "help", "traces" })
        {
            await page.GoAsync(path);
            Assert.Contains("pack ACT NOW", await page.TextAsync(".verdict .pack-word"), StringComparison.Ordinal);
        }
    }

    [BrowserFact]
    public async Task Before_the_first_scan_every_page_says_what_is_missing_and_the_first_run_is_offered()
    {
        await using var preview = ServiceProcess.StartPreview(ServiceProcess.FreePort(), "none");
        await preview.GetWhenUpAsync("/whole-pack");
        foreach (var path in DemoInBrowser.Paths)
        {
            await using var page = await demo.OpenEmptyAsync(path, preview);
            Assert.True((await page.TextAsync(".verdict .say")).Trim().Length > 10, path);
            Assert.Equal(0, await page.Page.Locator(".fig:visible").CountAsync());
            Assert.True(await page.Page.Locator(".rail a[href='first-run']").IsVisibleAsync(), path);
            var text = await page.TextAsync("main");
            Assert.DoesNotContain("N/A", text, StringComparison.Ordinal);
            Assert.DoesNotContain("NaN", text, StringComparison.Ordinal);
            Assert.Empty(page.Complaints);
        }
    }

    /// <summary>Story 13 as the pages see it: an instrument is pulled while a charge runs.</summary>
    [BrowserFact]
    public async Task Lost_while_charging_is_act_now_on_the_pack_on_the_module_and_on_the_instruments()
    {
        await using var preview = ServiceProcess.StartPreview(ServiceProcess.FreePort(), "pulled");
        await preview.GetWhenUpAsync("/whole-pack");
        foreach (var path in new[] { "whole-pack", "charging", "module-sheet/B09", "instruments" })
        {
            await using var page = await demo.OpenAsync(path, demo: preview);
            Assert.Contains("ACT NOW", await page.TextAsync(".verdict .word"), StringComparison.Ordinal);
        }
    }

    [BrowserFact]
    public async Task Scripts_of_strangers_and_scripts_in_the_page_are_refused_by_the_policy()
    {
        await using var page = await demo.OpenAsync("whole-pack");
        var policy = (await page.Page.GotoAsync(page.Page.Url))!.Headers["content-security-policy"];
        Assert.Contains("script-src 'self' 'nonce-", policy, StringComparison.Ordinal);
        Assert.DoesNotContain("unsafe-eval", policy, StringComparison.Ordinal);
        Assert.DoesNotContain("'unsafe-inline'", policy.Split(';').Single(p => p.Trim().StartsWith("script-src", StringComparison.Ordinal)), StringComparison.Ordinal);
        Assert.Contains("frame-ancestors 'none'", policy, StringComparison.Ordinal);
        await page.Page.EvaluateAsync("() => { const s = document.createElement('script'); s.textContent = 'window.intruder = 1'; document.body.append(s); }");
        Assert.False(await page.Page.EvaluateAsync<bool>("() => 'intruder' in window"));
    }
}
