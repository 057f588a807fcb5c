using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Waking;
using CellWatch.Host.Pipeline;

namespace CellWatch.Host.Bench;

/// <summary>
/// Follows the runs with current whose module is on the pack's instruments: first what the log holds since the run began, then every newest scan.
/// </summary>
public sealed partial class RunFollower(IBenchDesk desk, ILiveView live, IHistory history, ChannelMap map, ServicePlan plan, ILogger<RunFollower> log) : BackgroundService, IRunFollower
{
    private readonly Lock gate = new();
    private readonly Dictionary<string, Followed> runs = new(StringComparer.Ordinal);
    private readonly Bell news = new(isRung: true);
    private bool heard;

    /// <summary>With a clock that runs fast, scans lie further apart; a usual one must not look like a hole.</summary>
    private double StepS => Math.Max(1, 0.5 * (plan.Simulation?.TimeFactor ?? 1));

    /// <inheritdoc/>
    public RunProgress? ProgressOf(string runId)
    {
        DischargeRecording recording;
        Followed? followed;
        lock (gate)
        {
            if (!runs.TryGetValue(runId, out followed) || followed.Rows.Count == 0) return null;
            recording = followed.Rows.Recording;
        }

        return RunProgress.Of(recording, followed.Settings, desk.Read(p => p.Site.Curve), followed.SiblingAh);
    }

    /// <inheritdoc/>
    public string? CsvOf(string runId)
    {
        lock (gate) return runs.TryGetValue(runId, out var followed) && followed.Rows.Count > 0 ? followed.Rows.Csv() : null;
    }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        desk.Changed += news.Ring;
        live.Changed += OnScan;
        try
        {
            while (true)
            {
                await news.WaitAsync(stoppingToken);
                if (live.Latest is not null && desk.Preparing is null) await RefreshAsync(stoppingToken);
            }
        }
        catch (OperationCanceledException)
        {
            // The program stops.
        }
        finally
        {
            desk.Changed -= news.Ring;
            live.Changed -= OnScan;
        }
    }

    private async Task RefreshAsync(CancellationToken stopping)
    {
        var open = desk.Read(p => p.Runs.Runs().Select(r => r.Value).Where(r => r.State is RunState.Running or RunState.Held && r.Method != RunMethod.Rest)
            .Select(r => (Run: r, Siblings: BenchView.SiblingAh(p, r.Module), Settings: p.Runs.CapacitySettings)).ToList());
        lock (gate)
            foreach (var over in runs.Keys.Except(open.Select(o => o.Run.Id), StringComparer.Ordinal).ToList()) runs.Remove(over);
        foreach (var (run, siblings, settings) in open)
        {
            if (runs.ContainsKey(run.Id) || !ModuleId.IsValid(run.Module) || !map.Layout.TryFindModule(new ModuleId(run.Module), out var module)) continue;
            var (firstCell, firstTemperature) = (map.Layout.FirstCell(module), map.Layout.FirstTemperature(module));
            var began = run.Events[0].At.ToUnixTimeMilliseconds();
            var rows = new RunRows(firstCell, map.Layout.FirstCell(module + 1) - firstCell, map.FirstTemperature + firstTemperature, map.Layout.Modules[module].TemperatureSensors, began, StepS);
            try
            {
                await foreach (var scan in history.ReadSnapshotsAsync(new TimeRange(began, live.Latest!.Snapshot.Time.WallUnixMs), stopping)) rows.Add(scan);
            }
            catch (Exception fault) when (fault is IOException or InvalidDataException)
            {
                LogNoPast(run.Id, fault);
            }

            lock (gate) runs[run.Id] = new Followed(rows, settings, siblings);
        }
    }

    private void OnScan()
    {
        if (live.Latest is not { } state) return;
        if (!heard) news.Ring();
        heard = true;
        lock (gate)
            foreach (var followed in runs.Values) followed.Rows.Add(state.Snapshot);
    }

    /// <inheritdoc/>
    public override void Dispose()
    {
        news.Dispose();
        base.Dispose();
    }

    [LoggerMessage(Level = LogLevel.Warning, Message = "Run {Run}: the log's part of it cannot be read; it is followed from now on")]
    private partial void LogNoPast(string run, Exception fault);

    private sealed record Followed(RunRows Rows, CapacitySettings Settings, double? SiblingAh);
}
