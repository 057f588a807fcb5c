using System.Globalization;
using CellWatch.Benchmarks.Log;
using CellWatch.Core.Snapshots;
using Microsoft.Playwright;

namespace CellWatch.Benchmarks.Service;

/// <summary>
/// <c>service traces [openings]</c>: Traces over a full day of 108 cells at 1 Hz, opened in Chromium. A synthetic day is written, the built host
/// serves it while it scans live, and each opening is a page of its own from the address to the drawn strips, and to the carpet below them.
/// </summary>
internal static class TracesFigures
{
    public const string Usage = "service traces [openings]";

    private const long DayMs = 86_400_000;

    // Set when the scripts say that they have drawn; the page's own clock counts from the beginning of its navigation.
    private const string Script = """
        addEventListener('DOMContentLoaded', () => {
          window.drawnMs = {};
          new MutationObserver(() => {
            for (const part of ['strips', 'carpet'])
              if (!window.drawnMs[part] && document.querySelector('.' + part)?.dataset.drawn) window.drawnMs[part] = performance.now();
          }).observe(document, { attributes: true, childList: true, subtree: true });
        });
        """;

    public static async Task<int> RunAsync(string[] args)
    {
        var openings = args.Length > 0 && int.TryParse(args[0], CultureInfo.InvariantCulture, out var asked) ? Math.Clamp(asked, 1, 100) : 9;
        var folder = Directory.CreateTempSubdirectory("cellwatch-figures-").FullName;
        try
        {
            await using var wire = WireLoad.Start(folder, new ChargePattern(108));
            var toMs = DateTimeOffset.UtcNow.ToUnixTimeMilliseconds() - 60_000;
            await QueryFigures.GenerateAsync(Path.Combine(folder, "figures.cells.db"), 1, new SnapshotTime(5_000_000, toMs - DayMs));
            using var service = ServiceFigures.Start("dotnet", ServiceFigures.Service, "serve", "--site", wire.SiteFile);
            try
            {
                using var http = new HttpClient { BaseAddress = new Uri($"http://localhost:{wire.WebPort}") };
                await ServiceFigures.FirstPageAsync(http);
                using var playwright = await Playwright.CreateAsync();
                await using var browser = await PageProbe.LaunchAsync(playwright);
                var cells = string.Join(',', Enumerable.Range(1, 12).Select(m => $"B{m:00}.{1 + (m % 6)}"));
                var path = $"/traces?from={Iso(toMs - DayMs)}&to={Iso(toMs)}&cells={cells}";
                for (var i = 0; i < openings; i++)
                {
                    var (stripsMs, carpetMs) = await OpenAsync(browser, $"http://localhost:{wire.WebPort}{path}");
                    Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"24 h, opening {i + 1}: strips drawn after {stripsMs:F0} ms (limit 1000), carpet of 108 cells after {carpetMs:F0} ms; load {File.ReadAllText("/proc/loadavg").Split(' ')[0]}"));
                }
            }
            finally
            {
                service.Kill(entireProcessTree: true);
                await service.WaitForExitAsync();
            }

            return 0;
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task<(double StripsMs, double CarpetMs)> OpenAsync(IBrowser browser, string uri)
    {
        await using var context = await browser.NewContextAsync(new() { ViewportSize = new() { Width = 1280, Height = 800 } });
        var page = await context.NewPageAsync();
        await page.AddInitScriptAsync(Script);
        await page.GotoAsync(uri, new() { Timeout = 60_000, WaitUntil = WaitUntilState.DOMContentLoaded });
        await page.WaitForFunctionAsync("() => window.drawnMs?.strips && window.drawnMs?.carpet", null, new() { Timeout = 60_000 });
        return (await page.EvaluateAsync<double>("() => window.drawnMs.strips"), await page.EvaluateAsync<double>("() => window.drawnMs.carpet"));
    }

    private static string Iso(long unixMs) => DateTimeOffset.FromUnixTimeMilliseconds(unixMs).ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture);
}
