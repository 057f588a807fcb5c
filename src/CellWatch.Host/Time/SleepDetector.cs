namespace CellWatch.Host.Time;

/// <summary>
/// Notices that the machine slept: elapsed time has run ahead of running time by more than 2 s since the last look.
/// After a sleep nothing that was read before may stand, and every count has a gap.
/// </summary>
public sealed class SleepDetector
{
    /// <summary>Smallest difference that counts as a sleep, µs.</summary>
    public const long ThresholdUs = 2_000_000;

    private long? _aheadUs;

    /// <summary>Looks at both clocks.</summary>
    /// <param name="elapsedUs">Time including sleep, µs.</param>
    /// <param name="runningUs">Time without sleep, µs.</param>
    /// <param name="sleptUs">How long it slept since the last look.</param>
    /// <returns>Whether it slept.</returns>
    public bool Slept(long elapsedUs, long runningUs, out long sleptUs)
    {
        var ahead = elapsedUs - runningUs;
        sleptUs = _aheadUs is { } before ? ahead - before : 0;
        if (_aheadUs is not null && sleptUs <= ThresholdUs) return false;
        var first = _aheadUs is null;
        _aheadUs = ahead;
        return !first;
    }
}
