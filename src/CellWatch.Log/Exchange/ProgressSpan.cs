using CellWatch.Core.History;

namespace CellWatch.Log.Exchange;

/// <summary>How far a pass through history is, by time; said at most a hundred times.</summary>
internal sealed class ProgressSpan
{
    private readonly IProgress<double>? _progress;
    private readonly long _fromMs;
    private readonly long _lengthMs;
    private int _hundredths = -1;

    private ProgressSpan(IProgress<double>? progress, long fromMs, long lengthMs) => (_progress, _fromMs, _lengthMs) = (progress, fromMs, Math.Max(1, lengthMs));

    public static async Task<ProgressSpan> OfAsync(IHistory history, TimeRange range, IProgress<double>? progress, CancellationToken cancellation)
    {
        if (progress is null || (await history.ReadStorageAsync(cancellation)).Recorded is not { } recorded) return new ProgressSpan(null, 0, 1);
        var from = Math.Max(range.FromUnixMs, recorded.FromUnixMs);
        return new ProgressSpan(progress, from, Math.Min(range.ToUnixMs, recorded.ToUnixMs) - from);
    }

    public void Report(long wallUnixMs)
    {
        if (_progress is null) return;
        var hundredths = (int)Math.Clamp(100 * (wallUnixMs - _fromMs) / _lengthMs, 0, 100);
        if (hundredths <= _hundredths) return;
        _hundredths = hundredths;
        _progress.Report(hundredths / 100.0);
    }
}
