namespace CellWatch.FrontEnds.Running;

/// <summary>Counts events over the last whole seconds. No allocation after construction. Not thread-safe.</summary>
internal sealed class RateWindow(int seconds)
{
    private readonly int[] _counts = new int[seconds];
    private long _second = long.MinValue;

    public void Add(long elapsedUs)
    {
        MoveTo(elapsedUs / 1_000_000);
        _counts[(int)(_second % seconds)]++;
    }

    public int Count(long elapsedUs)
    {
        MoveTo(elapsedUs / 1_000_000);
        var sum = 0;
        foreach (var count in _counts) sum += count;
        return sum;
    }

    private void MoveTo(long second)
    {
        if (second <= _second) return;
        if (_second == long.MinValue || second - _second >= seconds) _counts.AsSpan().Clear();
        else
            for (var s = _second + 1; s <= second; s++) _counts[(int)(s % seconds)] = 0;
        _second = second;
    }
}
