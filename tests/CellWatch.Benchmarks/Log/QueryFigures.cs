using System.Diagnostics;
using System.Globalization;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log;
using CellWatch.Testing;

namespace CellWatch.Benchmarks.Log;

/// <summary>A day's log and a month's, and what a day costs to look at in each.</summary>
internal static class QueryFigures
{
    private const int SnapshotsADay = 86_400;

    public static async Task RunAsync(int days)
    {
        var folder = Directory.CreateTempSubdirectory("cellwatch-queries-").FullName;
        try
        {
            var day = Path.Combine(folder, "day.cellog");
            var month = Path.Combine(folder, "month.cellog");
            await GenerateAsync(day, 1);
            await GenerateAsync(month, days);
            foreach (var path in (string[])[day, month])
            {
                await using var log = CellLog.Open(path);
                await log.FlushAsync();
                var recorded = (await log.ReadStorageAsync()).Recorded!.Value;
                // The last day, so that both logs are asked for the same stretch of the same data's shape.
                var aDay = recorded with { FromUnixMs = recorded.ToUnixMs - 86_400_000 };
                var tenMinutes = new TimeRange(aDay.FromUnixMs + 40_000_000, aDay.FromUnixMs + 40_600_000);
                string[] cells = [.. Enumerable.Range(0, 12).Select(i => $"B{1 + i:00}.{1 + (i % 6)}")];
                var name = Path.GetFileNameWithoutExtension(path);
                await TimeAsync($"{name}: envelope of 108 cells, 24 h, 2000 px", 100, () => log.ReadEnvelopeAsync(EnvelopeOf.Cells, aDay, 2000));
                await TimeAsync($"{name}: 12 cells, 24 h, 2000 px", 50, () => log.ReadTracesAsync(new TraceQuery([.. cells], aDay, 2000)));
                await TimeAsync($"{name}: 12 cells at full rate, 10 min", 30, () => log.ReadTracesAsync(new TraceQuery([.. cells], tenMinutes, 2000)));
                await TimeAsync($"{name}: envelope at full rate, 10 min", 30, () => log.ReadEnvelopeAsync(EnvelopeOf.Cells, tenMinutes, 2000));
                await TimeAsync($"{name}: 12 cells, everything, 2000 px", 0, () => log.ReadTracesAsync(new TraceQuery([.. cells], TimeRange.All, 2000)));
                await TimeAsync($"{name}: envelope, everything, 2000 px", 0, () => log.ReadEnvelopeAsync(EnvelopeOf.Cells, TimeRange.All, 2000));
            }

            await CompareAsync(day, month);
            var bytes = (double)new FileInfo(month).Length;
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{days} days take {bytes / 1e6:F1} MB: {bytes / days / 1e6:F2} MB a day, computed {bytes / days * 365 / 1e9:F2} GB a year at full rate"));
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>The same day's question put to both logs in turn, so that warming up and what others do fall on both alike.</summary>
    private static async Task CompareAsync(string day, string month)
    {
        await using var small = CellLog.Open(day);
        await using var large = CellLog.Open(month);
        string[] cells = [.. Enumerable.Range(0, 12).Select(i => $"B{1 + i:00}.{1 + (i % 6)}")];
        var logs = new[] { small, large };
        var times = new[] { new List<double>(), new List<double>() };
        var processorMs = new double[2];
        for (var i = 0; i < 202; i++)
        {
            var which = i % 2;
            var end = (await logs[which].ReadStorageAsync()).Recorded!.Value.ToUnixMs;
            var processor = Process.GetCurrentProcess().TotalProcessorTime;
            var clock = Stopwatch.StartNew();
            await logs[which].ReadTracesAsync(new TraceQuery([.. cells], new TimeRange(end - 86_400_000, end), 2000));
            if (i < 20) continue;
            times[which].Add(clock.Elapsed.TotalMilliseconds);
            processorMs[which] += (Process.GetCurrentProcess().TotalProcessorTime - processor).TotalMilliseconds;
        }

        foreach (var t in times) t.Sort();
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"12 cells over a day, in turn: in the day's log least {times[0][0]:F1} ms, median {times[0][times[0].Count / 2]:F1} ms, processor {processorMs[0] / times[0].Count:F1} ms; in the month's least {times[1][0]:F1} ms, median {times[1][times[1].Count / 2]:F1} ms, processor {processorMs[1] / times[1].Count:F1} ms"));
    }

    /// <summary>Writes a log of whole days at 1 Hz.</summary>
    /// <param name="path">File of the log.</param>
    /// <param name="days">How many days.</param>
    /// <param name="start">Clocks of the first snapshot; null for a fixed one.</param>
    public static async Task GenerateAsync(string path, int days, SnapshotTime? start = null)
    {
        // Each day: a drive, a charge, a rest; 1 mV rms noise at 0.1 mV steps throughout.
        var any = new SyntheticPack();
        var pack = new SyntheticPack { Start = start ?? any.Start, CurrentA = s => (s % 86_400) switch { < 7200 => -15, < 21_600 => 0, < 28_800 => 15, _ => 0 } };
        var clock = Stopwatch.StartNew();
        await using var log = CellLog.Open(path);
        await log.AppendAllAsync(Enumerable.Range(0, days * SnapshotsADay).Select(_ => pack.Next()));
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{days} days generated and written in {clock.Elapsed.TotalSeconds:F0} s"));
    }

    private static async Task TimeAsync<T>(string what, double limitMs, Func<Task<T>> query)
    {
        var cold = DropCaches();
        var clock = Stopwatch.StartNew();
        await query();
        var firstMs = clock.Elapsed.TotalMilliseconds;
        var times = new List<double>();
        var processor = Process.GetCurrentProcess().TotalProcessorTime;
        for (var i = 0; i < 31; i++)
        {
            clock.Restart();
            await query();
            times.Add(clock.Elapsed.TotalMilliseconds);
        }

        // On a shared machine the clock also counts what others do; the processor's time does not.
        var processorMs = (Process.GetCurrentProcess().TotalProcessorTime - processor).TotalMilliseconds / times.Count;
        times.Sort();
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{what}: least {times[0]:F1} ms, median {times[15]:F1} ms, processor {processorMs:F1} ms, worst of 31 {times[^1]:F1} ms; {(cold ? "disk cache dropped" : "first call")} {firstMs:F1} ms{(limitMs > 0 ? $" (limit {limitMs} ms)" : "")}"));
    }

    private static bool DropCaches()
    {
        try
        {
            File.WriteAllText("/proc/sys/vm/drop_caches", "3");
            return true;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return false;
        }
    }
}
