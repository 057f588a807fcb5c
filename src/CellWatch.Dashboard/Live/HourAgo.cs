using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Strips;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;

namespace CellWatch.Dashboard.Live;

/// <summary>How far each cell moved among the others in the last hour: a cell that still falls is told from one that is only low. Safe to call from any thread.</summary>
public interface IHourAgo
{
    /// <summary>Distance from the median of all cells in the last minute less that of the minute an hour before, V; NaN where the log does not know both.</summary>
    double MovedV(int cell);

    /// <summary>The pack's mean current in that minute, A, positive charging; NaN where it was not known.</summary>
    double PackCurrentA { get; }
}

/// <summary>Reads two minutes of the log, once a minute on the pack's clock. Means of a minute: the noise of single scans would look like a movement.</summary>
public sealed partial class HourAgo(ILiveView live, IHistory? history, ILogger<HourAgo> log) : BackgroundService, IHourAgo
{
    private const long HourMs = 3_600_000;
    private const long MinuteMs = 60_000;
    private static readonly TimeSpan LookEvery = TimeSpan.FromSeconds(2);

    private (double[] MovedV, double PackCurrentA) _read = ([], double.NaN);
    private long _readAtMs = long.MinValue / 2;

    /// <inheritdoc/>
    public double MovedV(int cell) => _read.MovedV is { } all && cell < all.Length ? all[cell] : double.NaN;

    /// <inheritdoc/>
    public double PackCurrentA => _read.PackCurrentA;

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (history is null) return;
        using var timer = new PeriodicTimer(LookEvery);
        while (await timer.WaitForNextTickAsync(stoppingToken).ConfigureAwait(false))
            if (live.Latest is { } state && Math.Abs(state.Snapshot.Time.WallUnixMs - _readAtMs) >= MinuteMs) await ReadAsync(history, state, stoppingToken).ConfigureAwait(false);
    }

    /// <summary>Reads the minute before a state and the one an hour earlier. What cannot be read is not known.</summary>
    public async Task ReadAsync(IHistory from, PackState state, CancellationToken cancellation)
    {
        var (map, now) = (state.Snapshot.Map, state.Snapshot.Time.WallUnixMs);
        _readAtMs = now;
        try
        {
            var (then, thenA) = await MinuteAsync(now - HourMs).ConfigureAwait(false);
            var (last, _) = await MinuteAsync(now).ConfigureAwait(false);
            _read = ([.. last.Select((v, cell) => v - then[cell])], thenA);
        }
        catch (Exception e) when (e is IOException or InvalidOperationException)
        {
            _read = ([], double.NaN);
            LogNotRead(e.Message);
        }

        // Each cell's distance from the median and the current, as means of the minute before; NaN where the log has nothing.
        async Task<(double[] DeviationV, double CurrentA)> MinuteAsync(long toMs)
        {
            var range = new TimeRange(toMs - MinuteMs, toMs + 1);
            var crowd = new Crowd(await from.ReadTracesAsync(new TraceQuery([.. Enumerable.Range(0, map.CellCount).Select(map.NameOf)], range, 1), cancellation).ConfigureAwait(false));
            var current = await from.ReadTracesAsync(new TraceQuery([map.NameOf(map.PackCurrent)], range, 1), cancellation).ConfigureAwait(false);
            var last = crowd.Columns.Count - 1;
            return ([.. Enumerable.Range(0, map.CellCount).Select(c => last < 0 ? double.NaN : crowd.DeviationV(c, last))], current.Columns.Count > 0 ? current.Channels[0].Mean[^1] : double.NaN);
        }
    }

    [LoggerMessage(Level = LogLevel.Warning, Message = "Where the cells lay an hour ago is not known: the log could not be read ({Reason})")]
    private partial void LogNotRead(string reason);
}
