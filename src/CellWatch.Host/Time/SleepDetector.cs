using System.Globalization;
using CellWatch.Core.Snapshots;

namespace CellWatch.Host.Time;

/// <summary>
/// Notices that the machine slept: elapsed time has run ahead of running time by more than 2 s since the last look.
/// After a sleep nothing that was read before may stand, and every count has a gap.
/// </summary>
public sealed class SleepDetector
{
    /// <summary>Smallest difference that counts as a sleep, µs.</summary>
    public const long ThresholdUs = 2_000_000;

    private const long TellSecondsBelowUs = 300_000_000;

    private long? _aheadUs;

    /// <summary>The sleep as a person reads it: <c>No record 02:00-05:00, host asleep.</c></summary>
    /// <param name="now">When it was noticed.</param>
    /// <param name="sleptUs">How long it was.</param>
    /// <param name="zone">Zone of the hours.</param>
    public static string Sentence(SnapshotTime now, long sleptUs, TimeZoneInfo zone)
    {
        var to = TimeZoneInfo.ConvertTime(now.Wall, zone);
        var form = sleptUs < TellSecondsBelowUs ? "HH:mm:ss" : "HH:mm";
        return string.Create(CultureInfo.InvariantCulture, $"No record {(to - TimeSpan.FromMicroseconds(sleptUs)).ToString(form, CultureInfo.InvariantCulture)}-{to.ToString(form, CultureInfo.InvariantCulture)}, host asleep.");
    }

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
