namespace CellWatch.Mqtt;

/// <summary>Pauses between attempts: each twice the one before, up to a longest one.</summary>
/// <param name="first">The first pause.</param>
/// <param name="longest">The longest pause.</param>
internal sealed class GrowingPause(TimeSpan first, TimeSpan longest)
{
    private TimeSpan? _next;

    /// <summary>The pause to take now; the next one is longer.</summary>
    public TimeSpan Take()
    {
        var pause = _next ?? first;
        _next = pause > longest / 2 ? longest : pause * 2;
        return pause;
    }

    /// <summary>Begins again with the first.</summary>
    public void Reset() => _next = null;
}
