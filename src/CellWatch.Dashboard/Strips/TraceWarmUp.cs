using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Live;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;

namespace CellWatch.Dashboard.Strips;

/// <summary>
/// Reads a short stretch of the log once, soon after the first scan, and throws it away: the code that reads and prepares a view is then
/// compiled before a person opens Traces. Without it the first opening after a start takes about twice as long as the second.
/// </summary>
public sealed partial class TraceWarmUp(ILiveView live, IHistory? history, ILogger<TraceWarmUp> log) : BackgroundService
{
    private const long StretchMs = 600_000;
    private static readonly TimeSpan LookEvery = TimeSpan.FromSeconds(1);

    // The start itself has more urgent things to do.
    private static readonly TimeSpan After = TimeSpan.FromSeconds(3);

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (history is null) return;
        PackState? state;
        while ((state = live.Latest) is null) await Task.Delay(LookEvery, stoppingToken).ConfigureAwait(false);
        await Task.Delay(After, stoppingToken).ConfigureAwait(false);
        await ReadOnceAsync(history, state, stoppingToken).ConfigureAwait(false);
    }

    /// <summary>Reads the last minutes before a scan as a view is read, and prepares them for the browser. A log that cannot be read is a line at the level Debug.</summary>
    public async Task ReadOnceAsync(IHistory from, PackState state, CancellationToken cancellation)
    {
        try
        {
            var map = state.Snapshot.Map;
            var now = state.Snapshot.Time.WallUnixMs;
            var address = TraceAddress.Read(null, null, null, (new TimeRange(now - StretchMs, now), [map.NameOf(0)]), map);
            var reading = await TraceReading.LoadAsync(from, map, address, 0, cancellation).ConfigureAwait(false);
            _ = StripSheet.Of(reading).ToBytes();
            _ = Carpet.Of(reading.Crowd, address.Range, address.Filter.Cells(reading));
        }
        catch (Exception e) when (e is IOException or InvalidOperationException)
        {
            // Nobody waits for it, and the page says it when the log cannot be read then.
            LogCold(e.Message);
        }
    }

    [LoggerMessage(Level = LogLevel.Debug, Message = "Traces opens cold: the log could not be read ({Reason})")]
    private partial void LogCold(string reason);
}
