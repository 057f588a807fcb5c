using System.Globalization;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log;
using CellWatch.Testing;

// Writes snapshots to a log until it is killed: arguments are the file, the number of this life, and snapshots a second.
// After each snapshot that is on disk it says its number, so that the test knows what must be there.
var life = int.Parse(args[1], CultureInfo.InvariantCulture);
var rate = int.Parse(args[2], CultureInfo.InvariantCulture);
var startMs = 1_790_000_000_000 + (life * 1_000_000L);
var pack = new SyntheticPack(modules: 3, seed: 7) { PeriodUs = 1_000_000 / rate, Start = new SnapshotTime(life * 1_000_000_000_000L, startMs) };
await using var log = CellLog.Open(args[0]);
await log.FlushAsync();
Console.WriteLine("ready");
var written = 0L;
while (true)
{
    // A burst, then a commit: as many snapshots as a second has.
    for (var i = 0; i < rate; i++)
    {
        log.Append(pack.Next());
        written++;
    }

    log.RecordEvent(EventKinds.Mark, written.ToString(CultureInfo.InvariantCulture), new SnapshotTime(0, startMs + written));
    await log.FlushAsync();
    Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{written}"));
}
