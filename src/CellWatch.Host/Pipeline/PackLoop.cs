using System.Collections.Immutable;
using CellWatch.Core.Engine;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Host.Bench;
using CellWatch.Host.Time;

namespace CellWatch.Host.Pipeline;

/// <summary>What the pack's loop runs on.</summary>
/// <param name="Map">The pack's channels.</param>
/// <param name="Assembler">Merges the front ends.</param>
/// <param name="Engine">Checks, estimates, judges, advises.</param>
/// <param name="FrontEnds">For their health.</param>
/// <param name="Inboxes">Emptied after a sleep.</param>
/// <param name="Period">Time between scans on <paramref name="Time"/>.</param>
/// <param name="Time">The clock of everything.</param>
/// <param name="Clock">The elapsed clock.</param>
/// <param name="Sending">Whether messages reach the broker.</param>
public sealed record PackLine(
    ChannelMap Map, Assembler Assembler, PackEngine Engine, IReadOnlyList<IFrontEnd> FrontEnds, IReadOnlyList<ReadingInbox> Inboxes,
    TimeSpan Period, TimeProvider Time, PackClock Clock, Func<SendingView> Sending);

/// <summary>
/// The pack's own task, the single writer: takes a scan, steps the engine, offers the result to the sinks, applies commands in
/// between. Nothing here waits for a board, a disk, a broker or a page.
/// </summary>
public sealed partial class PackLoop(
    PackLine line, CommandDoor door, ProofFeed proofs, SinkSet sinks, IRecorder recorder, HostTimeProvider hostTime, ILogger<PackLoop> log) : BackgroundService
{
    private const string SleepEvent = "host asleep";

    private readonly SleepDetector _sleep = new();
    private readonly SnapshotBuffer _buffer = new(line.Map);

    /// <summary>Keeps scans away while something else steps the engine: the past of a simulated pack, or a leap of its story.</summary>
    public SemaphoreSlim Gate { get; } = new(1, 1);

    /// <summary>Takes one scan and offers it. Called by the loop; public so that a test can step it by hand.</summary>
    public PackState Step()
    {
        var now = line.Clock.Now;
        if (_sleep.Slept(hostTime.GetTimestamp() / 1000, hostTime.RunningUs, out var sleptUs))
        {
            LogSlept(sleptUs * 1e-6);
            recorder.RecordEvent(SleepEvent, SleepDetector.Sentence(now, sleptUs, line.Time.LocalTimeZone), now, lengthS: sleptUs * 1e-6);
            foreach (var inbox in line.Inboxes) inbox.Forget();
        }

        while (door.Waiting.TryRead(out var pending))
        {
            var answer = line.Engine.Apply(pending.Command, now);
            recorder.RecordCommand(pending.Command, answer, now);
            pending.Answer.TrySetResult(answer);
        }

        if (proofs.Take() is { } proven)
            for (var channel = 0; channel < proven.Length; channel++) line.Assembler.SetProven(channel, proven[channel]);

        line.Assembler.Assemble(_buffer, now);
        line.Engine.Step(_buffer);
        var state = line.Engine.Publish(_buffer, Health(), recorder.Recording, line.Sending());
        sinks.Offer(state);
        return state;
    }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var pace = new ScanPace(line.Inboxes, line.Period, line.Time);
        try
        {
            while (true)
            {
                await pace.WaitAsync(stoppingToken);
                await Gate.WaitAsync(stoppingToken);
                try
                {
                    Step();
                }
#pragma warning disable CA1031 // The stage border: one bad scan is logged and the next one is taken; the page's tick shows if none succeeds.
                catch (Exception fault)
#pragma warning restore CA1031
                {
                    LogScanFailed(fault);
                }
                finally
                {
                    Gate.Release();
                }
            }
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // Asked to stop.
        }
    }

    private ImmutableArray<FrontEndHealth> Health()
    {
        var health = ImmutableArray.CreateBuilder<FrontEndHealth>(line.FrontEnds.Count);
        foreach (var frontEnd in line.FrontEnds) health.Add(frontEnd.Health);
        return health.MoveToImmutable();
    }

    [LoggerMessage(Level = LogLevel.Warning, Message = "The host slept for {SleptS:F1} s: everything is unknown until new data arrive")]
    private partial void LogSlept(double sleptS);

    [LoggerMessage(Level = LogLevel.Error, Message = "A scan failed")]
    private partial void LogScanFailed(Exception fault);
}
