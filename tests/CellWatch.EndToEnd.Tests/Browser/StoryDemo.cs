using System.Net.Http.Json;
using System.Text.Json;
using CellWatch.Core.Register;
using CellWatch.EndToEnd.Tests.Support;
using Microsoft.Playwright;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>A demo for one story, and its pages with a name typed.</summary>
internal static class StoryDemo
{
    private const float PatienceMs = 120_000;

    /// <summary>Starts a demo whose clock runs at a speed.</summary>
    public static ServiceProcess Start(string speed)
    {
        var port = ServiceProcess.FreePort();
        return ServiceProcess.Start(port, "demo", "--port", $"{port}", "--mqtt-port", "-1", "--speed", speed);
    }

    /// <summary>Opens Proofs when every cell is known and the sample project is entered, as the person Anna.</summary>
    public static async Task<PageUnderTest> OpenProofsAsync(DemoInBrowser demo, ServiceProcess service)
    {
        await service.WaitForStateAsync(s => s["summary"]?["knownCells"]?.GetValue<int>() == 108, "all cells known", 90);
        var page = await demo.OpenAsync("proofs", demo: service);
        await page.Page.EvaluateAsync("() => localStorage.setItem('name', 'Anna')");
        await page.GoAsync("proofs");
        await page.Page.WaitForFunctionAsync("() => /of 20 gates proven/.test(document.querySelector('.verdict .say').textContent)", null, new() { Timeout = PatienceMs });
        return page;
    }

    /// <summary>Enters something over HTTP that no screen offers.</summary>
    public static async Task<JsonElement> EnterAsync(ServiceProcess service, string path, object entry)
    {
        var answer = await service.Http.PostAsJsonAsync($"/bench/{path}", new { by = "Anna", entry, basedOn = 0 }, RecordJson.Options);
        var text = await answer.Content.ReadAsStringAsync();
        Assert.True(answer.IsSuccessStatusCode, $"{path}: {text}");
        return JsonDocument.Parse(text).RootElement;
    }

    /// <summary>Presses something of the simulated pack on the page that offers it.</summary>
    public static async Task PressAsync(PageUnderTest page, string label)
    {
        if (!await page.Page.Locator(".sim-strip").GetByRole(AriaRole.Button, new() { Name = label }).IsVisibleAsync())
            await page.Page.Locator(".sim-strip").GetByRole(AriaRole.Button, new() { Name = "More faults" }).ClickAsync();
        await page.Page.Locator(".sim-strip").GetByRole(AriaRole.Button, new() { Name = label }).ClickAsync();
    }

    /// <summary>A text as it stands on the page, its narrow spaces made plain.</summary>
    public static async Task<string> PlainAsync(PageUnderTest page, string selector) => (await page.TextAsync(selector)).Replace('\u202f', ' ').Replace('\u2212', '-');

    /// <summary>Waits until a text of the page matches.</summary>
    public static Task UntilAsync(PageUnderTest page, string selector, string pattern, float patienceMs = PatienceMs) =>
        page.Page.WaitForFunctionAsync("([s, p]) => new RegExp(p).test(document.querySelector(s)?.textContent.replace(/\u202f/g, ' ') ?? '')", new[] { selector, pattern }, new() { Timeout = patienceMs });
}
