using System.Diagnostics;
using CellWatch.Core.Commands;
using CellWatch.Core.Engine;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Host.Time;
using CellWatch.Simulation.Controls;

namespace CellWatch.Host.Pipeline;

/// <summary>
/// With a simulated pack: lets the engine and the log live through what happened before the service began, and through the hours a leap
/// of the story skips, so that the pages open on a pack with a past. Starts before the pack's loop, so the log stays in order.
/// </summary>
public sealed partial class HistoryFiller(
    ServicePlan plan, PackLoop loop, PackClock clock, IRecorder recorder, RunKeeper runs, PackEngine engine, IReadOnlyList<WiredFrontEnd> frontEnds, IHostApplicationLifetime life,
    ILogger<HistoryFiller> log) : IHostedService, IStoryLeap, IDisposable
{
    private const int MostLooks = 100;
    private static readonly TimeSpan LookEvery = TimeSpan.FromMilliseconds(50);

    private const long PresentEveryUs = 600_000_000;
    private const long SeenAfterMs = 120_000;
    private const string Crew = "the simulated crew";

    private readonly CancellationTokenSource _stop = new();
    private readonly TaskCompletionSource _boardsSpeak = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private long _presentUs = long.MinValue / 2;
    private Task _boards = Task.CompletedTask;

    /// <summary>Done when there is somebody to listen to: at once with real instruments, else when the past is written.</summary>
    public Task BoardsSpeak => _boardsSpeak.Task;

    /// <inheritdoc/>
    public Task StartAsync(CancellationToken cancellationToken)
    {
        if (plan.Simulation is not { } simulation)
        {
            _boardsSpeak.SetResult();
            return Task.CompletedTask;
        }

        // Pages are served first; the first scan waits until the past is written, so the log stays in order.
        loop.Gate.Wait(cancellationToken);
        life.ApplicationStarted.Register(() => _boards = Task.Run(() => PlayAsync(simulation), CancellationToken.None));
        return Task.CompletedTask;
    }

    private async Task PlayAsync(SimulatedPart simulation)
    {
        var running = Task.CompletedTask;
        try
        {
            Fill(simulation);
            simulation.Begin();
            running = simulation.RunAsync(_stop.Token);
            _boardsSpeak.SetResult();
            // The first live scan waits for every channel's first word, else the page would open on NO DATA that never was.
            for (var looks = 0; looks < MostLooks && !frontEnds.All(f => f.Inbox.HasHeard(f.FrontEnd.Health.Channels.AsSpan())); looks++) await Task.Delay(LookEvery, _stop.Token);
        }
        finally
        {
            // Whatever failed, the front ends still open and say in their own words what they hear.
            _boardsSpeak.TrySetResult();
            loop.Gate.Release();
        }

        await running;
    }

    private void Fill(SimulatedPart simulation)
    {
        try
        {
            var started = Stopwatch.GetTimestamp();
            simulation.UseLeap(this);
            simulation.PlayPast(clock.Started, Take);
            StartUpMemory.GiveBack();
            LogFilled(simulation.HistoryS / 3600, Stopwatch.GetElapsedTime(started).TotalSeconds);
        }
#pragma warning disable CA1031 // The stage border: whatever the past stumbled over is said, and the present begins without it.
        catch (Exception fault) when (fault is not OperationCanceledException)
#pragma warning restore CA1031
        {
            LogNoPast(fault);
        }
    }

    /// <inheritdoc/>
    public async Task StopAsync(CancellationToken cancellationToken)
    {
        await _stop.CancelAsync();
        await _boards.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
    }

    /// <inheritdoc/>
    public void Dispose() => _stop.Dispose();

    /// <inheritdoc/>
    public void Begin() => loop.Gate.Wait(_stop.Token);

    /// <inheritdoc/>
    public void Take(SnapshotBuffer snapshot)
    {
        // Nobody pressed anything in a past that was computed in seconds; the crew is taken to have been there.
        if (snapshot.View.Time.ElapsedUs - _presentUs > PresentEveryUs)
        {
            _presentUs = snapshot.View.Time.ElapsedUs;
            engine.Apply(new ConfirmPresence(Crew), snapshot.View.Time);
        }

        engine.Step(snapshot);
        var state = engine.Publish(snapshot, [], recorder.Recording, new Core.Live.SendingView(false, T("not sent: the past of a simulated pack")));
        recorder.Offer(state);
        runs.Offer(state);
        // The crew saw what the past raised, a little later: the pages open on what is new.
        foreach (var alarm in state.Alarms)
        {
            if (alarm.SeenUnixMs is null && snapshot.View.Time.WallUnixMs - alarm.SinceUnixMs > SeenAfterMs) engine.Apply(new AcknowledgeAlarm(alarm.Id, Crew), snapshot.View.Time);
        }
    }

    /// <inheritdoc/>
    public void End() => loop.Gate.Release();

    [LoggerMessage(Level = LogLevel.Error, Message = "The simulated past could not be played to its end; what was played is kept, the present begins now")]
    private partial void LogNoPast(Exception fault);

    [LoggerMessage(Level = LogLevel.Information, Message = "Simulated {Hours:F1} h of history in {TookS:F1} s")]
    private partial void LogFilled(double hours, double tookS);
}
