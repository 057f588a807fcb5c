namespace CellWatch.Simulation.Time;

/// <summary>
/// A clock that runs faster than real time: wall clock, time stamps and timers all scaled by one factor, so that everything that takes its
/// time from it runs a story at that pace. It can stand still (<see cref="Hold"/>) and it can leap: <see cref="Advance"/> moves it on at once, and every timer that came due
/// in between fires once, <see cref="Grace"/> later. It can be led (<see cref="LetRun"/>), so that it waits for a machine that is too slow for its
/// pace. Safe for any number of threads.
/// </summary>
public sealed class ScaledTimeProvider : TimeProvider
{
    /// <summary>
    /// Real time between a leap and the timers that came due in it: whoever they wake to look for news finds what was said right after
    /// the leap, and not hours of silence.
    /// </summary>
    public static readonly TimeSpan Grace = TimeSpan.FromMilliseconds(20);

    private readonly Lock _gate = new();
    private readonly TimeProvider _inner;
    private readonly long _innerStart;
    private readonly DateTimeOffset _start;
    private readonly HashSet<ScaledTimer> _armed = [];
    private TimeSpan _leapt;
    private TimeSpan _heldFor;
    private TimeSpan? _heldAt;
    private TimeSpan? _until;

    /// <param name="factor">Scaled seconds in one real second, above 0.</param>
    /// <param name="start">What its wall clock shows at first; null: what the real one shows.</param>
    /// <param name="inner">The real clock; null for the system's.</param>
    public ScaledTimeProvider(double factor, DateTimeOffset? start = null, TimeProvider? inner = null)
    {
        if (!(factor > 0) || !double.IsFinite(factor)) throw new ArgumentOutOfRangeException(nameof(factor), factor, "A time factor must lie above 0.");
        Factor = factor;
        _inner = inner ?? System;
        _innerStart = _inner.GetTimestamp();
        _start = start ?? _inner.GetUtcNow();
    }

    /// <summary>Scaled seconds in one real second.</summary>
    public double Factor { get; }

    /// <summary>Scaled time since it was made, leaps included.</summary>
    public TimeSpan Elapsed
    {
        get
        {
            lock (_gate) return _until is { } until && until < Unled ? until : Unled;
        }
    }

    private TimeSpan Unled => ((_heldAt ?? _inner.GetElapsedTime(_innerStart)) - _heldFor) * Factor + _leapt;

    /// <inheritdoc/>
    public override long TimestampFrequency => TimeSpan.TicksPerSecond;

    /// <inheritdoc/>
    public override TimeZoneInfo LocalTimeZone => _inner.LocalTimeZone;

    /// <inheritdoc/>
    public override DateTimeOffset GetUtcNow() => _start + Elapsed;

    /// <inheritdoc/>
    public override long GetTimestamp() => Elapsed.Ticks;

    /// <summary>Stands still until <see cref="Resume"/>: what has to be made ready first takes no time of the story.</summary>
    public void Hold()
    {
        lock (_gate) _heldAt ??= _inner.GetElapsedTime(_innerStart);
    }

    /// <summary>Goes on from where it was held; nothing if it runs.</summary>
    public void Resume()
    {
        ScaledTimer[] armed;
        lock (_gate)
        {
            if (_heldAt is not { } at) return;
            _heldFor += _inner.GetElapsedTime(_innerStart) - at;
            _heldAt = null;
            armed = [.. _armed];
        }

        foreach (var timer in armed) timer.Rearm();
    }

    /// <summary>
    /// Lets it run on by this much at most until it is let run again; real time lost at that end is not made up for. Called by whoever does
    /// the work of each step: on a machine too busy for the pace, a second of real silence would be many of the story's.
    /// </summary>
    /// <param name="by">Scaled time from now, above 0.</param>
    public void LetRun(TimeSpan by)
    {
        ArgumentOutOfRangeException.ThrowIfLessThanOrEqual(by, TimeSpan.Zero);
        lock (_gate)
        {
            if (_until is { } until && Unled > until) _heldFor += (Unled - until) / Factor;
            _until = Unled + by;
        }
    }

    /// <summary>Leaps ahead.</summary>
    /// <param name="by">Scaled time, 0 or more.</param>
    public void Advance(TimeSpan by)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(by, TimeSpan.Zero);
        ScaledTimer[] armed;
        lock (_gate)
        {
            _leapt += by;
            _until += by;
            armed = [.. _armed];
        }

        foreach (var timer in armed) timer.Rearm();
    }

    /// <inheritdoc/>
    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period)
    {
        var timer = new ScaledTimer(this, callback, state);
        timer.Change(dueTime, period);
        return timer;
    }

    // A timer must never fire before its scaled time, and the system's timers cut off parts of a millisecond: round up.
    private TimeSpan InnerDelay(TimeSpan scaled) =>
        TimeSpan.FromMilliseconds(Math.Ceiling(Math.Max(0, scaled.TotalMilliseconds / Factor)));

    private sealed class ScaledTimer : ITimer
    {
        private readonly Lock _gate = new();
        private readonly ScaledTimeProvider _clock;
        private readonly TimerCallback _callback;
        private readonly object? _state;
        private readonly ITimer _inner;
        private TimeSpan? _due;
        private TimeSpan _period = Timeout.InfiniteTimeSpan;
        private bool _disposed;

        public ScaledTimer(ScaledTimeProvider clock, TimerCallback callback, object? state)
        {
            (_clock, _callback, _state) = (clock, callback, state);
            _inner = clock._inner.CreateTimer(static timer => ((ScaledTimer)timer!).Fire(), this, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
        }

        public bool Change(TimeSpan dueTime, TimeSpan period)
        {
            lock (_gate)
            {
                if (_disposed) return false;
                _due = dueTime == Timeout.InfiniteTimeSpan ? null : _clock.Elapsed + dueTime;
                _period = period == TimeSpan.Zero ? Timeout.InfiniteTimeSpan : period;
                Arm();
            }

            return true;
        }

        public void Dispose()
        {
            lock (_gate)
            {
                _disposed = true;
                _due = null;
                Arm();
            }

            _inner.Dispose();
        }

        public ValueTask DisposeAsync()
        {
            Dispose();
            return ValueTask.CompletedTask;
        }

        public void Rearm()
        {
            lock (_gate)
                if (!_disposed) Arm(Grace);
        }

        private void Fire()
        {
            lock (_gate)
            {
                if (_due is not { } due) return;
                var now = _clock.Elapsed;
                if (now < due)
                {
                    Arm();
                    return;
                }

                // Periods missed in a leap are not made up for.
                _due = _period == Timeout.InfiniteTimeSpan ? null : due + _period > now ? due + _period : now + _period;
                Arm();
            }

            _callback(_state);
        }

        private void Arm(TimeSpan notBefore = default)
        {
            lock (_clock._gate)
            {
                if (_due is null) _clock._armed.Remove(this);
                else _clock._armed.Add(this);
            }

            if (_disposed) return;
            var delay = _due is { } due ? _clock.InnerDelay(due - _clock.Elapsed) : Timeout.InfiniteTimeSpan;
            _inner.Change(_due is not null && delay < notBefore ? notBefore : delay, Timeout.InfiniteTimeSpan);
        }
    }
}
