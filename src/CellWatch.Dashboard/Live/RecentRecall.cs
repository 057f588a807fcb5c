using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Texts;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;

namespace CellWatch.Dashboard.Live;

/// <summary>
/// Starts the short memory with the program rather than with the first page, and fills its gaps from the log: what was before the start,
/// and what a leap of a simulated pack skipped. The log may still be writing when first asked, so a gap is asked for a few times; where the
/// log has nothing then either, it stays a gap.
/// </summary>
public sealed partial class RecentRecall(RecentStrip strip, ILiveView live, IHistory? history, ILogger<RecentRecall> log) : BackgroundService
{
    private const long ReachMs = 8 * 3_600_000;
    private const long DayMs = 86_400_000;
    private const long ColumnMs = 5_000;
    private static readonly TimeSpan LookEvery = TimeSpan.FromSeconds(2);

    private const int MostTries = 5;

    private readonly Dictionary<long, int> _tries = [];
    private readonly HashSet<long> _staysGap = [];

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (history is null) return;
        using var timer = new PeriodicTimer(LookEvery);
        while (await timer.WaitForNextTickAsync(stoppingToken).ConfigureAwait(false))
        {
            if (live.Latest is not { } state || strip.LongestGap(state.Snapshot.Time.WallUnixMs - ReachMs, _staysGap) is not { } gap) continue;
            var tries = _tries[gap.ToUnixMs] = _tries.GetValueOrDefault(gap.ToUnixMs) + 1;
            if (tries >= MostTries) _staysGap.Add(gap.ToUnixMs);
            try
            {
                await FillAsync(strip, history, state.Snapshot.Map, gap, stoppingToken).ConfigureAwait(false);
            }
            catch (Exception e) when (e is IOException or InvalidOperationException)
            {
                LogNotRecalled(e.Message);
            }
        }
    }

    /// <summary>Reads a stretch from the log into the strip.</summary>
    public static async Task FillAsync(RecentStrip strip, IHistory history, ChannelMap map, (long FromUnixMs, long ToUnixMs) gap, CancellationToken cancellation)
    {
        var range = new TimeRange(gap.FromUnixMs, gap.ToUnixMs);
        var columns = (int)Math.Clamp(range.LengthMs / ColumnMs, 1, ReachMs / ColumnMs);
        var cells = await history.ReadEnvelopeAsync(EnvelopeOf.Cells, range, columns, cancellation).ConfigureAwait(false);
        var traces = await history.ReadTracesAsync(new TraceQuery([map.NameOf(map.PackCurrent)], range, columns), cancellation).ConfigureAwait(false);
        var currents = new Dictionary<long, double>();
        for (var i = 0; i < traces.Columns.Count; i++) currents[traces.Columns.StartUnixMs[i]] = traces.Channels[0].Mean[i];
        var points = new List<RecentPoint>(cells.Columns.Count);
        for (var i = 0; i < cells.Columns.Count; i++)
        {
            var at = cells.Columns.StartUnixMs[i];
            points.Add(new RecentPoint(at, cells.Max[i] - cells.Min[i], currents.GetValueOrDefault(at, double.NaN)));
        }

        var steps = await history.ReadAlarmsAsync(new TimeRange(gap.ToUnixMs - DayMs, gap.ToUnixMs), cancellation: cancellation).ConfigureAwait(false);
        strip.Recall(points, steps.Select(s => s.Transition).Where(RecentStrip.Raised)
            .Select(t => new RecentAlarm(t.WallUnixMs, Words.StateOf(t.Alarm), t.Id, t.Alarm.Place, t.Alarm.Priority, t.Alarm.Message)));
    }

    [LoggerMessage(Level = LogLevel.Warning, Message = "The time foot starts without its past: the log could not be read ({Reason})")]
    private partial void LogNotRecalled(string reason);
}
