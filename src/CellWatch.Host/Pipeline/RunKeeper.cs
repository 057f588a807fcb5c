using System.Text.Json;
using System.Threading.Channels;
using CellWatch.Core.History;
using CellWatch.Core.History.Runs;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;

namespace CellWatch.Host.Pipeline;

/// <summary>
/// Keeps the runs that are recognised by themselves: watches every state, and writes what began and ended to the log on a task of its own, so that a
/// disk never holds up the pack. Touches only runs it opened itself. What a program before this one left open is closed where the record ends.
/// </summary>
/// <param name="rule">When a run is recognised; null for never.</param>
/// <param name="recorder">Where runs are written.</param>
/// <param name="history">Where open runs are read.</param>
/// <param name="log">The service log.</param>
public sealed partial class RunKeeper(RunRecognition? rule, IRecorder recorder, IHistory history, ILogger<RunKeeper> log) : BackgroundService, IPackStateSink
{
    private static readonly TimeSpan StopWithin = TimeSpan.FromSeconds(3);

    private readonly RunRecogniser? _recogniser = rule is null ? null : new RunRecogniser(rule);
    private readonly Channel<Change> _changes = Channel.CreateUnbounded<Change>(new UnboundedChannelOptions { SingleReader = true });
    private long? _recordEndsAtMs;
    private long? _run;

    /// <inheritdoc/>
    public string Name => "runs";

    /// <inheritdoc/>
    public void Offer(PackState state)
    {
        if (_recogniser is not null && _recogniser.Step(state.Snapshot, out var ended, out var began)) _changes.Writer.TryWrite(new Change(ended, began));
    }

    /// <inheritdoc/>
    public override async Task StartAsync(CancellationToken cancellationToken)
    {
        // Before the first scan of this program: the end of what earlier ones recorded.
        try
        {
            _recordEndsAtMs = (await history.ReadStorageAsync(cancellationToken)).Recorded?.ToUnixMs;
        }
#pragma warning disable CA1031 // The stage border: a log that cannot be read now says so itself; runs left open stay so until the next start.
        catch (Exception fault) when (fault is not OperationCanceledException)
#pragma warning restore CA1031
        {
            LogNotRead(fault);
        }

        await base.StartAsync(cancellationToken);
    }

    /// <inheritdoc/>
    public override async Task StopAsync(CancellationToken cancellationToken)
    {
        // The pack's loop has stopped: the run that is open ends where the data end.
        if (_recogniser?.Stop() is { } ended) _changes.Writer.TryWrite(new Change(ended, null));
        _changes.Writer.TryComplete();
        if (ExecuteTask is { } writing) await Task.WhenAny(writing, Task.Delay(StopWithin, cancellationToken));
        await base.StopAsync(cancellationToken);
    }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        await Task.Yield();
        try
        {
            await GuardAsync(CloseLeftOpenAsync);
            await foreach (var change in _changes.Reader.ReadAllAsync(stoppingToken)) await GuardAsync(() => WriteAsync(change));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The log could not be written in time; the next start closes what stays open.
        }

        // An entry that waits for a full disk must not keep the program from stopping.
        async Task GuardAsync(Func<Task> write)
        {
            try
            {
                await write().WaitAsync(stoppingToken);
            }
#pragma warning disable CA1031 // The stage border: a run that cannot be written is said once, and the next one is tried.
            catch (Exception fault) when (fault is not OperationCanceledException)
#pragma warning restore CA1031
            {
                LogNotKept(fault);
            }
        }
    }

    private async Task CloseLeftOpenAsync()
    {
        if (_recordEndsAtMs is not { } endsAtMs) return;
        foreach (var run in await history.ReadRunsAsync(TimeRange.All))
        {
            if (run.ToUnixMs is not null || !RunRecognition.IsRecognised(run)) continue;
            var settings = JsonSerializer.Serialize(new { endedBy = "programEnd" });
            await recorder.CloseRunAsync(run.Id, new SnapshotTime(0, Math.Max(run.FromUnixMs, endsAtMs)), RunRecognition.By, settings);
        }
    }

    private async Task WriteAsync(Change change)
    {
        if (change.Ended is { } ended && _run is { } run)
        {
            _run = null;
            await recorder.CloseRunAsync(run, ended.To, RunRecognition.By, FiguresOf(ended));
        }

        if (change.Began is not { } began) return;
        var atThatTime = await history.ReadRunsAsync(new TimeRange(began.From.WallUnixMs, TimeRange.All.ToUnixMs));
        if (atThatTime.FirstOrDefault(r => RunRecognition.GivesWay(began.Kind, r)) is { } byHand) LogGaveWay(began.Kind, byHand.Id, byHand.OpenedBy);
        else _run = await recorder.OpenRunAsync(began.Kind, TitleOf(began.Kind), began.From, RunRecognition.By);
    }

    private static string TitleOf(RunKind kind) => kind switch
    {
        RunKind.Charge => T("Charge, recognised by its current"),
        RunKind.Drive => T("Drive, recognised by its current"),
        RunKind.Balance => T("Balancing, recognised by its bleed switches"),
        RunKind.Storage => T("Storage, recognised after days of rest"),
        _ => T("Rest, recognised by its current"),
    };

    private static string FiguresOf(RunEnded ended) => JsonSerializer.Serialize(new
    {
        endedBy = JsonNamingPolicy.CamelCase.ConvertName(ended.Why.ToString()),
        chargeInAh = Math.Round(ended.Figures.ChargeInAh, 3),
        chargeOutAh = Math.Round(ended.Figures.ChargeOutAh, 3),
        gaps = ended.Figures.GapCount,
        gapS = Math.Round(ended.Figures.GapS, 1),
    });

    [LoggerMessage(Level = LogLevel.Warning, Message = "The end of the record could not be read; runs an earlier program left open stay open until the next start")]
    private partial void LogNotRead(Exception fault);

    [LoggerMessage(Level = LogLevel.Error, Message = "A recognised run could not be kept")]
    private partial void LogNotKept(Exception fault);

    [LoggerMessage(Level = LogLevel.Information, Message = "A {Kind} was recognised and not opened: run {Run}, opened by {By}, says what this stretch is")]
    private partial void LogGaveWay(RunKind kind, long run, string by);

    private readonly record struct Change(RunEnded? Ended, RunBegan? Began);
}
