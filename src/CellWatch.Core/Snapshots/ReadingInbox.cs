namespace CellWatch.Core.Snapshots;

/// <summary>
/// Where one front end leaves what it decoded. The port's task posts, the assembler takes the latest of each channel at its own rate;
/// neither waits for the other beyond the copy itself. No allocation after construction.
/// </summary>
public sealed class ReadingInbox
{
    private readonly Lock _lock = new();
    private readonly double[] _value;
    private readonly ReadingMark[] _mark;
    private readonly long[] _arrivedUs;
    private readonly bool[] _seen;
    private readonly bool[] _fresh;
    private readonly bool _isSimulatedForGood;
    private long _groups;
    private int _seenCount;
    private int _freshCount;

    /// <param name="map">The pack's channels.</param>
    /// <param name="name">The front end's name, for messages.</param>
    /// <param name="origin">Where its values come from.</param>
    public ReadingInbox(ChannelMap map, string name, Origin origin)
    {
        Name = name;
        Origin = origin;
        _isSimulatedForGood = origin == Origin.Simulated;
        _value = new double[map.Count];
        _mark = new ReadingMark[map.Count];
        _arrivedUs = new long[map.Count];
        _seen = new bool[map.Count];
        _fresh = new bool[map.Count];
    }

    /// <summary>The front end's name.</summary>
    public string Name { get; }

    /// <summary>Where its values come from.</summary>
    public Origin Origin { get; private set; }

    /// <summary>Groups posted so far.</summary>
    public long Groups => Interlocked.Read(ref _groups);

    /// <summary>Called, on the port's task, when the last channel this front end is known by has come since the last scan.</summary>
    public Action? Completed { get; set; }

    /// <summary>Whether every channel heard so far has been heard again since the last scan; false while none was.</summary>
    public bool IsComplete
    {
        get
        {
            lock (_lock) return _seenCount > 0 && _freshCount == _seenCount;
        }
    }

    /// <summary>Leaves one decoded group (one message or sentence), all of it taken at the same instant.</summary>
    /// <param name="group">The readings; channels outside the map throw.</param>
    /// <param name="arrivedUs">Elapsed time of arrival, µs, on the clock the assembler is given.</param>
    public void Post(ReadOnlySpan<Reading> group, long arrivedUs)
    {
        bool completed;
        lock (_lock)
        {
            var wasComplete = _seenCount > 0 && _freshCount == _seenCount;
            foreach (ref readonly var reading in group)
            {
                _value[reading.Channel] = reading.Value;
                _mark[reading.Channel] = reading.Mark;
                _arrivedUs[reading.Channel] = arrivedUs;
                Count(_seen, reading.Channel, ref _seenCount);
                Count(_fresh, reading.Channel, ref _freshCount);
            }

            completed = !wasComplete && _freshCount == _seenCount;
        }

        Interlocked.Increment(ref _groups);
        if (completed) Completed?.Invoke();
    }

    /// <summary>
    /// The front end has said where its values come from; holds for everything it posts from now on and for what stands. An inbox that was made
    /// for a simulation stays simulated whatever the board says.
    /// </summary>
    public void Declare(Origin origin)
    {
        lock (_lock) Origin = _isSimulatedForGood ? Origin.Simulated : origin;
    }

    /// <summary>Whether every one of these channels has been heard at least once.</summary>
    public bool HasHeard(ReadOnlySpan<int> channels)
    {
        lock (_lock)
        {
            foreach (var channel in channels)
                if (!_seen[channel]) return false;
            return true;
        }
    }

    /// <summary>
    /// Forgets everything: the device that posted it is gone or has turned out to be another one, so nothing it said may stand.
    /// </summary>
    public void Forget()
    {
        lock (_lock)
        {
            _seen.AsSpan().Clear();
            _seenCount = 0;
            ForgetFresh();
        }
    }

    /// <summary>Copies the latest of each channel this front end has posted into the snapshot, the newer of two sources winning.</summary>
    internal void DrainInto(SnapshotBuffer snapshot, Span<long> newestUs)
    {
        lock (_lock)
        {
            ForgetFresh();
            for (var channel = 0; channel < _seen.Length; channel++)
            {
                if (!_seen[channel] || _arrivedUs[channel] < newestUs[channel]) continue;
                newestUs[channel] = _arrivedUs[channel];
                snapshot.Values[channel] = _value[channel];
                snapshot.Origins[channel] = Origin;
                snapshot.Qualities[channel] = _mark[channel] switch
                {
                    ReadingMark.Good => double.IsFinite(_value[channel]) ? Quality.Good : Quality.OutOfRange,
                    ReadingMark.OutOfRange => Quality.OutOfRange,
                    ReadingMark.Open => Quality.Open,
                    _ => Quality.Missing,
                };
            }
        }
    }

    private static void Count(bool[] flags, int channel, ref int count)
    {
        if (flags[channel]) return;
        flags[channel] = true;
        count++;
    }

    private void ForgetFresh()
    {
        _fresh.AsSpan().Clear();
        _freshCount = 0;
    }
}
