using System.Diagnostics;
using System.Globalization;
using CellWatch.Core.Snapshots;
using CellWatch.Log;
using CellWatch.Log.Codec;
using CellWatch.Log.Store;
using CellWatch.Testing;

namespace CellWatch.Benchmarks.Log;

/// <summary>How fast the bulk path takes snapshots, by wall clock and by processor time; the first rounds are read while the code is still being compiled.</summary>
internal static class AppendFigures
{
    public static async Task RunAsync()
    {
        var pack = new SyntheticPack();
        var snapshots = pack.Next(24_000);
        var measured = pack.Map.FirstBleed;
        Stages(snapshots[..600]);
        for (var round = 0; round < 8; round++)
        {
            var folder = Directory.CreateTempSubdirectory("cellwatch-append-").FullName;
            await using (var log = CellLog.Open(Path.Combine(folder, "a.cellog")))
            {
                await log.FlushAsync();
                var cpu = Process.GetCurrentProcess().TotalProcessorTime;
                var clock = Stopwatch.StartNew();
                await log.AppendAllAsync(snapshots);
                var wallS = clock.Elapsed.TotalSeconds;
                var cpuS = (Process.GetCurrentProcess().TotalProcessorTime - cpu).TotalSeconds;
                Console.WriteLine(string.Create(
                    CultureInfo.InvariantCulture,
                    $"{snapshots.Length} snapshots of {measured} measured values ({pack.Map.Count} channels): {wallS:F2} s, {cpuS:F2} s of processor; {snapshots.Length * (double)measured / cpuS / 1e6:F1} M measured values/s/core, {snapshots.Length * (double)measured / wallS / 1e6:F1} M/s by the clock"));
            }

            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>Where the time goes, a chunk of 600 snapshots at a time: least of many, so that a busy machine disturbs little.</summary>
    private static void Stages(Snapshot[] chunk)
    {
        var map = chunk[0].Map;
        double[] steps = [.. Enumerable.Range(0, map.Count).Select(c => Resolutions.Usual(map, c))];
        ChannelKind[] kinds = [.. Enumerable.Range(0, map.Count).Select(map.KindOf)];
        var encoder = new ChunkEncoder();
        var decoder = new ChunkDecoder();
        var rolls = new RollUpBlock();
        var block = encoder.Encode(chunk, new ChunkPlace(1, 1, 0), steps).ToArray();
        decoder.Open(block);
        var rollUp = new RollUp(1, 10, kinds, steps);
        rollUp.Add(decoder);
        var values = new double[600];
        var status = new byte[600];
        Least("encode a chunk", () => encoder.Encode(chunk, new ChunkPlace(1, 1, 0), steps));
        Least("open a chunk", () => decoder.Open(block));
        Least("decode all its channels", () =>
        {
            for (var c = 0; c < map.Count; c++) decoder.Read(c, values, status);
        });
        Least("gather its 10 s roll-up", () => new RollUp(1, 10, kinds, steps).Add(decoder));
        Least("encode the roll-up", () => rolls.Encode(rollUp));
        Console.WriteLine($"chunk {block.Length} bytes, roll-up {rolls.Encode(rollUp).Length} bytes");
    }

    private static void Least(string what, Action action)
    {
        var least = double.MaxValue;
        for (var i = 0; i < 300; i++)
        {
            var clock = Stopwatch.StartNew();
            action();
            least = Math.Min(least, clock.Elapsed.TotalMicroseconds);
        }

        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{what}: {least:F0} us"));
    }
}
