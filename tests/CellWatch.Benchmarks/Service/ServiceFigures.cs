using System.Diagnostics;
using System.Globalization;
using CellWatch.Testing;

namespace CellWatch.Benchmarks.Service;

/// <summary>
/// Figures of the running service: <c>service wire [seconds] [--page]</c> feeds 216 cells and 72 temperatures at 10 Hz through
/// pseudo-terminals and takes the time from the last byte of a round to its MQTT message; <c>service demo [seconds] [--page]</c>
/// runs the demo. Both give processor time, resident memory and bytes written. <c>--page</c> keeps one page open in Chromium.
/// <c>service pages</c> measures the pages themselves, see <see cref="PagesFigures"/>; <c>service traces</c> the opening of a day, see <see cref="TracesFigures"/>.
/// </summary>
public static class ServiceFigures
{
    private static readonly TimeSpan WarmUp = TimeSpan.FromSeconds(15);

    /// <summary>Runs it and prints the figures.</summary>
    public static async Task<int> RunAsync(string[] args)
    {
        if (args is ["pages", .. var pages]) return await PagesFigures.RunAsync(pages);
        if (args is ["traces", .. var traces]) return await TracesFigures.RunAsync(traces);
        if (args is not [("wire" or "demo") and var kind, .. var rest])
        {
            Console.Error.WriteLine($"Use: service wire|demo [seconds] [--page], {PagesFigures.Usage}, or {TracesFigures.Usage}");
            return 2;
        }

        var seconds = rest.Select(r => double.TryParse(r, CultureInfo.InvariantCulture, out var s) ? s : 0).FirstOrDefault(s => s > 0, 60);
        var folder = Directory.CreateTempSubdirectory("cellwatch-figures-").FullName;
        try
        {
            await using var wire = kind == "wire" ? WireLoad.Start(folder, new FastPattern()) : null;
            var port = wire?.WebPort ?? FreePort.Next();
            var arguments = wire is null
                ? new[] { "demo", "--port", port.ToString(CultureInfo.InvariantCulture), "--data", folder }
                : ["serve", "--site", wire.SiteFile];
            using var service = Start("dotnet", [Service, .. arguments]);
            var began = Stopwatch.GetTimestamp();
            using var http = new HttpClient { BaseAddress = new Uri($"http://localhost:{port}") };
            await FirstPageAsync(http);
            Console.WriteLine($"first page served after {Stopwatch.GetElapsedTime(began).TotalSeconds:F2} s");
            using var page = rest.Contains("--page") ? Chromium(port, folder) : null;
            await Task.Delay(WarmUp);
            if (wire is not null) await wire.ListenAsync();
            await MeasureAsync(service, seconds);
            if (wire is not null) Console.WriteLine(wire.Latency());
            if (page is { HasExited: false }) page.Kill(entireProcessTree: true);
            service.Kill(entireProcessTree: true);
            await service.WaitForExitAsync();
            return 0;
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>The built host beside this program's own build.</summary>
    internal static string Service
    {
        get
        {
            var folder = new DirectoryInfo(AppContext.BaseDirectory);
            while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "CellWatch.sln"))) folder = folder.Parent;
            return Path.Combine(folder?.FullName ?? ".", "src", "CellWatch.Host", "bin", "Release", "net10.0", "cellwatch.dll");
        }
    }

    /// <summary>Starts a program whose output is not shown.</summary>
    internal static Process Start(string program, params string[] arguments)
    {
        var process = Process.Start(new ProcessStartInfo(program, arguments) { UseShellExecute = false, RedirectStandardOutput = true, RedirectStandardError = true })!;
        process.OutputDataReceived += (_, _) => { };
        process.ErrorDataReceived += (_, _) => { };
        process.BeginOutputReadLine();
        process.BeginErrorReadLine();
        return process;
    }

    private static Process Chromium(int port, string folder) => Start(
        "chromium", "--headless=new", "--no-sandbox", "--disable-gpu", "--remote-debugging-port=0", $"--user-data-dir={Path.Combine(folder, "browser")}", $"http://localhost:{port}/whole-pack");

    internal static async Task FirstPageAsync(HttpClient http)
    {
        while (true)
        {
            try
            {
                using var answer = await http.GetAsync("/whole-pack");
                if (answer.IsSuccessStatusCode) return;
            }
            catch (HttpRequestException)
            {
                // Not up yet.
            }

            await Task.Delay(20);
        }
    }

    private static async Task MeasureAsync(Process service, double seconds)
    {
        service.Refresh();
        var cpu = service.TotalProcessorTime;
        var written = Written(service);
        var began = Stopwatch.GetTimestamp();
        var step = TimeSpan.FromSeconds(Math.Max(5, seconds / 10));
        var (first, last, most) = (0L, 0L, 0L);
        while (Stopwatch.GetElapsedTime(began).TotalSeconds < seconds)
        {
            await Task.Delay(step);
            service.Refresh();
            last = service.WorkingSet64;
            if (first == 0) first = last;
            most = Math.Max(most, last);
            Console.WriteLine($"  {Stopwatch.GetElapsedTime(began).TotalSeconds,6:F0} s  resident {last / 1e6:F0} MB");
        }

        var elapsedS = Stopwatch.GetElapsedTime(began).TotalSeconds;
        service.Refresh();
        Console.WriteLine($"processor {(service.TotalProcessorTime - cpu).TotalSeconds / elapsedS:P1} of one core over {elapsedS:F0} s");
        Console.WriteLine($"resident memory {first / 1e6:F0} MB at first, {last / 1e6:F0} MB at the end, {most / 1e6:F0} MB at most");
        Console.WriteLine($"written {(Written(service) - written) / 1e6 * 3600 / elapsedS:F1} MB/h");
    }

    private static long Written(Process process) => File.ReadLines($"/proc/{process.Id}/io")
        .Where(line => line.StartsWith("write_bytes:", StringComparison.Ordinal)).Select(line => long.Parse(line[12..], CultureInfo.InvariantCulture)).Single();
}
