using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.History;
using CellWatch.Core.Pack;
using CellWatch.Core.Register;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Statistics;

namespace CellWatch.Host.Bench;

/// <summary>
/// Makes the recording of a rest, capacity or pulse run out of the cell log: the stretch from its start until now, of its own module's channels. A
/// rest is taken as means over ten minutes, the others scan by scan.
/// </summary>
public sealed class LogCloser(BenchDoor door, IHistory history, ChannelMap map) : IRunCloser
{
    /// <summary>Means of a rest are this long, s.</summary>
    public const double RestMeanS = 600;

    /// <summary>A pulse is looked for in so much of the end of its run, h: the rest before it is not needed scan by scan.</summary>
    public const double PulseLastHours = 2;

    /// <summary>A current above this share of the rated capacity an hour is no rest (own rule).</summary>
    public const double RestCurrentShare = 0.02;

    /// <inheritdoc/>
    public bool Records(string module) => ModuleId.IsValid(module) && map.Layout.TryFindModule(new ModuleId(module), out _);

    /// <inheritdoc/>
    public async Task<string> CloseAsync(string by, string runId, CancellationToken cancellation = default)
    {
        RefusedException.Unless(!string.IsNullOrWhiteSpace(by), T("Say who you are: every record carries a name."));
        var (run, site, capacityAh) = door.Read(p =>
        {
            var found = p.Runs.Run(runId).Value;
            return (found, p.Site, p.Runs.CapacityOf(found.Module)?.Value.Outcome.ModuleAh.Value);
        });
        RefusedException.Unless(run.State == RunState.Running, T($"{run.Id} is {run.State.ToString().ToLowerInvariant()}: it is closed only while it is running."));
        RefusedException.Unless(Records(run.Module), T($"{run.Module} is not on this pack's instruments, so the log holds nothing of it: hand its recording in."));
        map.Layout.TryFindModule(new ModuleId(run.Module), out var module);
        var range = TimeRange.Between(run.Events[0].At, door.Now);
        switch (run.Method)
        {
            case RunMethod.Rest:
                var rest = await RestAsync(module, range, site, capacityAh ?? site.RatedGroupAh, cancellation);
                return door.Enter(by, false, (p, who) => p.Runs.CloseRest(run.Id, rest, new RestTestSettings(), who).Value.Outcome.Sentence);
            case RunMethod.Pulse:
                var pulse = await PulseAsync(module, range, site, cancellation);
                return door.Enter(by, false, (p, who) => p.Runs.ClosePulse(run.Id, pulse, who).Value.Outcome.Sentence);
            default:
                var csv = await CapacityAsync(module, range, cancellation);
                return door.Enter(by, false, (p, who) => p.Runs.CloseCapacity(run.Id, csv, p.Runs.CapacitySettings, who).Value.Outcome.Sentence);
        }
    }

    private async Task<RestRecording> RestAsync(int module, TimeRange range, BenchSite site, double capacityAh, CancellationToken cancellation)
    {
        var (cells, sensors) = (Names(map.Layout.FirstCell(module), map.Layout.FirstCell(module + 1)), Names(map.FirstTemperature + map.Layout.FirstTemperature(module), map.FirstTemperature + map.Layout.FirstTemperature(module + 1)));
        var columns = (int)Math.Clamp(range.LengthMs / (1000 * RestMeanS), 1, 50_000);
        var read = await history.ReadTracesAsync(new TraceQuery([.. cells, .. sensors, map.NameOf(map.PackCurrent)], range, columns), cancellation);
        RefusedException.Unless(read.Columns.Count > 0 && read.Channels[0].Good.Any(g => g > 0), T($"The log holds nothing of {map.Layout.Modules[module].Id} since the run began."));
        var current = read.Channels[^1];
        for (var i = 0; i < current.Mean.Length; i++)
            RefusedException.Unless(!(Math.Max(Math.Abs(current.Min[i]), Math.Abs(current.Max[i])) > RestCurrentShare * site.RatedGroupAh),
                T($"A current flowed at {DateTimeOffset.FromUnixTimeMilliseconds(read.Columns.StartUnixMs[i]):yyyy-MM-dd HH:mm} UTC: this was no rest. End the run with its reason and begin another."));
        double[] times = [.. read.Columns.StartUnixMs.Select(ms => (ms + read.Columns.ColumnMs / 2 - range.FromUnixMs) / 1000)];
        var cellV = read.Channels.Take(cells.Length).Select(c => c.Mean).ToArray();
        var degC = sensors.Length == 0 ? null : Enumerable.Range(0, times.Length).Select(i => MeanOf(read.Channels.Skip(cells.Length).Take(sensors.Length).Select(c => c.Mean[i]))).ToArray();
        var curve = site.Curve ?? throw new RefusedException(T("Choose a cell type with a curve first: a fall in mV is no leak in mA without it."));
        var endV = Robust.Median([.. cellV.Select(c => Array.FindLast(c, double.IsFinite)).Where(double.IsFinite)]);
        return new RestRecording(times, cellV, degC is null || degC.All(double.IsNaN) ? null : degC, curve.SocAt(endV).SlopeMvPerPercent, capacityAh);
    }

    private async Task<PulseRecording> PulseAsync(int module, TimeRange range, BenchSite site, CancellationToken cancellation)
    {
        var last = new TimeRange(Math.Max(range.FromUnixMs, range.ToUnixMs - (long)(PulseLastHours * 3_600_000)), range.ToUnixMs);
        var (first, count) = (map.Layout.FirstCell(module), map.Layout.FirstCell(module + 1) - map.Layout.FirstCell(module));
        var (firstSensor, sensors) = (map.FirstTemperature + map.Layout.FirstTemperature(module), map.Layout.FirstTemperature(module + 1) - map.Layout.FirstTemperature(module));
        var (timeS, currentA, degC, cellV) = (new List<double>(), new List<double>(), new List<double>(), Enumerable.Range(0, count).Select(_ => new List<double>()).ToArray());
        await foreach (var scan in history.ReadSnapshotsAsync(last, cancellation))
        {
            // Two channels of one scan may be of different instants by some tenths of a second; the pulse's own rules leave its edge out.
            if (!scan.TryGetPackCurrentA(out var a)) continue;
            timeS.Add((scan.Time.WallUnixMs - last.FromUnixMs) / 1000.0);
            currentA.Add(a);
            for (var c = 0; c < count; c++) cellV[c].Add(scan.TryGet(first + c, out var v) ? v : double.NaN);
            degC.Add(MeanOf(Enumerable.Range(firstSensor, sensors).Select(s => scan.TryGet(s, out var t) ? t : double.NaN)));
        }

        var window = PulseWindow.LastOf(timeS.ToArray(), currentA.ToArray())
            ?? throw new RefusedException(T($"The log holds no discharge of {PulseTest.LeastA:0} A or more in the last {PulseLastHours:0} h of this run: give the pulse first, then close it."));
        double[] Part(List<double> all) => [.. all.Skip(window.From).Take(window.To - window.From + 1)];
        var curve = site.Curve ?? throw new RefusedException(T("Choose a cell type with a curve first: the charge level of the pulse is read from the rest voltage before it."));
        var restV = Robust.Median([.. cellV.Select(c => c[window.From]).Where(double.IsFinite)]);
        var warmth = Part(degC);
        return new PulseRecording(Part(timeS), Part(currentA), [.. cellV.Select(Part)], warmth[0], warmth[^1], Math.Round(curve.SocAt(restV).SocPercent, 1), site.Limits.LowLoadStopV);
    }

    private async Task<string> CapacityAsync(int module, TimeRange range, CancellationToken cancellation)
    {
        var rows = new RunRows(
            map.Layout.FirstCell(module), map.Layout.FirstCell(module + 1) - map.Layout.FirstCell(module), map.FirstTemperature + map.Layout.FirstTemperature(module), map.Layout.Modules[module].TemperatureSensors, range.FromUnixMs);
        await foreach (var scan in history.ReadSnapshotsAsync(range, cancellation)) rows.Add(scan);
        RefusedException.Unless(rows.Count > 0, T($"The log holds nothing of {map.Layout.Modules[module].Id} since the run began."));
        return rows.Csv();
    }

    private string[] Names(int from, int to) => [.. Enumerable.Range(from, to - from).Select(map.NameOf)];

    private static double MeanOf(IEnumerable<double> values)
    {
        var known = values.Where(double.IsFinite).ToList();
        return known.Count == 0 ? double.NaN : known.Average();
    }
}
