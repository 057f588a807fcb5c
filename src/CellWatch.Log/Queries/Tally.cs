namespace CellWatch.Log.Queries;

/// <summary>
/// How many snapshots have answered for each stretch of 10 s of log time. A coarser roll-up stands in for what is lost or thinned, never for a
/// pause: where it counts no more snapshots than have answered already, nothing is lacking.
/// </summary>
internal sealed class Tally
{
    private const long StretchUs = 10_000_000;

    private readonly Dictionary<long, int> _counts = [];
    private (long Stretch, int Count) _current = (long.MinValue, 0);

    /// <summary>Counts snapshots of an instant, or of a bucket that begins there.</summary>
    public void Add(long us, int snapshots)
    {
        var stretch = StretchOf(us);
        // Most snapshots fall into the stretch of the one before: the dictionary is asked once a stretch.
        if (stretch != _current.Stretch)
        {
            Settle();
            _current = (stretch, 0);
        }

        _current.Count += snapshots;
    }

    /// <summary>Snapshots counted in a bucket of a whole number of stretches.</summary>
    public int In(long us, long lengthUs)
    {
        Settle();
        var sum = 0;
        for (var s = StretchOf(us); s < StretchOf(us + lengthUs); s++) sum += _counts.GetValueOrDefault(s);
        return sum;
    }

    private void Settle()
    {
        if (_current.Count == 0) return;
        _counts[_current.Stretch] = _counts.GetValueOrDefault(_current.Stretch) + _current.Count;
        _current.Count = 0;
    }

    private static long StretchOf(long us) => us >= 0 ? us / StretchUs : -((-us + StretchUs - 1) / StretchUs);
}
