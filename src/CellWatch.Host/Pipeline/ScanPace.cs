using CellWatch.Core.Snapshots;
using CellWatch.Core.Waking;

namespace CellWatch.Host.Pipeline;

/// <summary>
/// When the next scan is taken. The set rate rules, and within it the scan follows the boards: once every board that speaks has said
/// all it usually says, a scan near its time is taken at once, so that it holds one round of each board and waits for nothing. A board
/// that is silent, slow or incomplete is not waited for: then the set rate alone decides.
/// </summary>
public sealed class ScanPace : IDisposable
{
    /// <summary>Earliest scan after the one before, as a part of the period, when the last board has just spoken.</summary>
    public const double EarliestPart = 0.9;

    /// <summary>
    /// Scan after the one before, as a part of the period, when all had spoken long before: scans drift slowly towards the moment
    /// at which the boards have just spoken, and a board much faster than the set rate hurries them by no more than this.
    /// </summary>
    public const double DriftPart = 0.98;

    /// <summary>Latest scan after one that followed the boards, as a part of the period: their own clocks may be this much slow.</summary>
    public const double LatestPart = 1.25;

    private readonly TimeProvider _time;
    private readonly TimeSpan _period;
    private readonly IReadOnlyList<ReadingInbox> _inboxes;
    private readonly long[] _groups;
    private readonly bool[] _speaks;
    private readonly Bell _bell = new();
    private readonly ITimer _timer;
    private long _last;
    private bool _follows;
    private bool _wereEarly;

    /// <param name="inboxes">The boards.</param>
    /// <param name="period">The set time between scans.</param>
    /// <param name="time">The clock of both.</param>
    public ScanPace(IReadOnlyList<ReadingInbox> inboxes, TimeSpan period, TimeProvider time)
    {
        _inboxes = inboxes;
        _period = period;
        _time = time;
        _groups = new long[inboxes.Count];
        _speaks = new bool[inboxes.Count];
        _last = time.GetTimestamp();
        _timer = time.CreateTimer(_ => _bell.Ring(), null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
        foreach (var inbox in inboxes) inbox.Completed += _bell.Ring;
    }

    /// <summary>Waits until the next scan is to be taken.</summary>
    public async ValueTask WaitAsync(CancellationToken cancellation)
    {
        while (!IsDue(out var wait))
        {
            _timer.Change(wait, Timeout.InfiniteTimeSpan);
            await _bell.WaitAsync(cancellation);
        }
    }

    /// <summary>Whether a scan is to be taken now, and counts it as taken; else how long it can wait if no board speaks.</summary>
    public bool IsDue(out TimeSpan wait)
    {
        var since = _time.GetElapsedTime(_last);
        var complete = AllComplete();
        _wereEarly |= complete && since < _period * EarliestPart;
        var clock = _follows ? _period * LatestPart : _period;
        var due = complete ? _period * (_wereEarly ? DriftPart : EarliestPart) : clock;
        wait = due - since;
        if (wait > TimeSpan.Zero) return false;
        Took(follows: complete, complete ? TimeSpan.Zero : since - clock);
        return true;
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        foreach (var inbox in _inboxes) inbox.Completed -= _bell.Ring;
        _timer.Dispose();
        _bell.Dispose();
    }

    private bool AllComplete()
    {
        var any = false;
        for (var i = 0; i < _inboxes.Count; i++)
        {
            if (!_speaks[i] && _inboxes[i].Groups == _groups[i]) continue;
            if (!_inboxes[i].IsComplete) return false;
            any = true;
        }

        return any;
    }

    /// <summary>A scan by the clock keeps to the clock's own grid unless it came far too late; one that follows sets a new grid.</summary>
    private void Took(bool follows, TimeSpan late)
    {
        _last = _time.GetTimestamp() - (late < _period / 2 ? (long)(late.TotalSeconds * _time.TimestampFrequency) : 0);
        _follows = follows;
        _wereEarly = false;
        for (var i = 0; i < _inboxes.Count; i++)
        {
            var groups = _inboxes[i].Groups;
            _speaks[i] = groups != _groups[i];
            _groups[i] = groups;
        }
    }
}
