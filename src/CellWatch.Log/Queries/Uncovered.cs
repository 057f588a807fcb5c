namespace CellWatch.Log.Queries;

/// <summary>Log time of a question that no block has answered yet.</summary>
internal sealed class Uncovered(IReadOnlyCollection<LogRange> stretches)
{
    private readonly LogRange[] _asked = [.. stretches];
    private readonly List<LogRange> _left = [.. stretches];

    /// <summary>What is left, oldest first.</summary>
    public LogRange[] Left => [.. _left];

    /// <summary>Whether an instant is still unanswered.</summary>
    public bool Contains(long us)
    {
        foreach (var range in _left)
            if (us < range.ToUs) return us >= range.FromUs;
        return false;
    }

    /// <summary>The first instant of a bucket that is still unanswered; null where none is.</summary>
    public long? FirstIn(long us, long lengthUs)
    {
        foreach (var range in _left)
            if (us < range.ToUs) return us + lengthUs > range.FromUs ? Math.Max(us, range.FromUs) : null;
        return null;
    }

    /// <summary>Whether a bucket lies wholly within what was asked.</summary>
    public bool IsAskedWhole(long us, long lengthUs) => Array.Exists(_asked, r => us >= r.FromUs && us + lengthUs <= r.ToUs);

    /// <summary>Takes a range away: it is answered.</summary>
    public void Remove(long fromUs, long toUs)
    {
        for (var i = _left.Count - 1; i >= 0; i--)
        {
            var range = _left[i];
            if (range.ToUs <= fromUs) break;
            if (range.FromUs >= toUs) continue;
            _left.RemoveAt(i);
            if (range.ToUs > toUs) _left.Insert(i, range with { FromUs = toUs });
            if (range.FromUs < fromUs) _left.Insert(i, range with { ToUs = fromUs });
        }
    }
}
