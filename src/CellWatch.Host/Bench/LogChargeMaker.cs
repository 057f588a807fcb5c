using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.History;
using CellWatch.Core.Register;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Statistics;

namespace CellWatch.Host.Bench;

/// <summary>Makes the record of a charge out of the cell log: reads its scans and what lies beside them, and hands both to the account in Core.</summary>
public sealed class LogChargeMaker(BenchDoor door, IHistory history, ChannelMap map) : IChargeMaker
{
    /// <summary>A longer stretch is no charge of this pack, h.</summary>
    public const double LongestHours = 48;

    /// <summary>A rest so shortly before the charge tells its level, ms (own rule).</summary>
    private const long RestWithinMs = 900_000;

    /// <summary>The ladder begins with the cut-off: one tried so soon after the beginning counts as tried for it, ms (own rule).</summary>
    private const long CutOffSoonMs = 900_000;

    /// <inheritdoc/>
    public async Task<RunRecord?> LastAsync(CancellationToken cancellation = default) =>
        (await history.ReadRunsAsync(TimeRange.All, cancellation)).LastOrDefault(r => r is { Kind: RunKind.Charge, ToUnixMs: not null });

    /// <inheritdoc/>
    public async Task<Kept<ChargeRecord>> MakeAsync(string by, ChargeOrder order, CancellationToken cancellation = default)
    {
        RefusedException.Unless(!string.IsNullOrWhiteSpace(by), T("Say who you are: every record carries a name."));
        RefusedException.Unless(!string.IsNullOrWhiteSpace(order.Id), T("Give the record a name, for example 'first DC charge'."));
        var site = door.Read(p => p.Site);
        RefusedException.Unless(site.CellType is not null, T("Choose the cell type first. Without it there are no limits to judge by."));
        var (range, source) = await RangeAsync(order, cancellation);

        var reader = new ChargeReader(map, site.Limits);
        await foreach (var scan in history.ReadSnapshotsAsync(range, cancellation)) reader.Add(scan);
        RefusedException.Unless(reader.Scans > 1, T($"The log holds nothing at full rate from {Words(range.FromUnixMs)} to {Words(range.ToUnixMs)}."));
        var reading = reader.Finish();
        RefusedException.Unless(reading.InAh > 0, T($"No charge current flowed from {Words(range.FromUnixMs)} to {Words(range.ToUnixMs)}: this is no charge."));

        var beside = new TimeRange(range.FromUnixMs - (long)(ChargeLadder.CutOffTriedHours * 3_600_000), range.ToUnixMs + 300_000);
        var trail = new ChargeTrail(
            await history.ReadAlarmsAsync(beside, int.MaxValue, cancellation), await history.ReadCommandsAsync(beside, int.MaxValue, cancellation),
            await history.ReadEventsAsync(range, int.MaxValue, cancellation), await RestPercentAsync(range.FromUnixMs, site, cancellation));
        var cutHoursAgo = trail.Commands.Where(c => c.Accepted && c.Command == nameof(Core.Commands.HandCutOffTried) && c.WallUnixMs <= reading.FromUnixMs + CutOffSoonMs).Select(c => Math.Max(0, (reading.FromUnixMs - c.WallUnixMs) / 3_600_000.0)).Cast<double?>().Min();
        return door.Enter(by, reading.AnySimulated, (p, who) =>
        {
            var before = p.Safety.Charges().FirstOrDefault(c => c.Value.Id == order.Id.Trim());
            RefusedException.Unless(before is null || before.Value.StartedAt.ToUnixTimeMilliseconds() == reading.FromUnixMs,
                T($"There is a record '{order.Id.Trim()}' of another charge already ({before?.Value.StartedAt:yyyy-MM-dd HH:mm}): give this one another name."));
            var facts = p.Facts(
                order.Kind, order.FrontEndsIsolated, reading.FirstStepS, cutHoursAgo, reading.ColdestAtStartDegC, reading.HottestAtStartDegC, trail.RestPercent,
                ChargeAccount.PresenceMinutesAgo(reading, trail), order.People ?? ChargeAccount.PeopleSeen(reading, trail), !reading.AnySimulated);
            return p.Safety.Charge(ChargeAccount.Make(order, source, reading, trail, ChargeLadder.Preconditions(facts, p.Site.Limits), map, p.Site.Limits, who.At.Offset), who);
        });
    }

    private async Task<(TimeRange Range, string Source)> RangeAsync(ChargeOrder order, CancellationToken cancellation)
    {
        RefusedException.Unless(order.Run is null == (order.From is not null && order.To is not null), T("Say which charge: the number of a run of the log, or 'from' and 'to'."));
        if (order.Run is { } id)
        {
            var run = (await history.ReadRunsAsync(TimeRange.All, cancellation)).FirstOrDefault(r => r.Id == id) ?? throw new RefusedException(T($"The log has no run {id}: /history/runs lists them."));
            RefusedException.Unless(run.Kind == RunKind.Charge, T($"Run {id} is a {run.Kind.ToString().ToLowerInvariant()}, no charge."));
            RefusedException.Unless(run.ToUnixMs is not null, T($"Run {id} is not over yet: its record is made when it is."));
            return (Checked(run.FromUnixMs, run.ToUnixMs!.Value), T($"run {id} of the cell log, {(run.OpenedBy == Core.History.Runs.RunRecognition.By ? "recognised" : T($"marked by {run.OpenedBy}"))}"));
        }

        var range = Checked(order.From!.Value.ToUnixTimeMilliseconds(), order.To!.Value.ToUnixTimeMilliseconds());
        return (range, T($"cell log, {Words(range.FromUnixMs)} to {Words(range.ToUnixMs)}"));
    }

    private static TimeRange Checked(long fromMs, long toMs)
    {
        RefusedException.Unless(toMs > fromMs, T("The charge ended before it began: check the times."));
        RefusedException.Unless(toMs - fromMs <= LongestHours * 3_600_000, T($"{(toMs - fromMs) / 3_600_000.0:0} h is longer than a charge: give its own beginning and end."));
        return new TimeRange(fromMs, toMs + 1);
    }

    /// <summary>Charge level by the median cell of the last rest before the charge; NaN where there was none, or the curve does not tell.</summary>
    private async Task<double> RestPercentAsync(long beginMs, BenchSite site, CancellationToken cancellation)
    {
        double[]? cells = null;
        await foreach (var scan in history.ReadSnapshotsAsync(new TimeRange(beginMs - RestWithinMs, beginMs + 2_000), cancellation))
        {
            if (!scan.TryGetPackCurrentA(out var a) || Math.Abs(a) > ChargeReader.ZeroA) continue;
            cells = [.. Enumerable.Range(0, map.CellCount).Select(c => scan.TryGet(c, out var v) ? v : double.NaN).Where(double.IsFinite)];
        }

        return cells is { Length: > 0 } && site.Curve is { } curve ? Math.Round(curve.SocAt(Robust.Median(cells)).SocPercent, 1) : double.NaN;
    }

    private static string Words(long ms) => $"{DateTimeOffset.FromUnixTimeMilliseconds(ms):yyyy-MM-dd HH:mm:ss} UTC";
}
