using CellWatch.EndToEnd.Tests.Support;

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
}
