using System.Globalization;
using CellWatch.Benchmarks.Log;
using CellWatch.Core.Snapshots;
using Microsoft.Playwright;

namespace CellWatch.Benchmarks.Service;

/// <summary>
/// <c>service traces [openings]</c>: Traces over a full day of 108 cells at 1 Hz, opened in Chromium. A synthetic day is written, the built host
/// serves it while it scans live, and each opening is timed from the press on the open Whole pack to the drawn strips and carpet.
/// </summary>
internal static class TracesFigures
{
    public const string Usage = "service traces [openings]";

    private const long DayMs = 86_400_000;

    // From a press of a link within the open page until the scripts say that they have drawn that range, ms.
    private const string Open = """
        ([path, from]) => new Promise(done => {
          const began = performance.now(), drawn = {};
          const look = new MutationObserver(() => {
            for (const part of ['strips', 'carpet']) if (!drawn[part] && document.querySelector('.' + part)?.dataset.drawn === from) drawn[part] = performance.now() - began;
            if (drawn.strips && drawn.carpet) { look.disconnect(); requestAnimationFrame(() => done([drawn.strips, drawn.carpet])); }
          });
          look.observe(document, { attributes: true, childList: true, subtree: true });
          Blazor.navigateTo(path);
        })
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
                await using var context = await browser.NewContextAsync(new() { ViewportSize = new() { Width = 1280, Height = 800 } });
                var page = await context.NewPageAsync();
                await page.GotoAsync($"http://localhost:{wire.WebPort}/whole-pack", new() { Timeout = 60_000 });
                var cells = string.Join(',', Enumerable.Range(1, 12).Select(m => $"B{m:00}.{1 + (m % 6)}"));
                for (var i = 0; i < openings; i++)
                {
                    await page.WaitForFunctionAsync("() => document.querySelector('.rule')?._rule?.marks?.length > 1", null, new() { Timeout = 60_000 });
                    await Task.Delay(5000);
                    // A new range each time: nothing is drawn from what was read before.
                    var fromMs = toMs - DayMs + (1000 * i);
                    var path = $"/traces?from={Iso(fromMs)}&to={Iso(fromMs + DayMs)}&cells={cells}";
                    var drawnMs = await page.EvaluateAsync<double[]>(Open, new object[] { path, fromMs.ToString(CultureInfo.InvariantCulture) });
                    Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"24 h, opening {i + 1}: strips of 12 cells drawn after {drawnMs[0]:F0} ms, carpet of all 108 after {drawnMs[1]:F0} ms (limit 1000); load {File.ReadAllText("/proc/loadavg").Split(' ')[0]}"));
                    await page.EvaluateAsync("() => Blazor.navigateTo('/whole-pack')");
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

    private static string Iso(long unixMs) => DateTimeOffset.FromUnixTimeMilliseconds(unixMs).ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture);
}
