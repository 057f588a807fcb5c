using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log;
using CellWatch.Log.Exchange;
using CellWatch.Testing;

namespace CellWatch.Benchmarks.Log;

/// <summary>Makes the small log that is kept for each version of the format, and its content as text.</summary>
internal static class SampleFile
{
    public static async Task WriteAsync(string folder)
    {
        var turn = 0;
        var pack = new SyntheticPack(modules: 1)
        {
            Disturb = b =>
            {
                turn++;
                if (turn % 9 == 0) b.Values[2] = Math.PI + (turn * 1e-5);
                if (turn is > 300 and < 340) (b.Values[3], b.Qualities[3], b.Origins[3]) = (double.NaN, Quality.Missing, Origin.Unknown);
            },
        };
        await using (var log = CellLog.Open(Path.Combine(folder, "petrel.cellog")))
        {
            await log.AppendAllAsync(pack.Next(650));
            await log.AppendAllAsync(new SyntheticPack(modules: 1, seed: 2) { Start = new SnapshotTime(1_000_000, 1_790_003_600_000) }.Next(50));
            log.RecordEvent(EventKinds.Mark, "kettle on", new SnapshotTime(1, 1_790_000_000_000), "Ada");
            await log.OpenRunAsync(RunKind.Charge, "first charge", new SnapshotTime(1, 1_790_000_000_000), "Ada");
            await log.FlushAsync();
            await LogExport.ToCsvAsync(log, TimeRange.All, Path.Combine(folder, "petrel.csv"));
        }

        File.Delete(Path.Combine(folder, "petrel.cellog.lock"));
        File.Delete(Path.Combine(folder, "petrel.cellog.reserve"));
    }
}
