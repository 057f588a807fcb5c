using System.Globalization;
using CellWatch.Log;
using CellWatch.Testing;

namespace CellWatch.Benchmarks.Log;

/// <summary>
/// What an hour at 1 Hz writes to the disk (<c>write_bytes</c> of /proc/self/io: pages handed to the storage layer). Without minutes the hour is
/// played as fast as the disk commits; with minutes that many are run in real time and scaled to an hour.
/// </summary>
internal static class BytesFigures
{
    public static async Task RunAsync(double minutes)
    {
        foreach (var stepsPerV in (double[])[10_000, 1_000])
            foreach (var everyS in (int[])[1, 10, 60])
            {
                if (minutes > 0 && (everyS != 1 || stepsPerV != 10_000)) continue;
                await OneAsync(stepsPerV, everyS, minutes);
            }
    }

    private static async Task OneAsync(double stepsPerV, int everyS, double minutes)
    {
        var folder = Directory.CreateTempSubdirectory("cellwatch-bytes-").FullName;
        var path = Path.Combine(folder, "a.cellog");
        var pack = new SyntheticPack { CellStepsPerV = stepsPerV };
        var snapshots = minutes > 0 ? (int)(60 * minutes) : 3600;
        long before, after;
        await using (var log = CellLog.Open(path, new CellLogOptions { CommitEveryS = everyS }))
        {
            await log.FlushAsync();
            before = WriteBytes();
            var next = DateTime.UtcNow;
            for (var s = 1; s <= snapshots; s++)
            {
                log.Append(pack.Next());
                if (minutes > 0)
                {
                    next += TimeSpan.FromSeconds(1);
                    await Task.Delay(next - DateTime.UtcNow is { Ticks: > 0 } wait ? wait : TimeSpan.Zero);
                }
                else if (s % everyS == 0)
                {
                    await log.FlushAsync();
                }
            }

            await log.FlushAsync();
        }

        after = WriteBytes();
        var written = (after - before) * 3600.0 / snapshots;
        var kept = new FileInfo(path).Length * 3600.0 / snapshots;
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"{1000 / stepsPerV} mV steps, a commit every {everyS} s{(minutes > 0 ? $", {minutes} min in real time" : "")}: {written / 1e6:F1} MB written an hour, {kept / 1e6:F2} MB kept, {written / kept:F0} times; at risk {everyS} s"));
        Directory.Delete(folder, recursive: true);
    }

    private static long WriteBytes() => long.Parse(
        File.ReadLines("/proc/self/io").First(l => l.StartsWith("write_bytes", StringComparison.Ordinal)).Split(' ')[1],
        CultureInfo.InvariantCulture);
}
