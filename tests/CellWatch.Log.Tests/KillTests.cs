using System.Diagnostics;
using System.Globalization;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;
using Xunit;
using Xunit.Abstractions;

namespace CellWatch.Log.Tests;

/// <summary>
/// A writer of its own process, killed with SIGKILL at random moments: 20 times, or as often as <c>CELLWATCH_KILLS</c> says. The writer plays
/// seconds as fast as the disk commits them, so that the moments fall on every stage: tail, sealing, roll-ups, checkpoints.
/// </summary>
public sealed class KillTests(ITestOutputHelper output) : IDisposable
{
    private const int Rate = 10;

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task A_killed_writer_loses_at_most_its_last_second_and_repeats_nothing()
    {
        var kills = int.TryParse(Environment.GetEnvironmentVariable("CELLWATCH_KILLS"), NumberStyles.None, CultureInfo.InvariantCulture, out var n) ? n : 20;
        var random = new Random(20261125);
        var promised = new List<long>();
        for (var life = 1; life <= kills; life++) promised.Add(await LiveAndDieAsync(life, TimeSpan.FromMilliseconds(random.Next(0, 500)), afterFirstCommit: life % 4 != 0));

        await using var log = CellLog.Open(_folder.File());
        await log.FlushAsync();
        Assert.True(log.Recording.IsRecording, log.Recording.Sentence);
        var byLife = new Dictionary<long, List<Snapshot>>();
        await foreach (var s in log.ReadSnapshotsAsync(TimeRange.All))
        {
            var life = s.Time.ElapsedUs / 1_000_000_000_000L;
            if (!byLife.TryGetValue(life, out var list)) byLife[life] = list = [];
            list.Add(s);
        }

        for (var life = 1; life <= kills; life++)
        {
            var kept = byLife.GetValueOrDefault(life, []);
            // What it said was written is there; what it was about to write, a second's worth, may be; in order, none twice, none left out.
            Assert.Equal(Enumerable.Range(1, kept.Count).Select(i => (long)i), kept.Select(s => s.Sequence));
            Assert.InRange(kept.Count, promised[life - 1], promised[life - 1] + Rate);
        }

        Assert.Equal(byLife.Count, (await log.ReadEventsAsync(TimeRange.All, most: 10_000_000)).Count(e => e.Kind == EventKinds.Recovered));
        Assert.True(promised.Sum() > 10 * kills, "the writers hardly wrote anything before they were killed");
        output.WriteLine($"{kills} kills, {promised.Sum()} snapshots promised, {byLife.Values.Sum(l => l.Count)} kept");
    }

    /// <summary>Runs one writer until a moment after its first commit, or after it has opened the log; gives the snapshots it said were on disk.</summary>
    private async Task<long> LiveAndDieAsync(int life, TimeSpan moment, bool afterFirstCommit)
    {
        var program = Path.Combine(AppContext.BaseDirectory, "CellWatch.Log.CrashWriter.dll");
        using var process = new Process
        {
            StartInfo = new ProcessStartInfo("dotnet", [program, _folder.File(), life.ToString(CultureInfo.InvariantCulture), Rate.ToString(CultureInfo.InvariantCulture)])
            {
                RedirectStandardOutput = true,
                RedirectStandardError = true,
            },
        };
        var ready = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        long promised = 0;
        process.OutputDataReceived += (_, e) =>
        {
            if (long.TryParse(e.Data, NumberStyles.None, CultureInfo.InvariantCulture, out var written)) Interlocked.Exchange(ref promised, written);
            if (written > 0 || (e.Data == "ready" && !afterFirstCommit)) ready.TrySetResult();
        };
        process.Start();
        process.BeginOutputReadLine();
        var errors = process.StandardError.ReadToEndAsync();
        if (await Task.WhenAny(ready.Task, process.WaitForExitAsync()) != ready.Task) Assert.Fail($"the writer ended by itself: {await errors}");
        // The moment is meant to be random: it is no wait for anything.
        await Task.Delay(moment);
        process.Kill();
        await process.WaitForExitAsync();
        process.WaitForExit();
        return Interlocked.Read(ref promised);
    }
}
