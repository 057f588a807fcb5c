using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Dashboard.Texts;
using Microsoft.Extensions.Hosting;

namespace CellWatch.Dashboard.Live;

/// <summary>One point of the short memory behind the live pages.</summary>
/// <param name="UnixMs">When, ms since 1970.</param>
/// <param name="SpreadV">Spread, V; NaN where it was not known.</param>
/// <param name="PackCurrentA">Current, A, positive charging; NaN where it was not known.</param>
public readonly record struct RecentPoint(long UnixMs, double SpreadV, double PackCurrentA);

/// <summary>An alarm that was raised, for the time foot and the day rule.</summary>
/// <param name="UnixMs">When.</param>
/// <param name="State">The state word it carries.</param>
/// <param name="Id">The alarm.</param>
/// <param name="Place">Its place in words.</param>
/// <param name="Priority">How urgent.</param>
/// <param name="What">What was the matter, in one sentence.</param>
public readonly record struct RecentAlarm(long UnixMs, StateWord State, string Id, string Place, AlarmPriority Priority, string What = "");

/// <summary>
/// What the live pages remember of the last hours without asking the log: the time foot's sparkline, the charge's current and the
/// day's alarms. Times without a point are gaps. Safe to call from any thread.
/// </summary>
public interface IRecentStrip
{
    /// <summary>Points since a time, oldest first, at least <paramref name="stepMs"/> apart.</summary>
    IReadOnlyList<RecentPoint> Points(long sinceUnixMs, long stepMs);

    /// <summary>Alarms raised since a time, oldest first.</summary>
    IReadOnlyList<RecentAlarm> Alarms(long sinceUnixMs);

    /// <summary>Longest time between two points that still belong together, ms; a longer one is a gap.</summary>
    long GapAfterMs { get; }
}

/// <summary>
/// Keeps a ring of points taken from the published states: one every 5 s on the pack's clock for eight hours, and the alarms of a day.
/// </summary>
public sealed class RecentStrip : IRecentStrip, IDisposable
{
    private const int MaxPoints = 8 * 3600 / 5;
    private const long StepMs = 5_000;
    private const long DayMs = 86_400_000;
    private const int MaxAlarms = 2_000;

    private readonly ILiveView _live;
    private readonly Lock _lock = new();
    private readonly Queue<RecentPoint> _points = new();
    private readonly Queue<RecentAlarm> _alarms = new();
    private long _lastMs = long.MinValue;
    private long _lastSequence;

    /// <param name="live">The newest state.</param>
    public RecentStrip(ILiveView live)
    {
        _live = live;
        _live.Changed += Take;
    }

    /// <inheritdoc/>
    public long GapAfterMs => 6 * StepMs;

    /// <summary>
    /// Puts in what the log knows and the pages have not seen: from before the start, or from hours that a leap of a simulated pack
    /// skipped. What was seen live stays.
    /// </summary>
    public void Recall(IEnumerable<RecentPoint> points, IEnumerable<RecentAlarm> alarms)
    {
        lock (_lock)
        {
            var live = _points.ToArray();
            var seen = new HashSet<long>(live.Select(p => p.UnixMs / StepMs));
            var all = live.Concat(points.Where(p => !seen.Contains(p.UnixMs / StepMs))).OrderBy(p => p.UnixMs).TakeLast(MaxPoints).ToList();
            _points.Clear();
            foreach (var point in all) _points.Enqueue(point);
            if (_points.Count > 0) _lastMs = Math.Max(_lastMs, all[^1].UnixMs);

            var together = _alarms.Concat(alarms).DistinctBy(a => (a.Id, a.UnixMs)).OrderBy(a => a.UnixMs).TakeLast(MaxAlarms).ToList();
            _alarms.Clear();
            foreach (var alarm in together) _alarms.Enqueue(alarm);
        }
    }

    /// <summary>The longest stretch without a point that ends after a time; null where there is none longer than a gap. For whoever can recall it.</summary>
    /// <param name="sinceUnixMs">Older points are not looked at.</param>
    /// <param name="known">Ends of gaps that are known to stay gaps.</param>
    public (long FromUnixMs, long ToUnixMs)? LongestGap(long sinceUnixMs, IReadOnlySet<long>? known = null)
    {
        lock (_lock)
        {
            (long From, long To)? longest = null;
            var before = sinceUnixMs;
            foreach (var point in _points)
            {
                if (point.UnixMs < sinceUnixMs) continue;
                if (point.UnixMs - before > GapAfterMs && known?.Contains(point.UnixMs) != true && (longest is not { } l || point.UnixMs - before > l.To - l.From)) longest = (before, point.UnixMs);
                before = point.UnixMs;
            }

            return longest;
        }
    }

    /// <inheritdoc/>
    public IReadOnlyList<RecentPoint> Points(long sinceUnixMs, long stepMs)
    {
        lock (_lock)
        {
            var result = new List<RecentPoint>();
            var last = long.MinValue;
            foreach (var point in _points)
            {
                if (point.UnixMs < sinceUnixMs || last != long.MinValue && point.UnixMs - last < stepMs) continue;
                result.Add(point);
                last = point.UnixMs;
            }

            return result;
        }
    }

    /// <inheritdoc/>
    public IReadOnlyList<RecentAlarm> Alarms(long sinceUnixMs)
    {
        lock (_lock) return [.. _alarms.Where(a => a.UnixMs >= sinceUnixMs)];
    }

    /// <inheritdoc/>
    public void Dispose() => _live.Changed -= Take;

    private void Take()
    {
        if (_live.Latest is not { } state) return;
        lock (_lock)
        {
            if (state.Snapshot.Sequence == _lastSequence) return;
            _lastSequence = state.Snapshot.Sequence;
            var now = state.Snapshot.Time.WallUnixMs;
            // A clock that stepped back starts a new stretch: a line must not run backwards.
            if (now < _lastMs)
            {
                _points.Clear();
                _lastMs = long.MinValue;
            }

            foreach (var step in state.Transitions)
            {
                if (!Raised(step)) continue;
                _alarms.Enqueue(new RecentAlarm(step.WallUnixMs, Words.StateOf(step.Alarm), step.Id, step.Alarm.Place, step.Alarm.Priority, step.Alarm.Message));
                if (_alarms.Count > MaxAlarms) _alarms.Dequeue();
            }

            while (_alarms.Count > 0 && _alarms.Peek().UnixMs < now - DayMs) _alarms.Dequeue();
            if (_lastMs != long.MinValue && now - _lastMs < StepMs) return;
            _lastMs = now;
            state.Snapshot.TryGetPackCurrentA(out var currentA);
            _points.Enqueue(new RecentPoint(now, state.Summary.SpreadV ?? double.NaN, currentA));
            if (_points.Count > MaxPoints) _points.Dequeue();
        }
    }

    /// <summary>Whether a step raises an alarm that stands for itself.</summary>
    internal static bool Raised(AlarmTransition step) =>
        step.To == AlarmState.Unacknowledged && step.From is AlarmState.Normal or AlarmState.ReturnedUnacknowledged && step.Alarm.GroupedUnder.Length == 0;
}
