using System.Text.Json;
using CellWatch.EndToEnd.Tests.Support;
using Microsoft.Playwright;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>Notices of the system, the phone's home screen, and the screen that stays awake.</summary>
[Collection(BrowserCollection.Name)]
public sealed class NoticeTests(DemoInBrowser demo)
{
    // Keeps what is asked and shown; the browser's own answer stands unless a test gives another.
    private const string Kept = """
        window.asked = 0;
        window.shown = [];
        const ask = Notification.requestPermission.bind(Notification);
        Notification.requestPermission = () => { window.asked++; return ask(); };
        ServiceWorkerRegistration.prototype.showNotification = async (title, o) => { window.shown.push(title + ' | ' + o.body); };
        """;

    [BrowserFact]
    public async Task Act_now_is_shown_by_the_system_once_where_a_press_has_allowed_it()
    {
        await using var preview = ServiceProcess.StartPreview(ServiceProcess.FreePort(), "charging");
        await preview.GetWhenUpAsync("/settings");
        await using var page = await demo.OpenAsync("charging", demo: preview, script: Kept);
        await page.Page.Context.GrantPermissionsAsync(["notifications"]);
        await page.GoAsync("settings");
        Assert.Equal(0, await page.Page.EvaluateAsync<int>("() => asked"));
        Assert.Equal("off", await page.Page.Locator("[data-notice-state]").GetAttributeAsync("data-notice-state"));
        await page.Page.Locator("[data-notices]").ClickAsync();
        Assert.True(await page.BecomesAsync("document.querySelector('[data-notice-state]').dataset.noticeState === 'on'"));
        Assert.Equal(1, await page.Page.EvaluateAsync<int>("() => asked"));
        Assert.True(await page.BecomesAsync("navigator.serviceWorker.getRegistration('/').then(r => !!r?.active)"));
        Assert.Empty(await page.Page.EvaluateAsync<string[]>("() => shown"));

        await preview.Http.GetStringAsync("/scene/act-now");
        Assert.True(await page.BecomesAsync("shown.length > 0"));
        await Task.Delay(2_000);
        var shown = Assert.Single(await page.Page.EvaluateAsync<string[]>("() => shown"));
        Assert.StartsWith("SIMULATED ACT NOW | STOP THE CHARGE NOW: red button on the station. B11.2", shown, StringComparison.Ordinal);
        Assert.Empty(page.Complaints);
    }

    [BrowserFact]
    public async Task No_data_while_charging_is_shown_by_the_page_itself()
    {
        await using var preview = ServiceProcess.StartPreview(ServiceProcess.FreePort(), "charging");
        await preview.GetWhenUpAsync("/charging");
        await using var page = await demo.OpenAsync("charging", demo: preview, script: Kept + "localStorage.setItem('notices', 'on');");
        await page.Page.Context.GrantPermissionsAsync(["notifications"]);
        await page.GoAsync("charging");
        Assert.True(await page.BecomesAsync("navigator.serviceWorker.getRegistration('/').then(r => !!r?.active)"));
        await preview.KillAsync();
        await page.Page.WaitForFunctionAsync("() => shown.length > 0", null, new() { Timeout = 15_000 });
        Assert.StartsWith("NO DATA while charging | This page has had no word", Assert.Single(await page.Page.EvaluateAsync<string[]>("() => shown")), StringComparison.Ordinal);
    }

    [BrowserFact]
    public async Task A_browser_that_refuses_is_said_and_nothing_is_asked_or_shown()
    {
        await using var preview = ServiceProcess.StartPreview(ServiceProcess.FreePort(), "act-now");
        await preview.GetWhenUpAsync("/settings");
        // Without a grant this browser refuses by itself; it says so before or after the press.
        await using var page = await demo.OpenAsync("settings", demo: preview, script: Kept);
        if (await page.Page.Locator("[data-notices]").CountAsync() > 0) await page.Page.Locator("[data-notices]").ClickAsync();
        Assert.True(await page.BecomesAsync("/refused by the browser/.test(document.querySelector('[data-notice-state]').textContent)"));
        await Task.Delay(1_500);
        Assert.Empty(await page.Page.EvaluateAsync<string[]>("() => shown"));
    }

    [BrowserFact]
    public async Task The_manifest_is_served_as_one_and_the_browser_would_install_it()
    {
        var folder = Directory.CreateTempSubdirectory("cellwatch-install-").FullName;
        using var playwright = await Playwright.CreateAsync();
        // A profile on disk: what is opened in private cannot be installed.
        await using var context = await playwright.Chromium.LaunchPersistentContextAsync(folder, new() { ExecutablePath = Chromium.Path, Args = ["--no-sandbox", "--disable-gpu"] });
        try
        {
            var page = context.Pages.Count > 0 ? context.Pages[0] : await context.NewPageAsync();
            await page.GotoAsync($"http://localhost:{demo.Demo.Port}/whole-pack");
            var address = await page.Locator("link[rel=manifest]").GetAttributeAsync("href");
            using var answer = await demo.Demo.Http.GetAsync(address);
            Assert.Equal("application/manifest+json", answer.Content.Headers.ContentType!.MediaType);
            var icons = JsonDocument.Parse(await answer.Content.ReadAsStringAsync()).RootElement.GetProperty("icons").EnumerateArray().Select(i => i.GetProperty("src").GetString()!);
            foreach (var icon in icons.Distinct(StringComparer.Ordinal))
            {
                using var picture = await demo.Demo.Http.GetAsync("/_content/CellWatch.Dashboard/" + icon);
                Assert.Equal("image/png", picture.Content.Headers.ContentType!.MediaType);
            }

            var tools = await context.NewCDPSessionAsync(page);
            var manifest = (await tools.SendAsync("Page.getAppManifest"))!.Value;
            Assert.Empty(manifest.GetProperty("errors").EnumerateArray().Select(e => e.ToString()));
            var faults = (await tools.SendAsync("Page.getInstallabilityErrors"))!.Value.GetProperty("installabilityErrors").EnumerateArray().Select(e => e.GetProperty("errorId").GetString());
            Assert.Empty(faults);
        }
        finally
        {
            await context.CloseAsync();
            Directory.Delete(folder, recursive: true);
        }
    }

    [BrowserTheory]
    [InlineData("navigator.wakeLock.request = async () => { window.awake = (window.awake ?? 0) + 1; return { release: async () => { window.awake--; } }; };", false)]
    [InlineData("navigator.wakeLock.request = async () => { throw new DOMException('', 'NotAllowedError'); };", true)]
    [InlineData("Object.defineProperty(navigator, 'wakeLock', { value: undefined });", true)]
    public async Task Charging_keeps_the_screen_awake_or_says_that_it_cannot(string browser, bool said)
    {
        await using var page = await demo.OpenAsync("charging", script: browser);
        Assert.True(await page.BecomesAsync(said
            ? "/cannot keep the screen awake/.test(document.querySelector('main').textContent)"
            : "window.awake === 1 && !/cannot keep the screen awake/.test(document.querySelector('main').textContent)"));
        if (said) return;
        await page.Page.Locator(".rail a[href=alarms]").ClickAsync();
        Assert.True(await page.BecomesAsync("window.awake === 0"));
    }
}
