using System.Diagnostics;
using System.Globalization;
using Microsoft.Playwright;

namespace CellWatch.Benchmarks.Service;

/// <summary>
/// <c>service pages SECONDS [--cells 216] [--circuits 1] [--page whole-pack|charging]</c>: the built host with a charge at 2 Hz on three
/// pseudo-terminals and real pages in Chromium, of which the first is painted. Gives the time from the last byte of a round to its pixel,
/// the age of what each page shows, drawing time, bytes, the browser's heap, the server's memory, and what a page costs the server's
/// processor.
/// </summary>
internal static class PagesFigures
{
    public const string Usage = "service pages SECONDS [--cells 216] [--circuits 1] [--page whole-pack|charging]";

    private static readonly TimeSpan WarmUp = TimeSpan.FromSeconds(15);

    public static async Task<int> RunAsync(string[] args)
    {
        if (Read(args) is not { } asked)
        {
            Console.Error.WriteLine($"Use: {Usage}; cells in eighteens, 36 to 432");
            return 2;
        }

        var folder = Directory.CreateTempSubdirectory("cellwatch-figures-").FullName;
        try
        {
            await MeasureAsync(folder, asked);
            return 0;
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task MeasureAsync(string folder, Asked asked)
    {
        await using var wire = WireLoad.Start(folder, new ChargePattern(asked.Cells));
        using var service = ServiceFigures.Start("dotnet", ServiceFigures.Service, "serve", "--site", wire.SiteFile);
        var pages = new List<PageProbe>();
        try
        {
            using var http = new HttpClient { BaseAddress = new Uri($"http://localhost:{wire.WebPort}") };
            await ServiceFigures.FirstPageAsync(http);
            await Task.Delay(WarmUp);
            var without = await ProcessorAsync(service, TimeSpan.FromSeconds(Math.Clamp(asked.Seconds / 2, 10, 60)));
            Say($"{asked.Cells} cells at 2 Hz, {asked.Circuits} x {asked.Page} at 1280 x 800, one of them painted; load of the machine {Load()}");
            Say($"processor without a page {without:P1} of a core");

            using var playwright = await Playwright.CreateAsync();
            await using var browser = await PageProbe.LaunchAsync(playwright);
            for (var i = 0; i < asked.Circuits; i++) pages.Add(await PageProbe.OpenAsync(browser, wire.WebPort, asked.Page, painted: i == 0));
            await Task.Delay(WarmUp);
            var tally = new PagesTally(wire, pages.Count);
            await tally.TakeAsync(pages);
            tally.Forget();
            using var heap = new HeapListener(service.Id);
            await FollowAsync(service, heap, pages, tally, asked.Seconds, without);
        }
        finally
        {
            service.Kill(entireProcessTree: true);
            await service.WaitForExitAsync();
        }
    }

    private static async Task FollowAsync(Process service, HeapListener heap, List<PageProbe> pages, PagesTally tally, double seconds, double without)
    {
        var metrics = await pages[0].MetricsAsync();
        var bytes = pages.Sum(p => p.Bytes);
        service.Refresh();
        var (cpu, began) = (service.TotalProcessorTime, Stopwatch.GetTimestamp());
        var step = TimeSpan.FromSeconds(Math.Clamp(seconds / 12, 5, 60));
        var memory = new List<(double TimeS, double ResidentMb, double HeapMb, double BrowserMb)>();
        while (Stopwatch.GetElapsedTime(began).TotalSeconds < seconds)
        {
            await Task.Delay(step);
            await tally.TakeAsync(pages);
            var (browserBytes, nodes) = await pages[0].HeapAsync();
            service.Refresh();
            var now = (TimeS: Stopwatch.GetElapsedTime(began).TotalSeconds, ResidentMb: service.WorkingSet64 / 1e6, HeapMb: heap.TakeFloorMb(), BrowserMb: browserBytes / 1e6);
            memory.Add(now);
            Say($"  {now.TimeS,5:F0} s  resident {now.ResidentMb:F1} MB, its heap's floor {now.HeapMb:F1} MB; page {now.BrowserMb:F2} MB, {nodes:F0} nodes; load {Load()}");
        }

        var elapsedS = Stopwatch.GetElapsedTime(began).TotalSeconds;
        service.Refresh();
        var with = (service.TotalProcessorTime - cpu).TotalSeconds / elapsedS;
        Say($"processor {with:P1} of a core over {elapsedS:F0} s: {(with - without) / pages.Count:P2} a circuit (limit 3 %)");
        Say($"WebSocket {(pages.Sum(p => p.Bytes) - bytes) / elapsedS / pages.Count / 1000:F1} kB/s a circuit as the page takes it (limit 30)");
        tally.Report(Say);
        var after = await pages[0].MetricsAsync();
        string Share(string name) => string.Create(CultureInfo.InvariantCulture, $"{1000 * (after[name] - metrics[name]) / elapsedS:F1}");
        Say($"the first page's own thread, ms a second: tasks {Share("TaskDuration")}, scripts {Share("ScriptDuration")}, styles {Share("RecalcStyleDuration")}, layout {Share("LayoutDuration")}");
        Say($"growth over the last two thirds: resident {Slope(memory, m => m.ResidentMb):F1} MB/h, its heap's floor {Slope(memory, m => m.HeapMb):F1} MB/h, page {Slope(memory, m => m.BrowserMb):F2} MB/h");
    }

    private static async Task<double> ProcessorAsync(Process service, TimeSpan time)
    {
        service.Refresh();
        var (cpu, began) = (service.TotalProcessorTime, Stopwatch.GetTimestamp());
        await Task.Delay(time);
        service.Refresh();
        return (service.TotalProcessorTime - cpu) / Stopwatch.GetElapsedTime(began);
    }

    // Straight line by least squares, MB an hour.
    private static double Slope(List<(double TimeS, double ResidentMb, double HeapMb, double BrowserMb)> all, Func<(double TimeS, double ResidentMb, double HeapMb, double BrowserMb), double> of)
    {
        var rows = all.Skip(all.Count / 3).Select(r => (T: r.TimeS / 3600, Y: of(r))).Where(r => double.IsFinite(r.Y)).ToList();
        if (rows.Count < 3) return double.NaN;
        var (meanT, meanY) = (rows.Average(r => r.T), rows.Average(r => r.Y));
        return rows.Sum(r => (r.T - meanT) * (r.Y - meanY)) / rows.Sum(r => (r.T - meanT) * (r.T - meanT));
    }

    private static string Load() => File.ReadAllText("/proc/loadavg").Split(' ')[0];

    private static void Say(FormattableString line) => Console.WriteLine(FormattableString.Invariant(line));

    private static Asked? Read(string[] args)
    {
        string After(string name, string otherwise) => Array.IndexOf(args, name) is >= 0 and var at && at + 1 < args.Length ? args[at + 1] : otherwise;
        var culture = CultureInfo.InvariantCulture;
        return args.Length > 0 && double.TryParse(args[0], culture, out var seconds) && seconds >= 10
            && int.TryParse(After("--cells", "216"), culture, out var cells) && cells is >= 36 and <= 432 && cells % 18 == 0
            && int.TryParse(After("--circuits", "1"), culture, out var circuits) && circuits is >= 1 and <= 100
            && After("--page", "whole-pack") is ("whole-pack" or "charging") and var page
            ? new Asked(seconds, cells, circuits, page)
            : null;
    }

    private sealed record Asked(double Seconds, int Cells, int Circuits, string Page);
}
