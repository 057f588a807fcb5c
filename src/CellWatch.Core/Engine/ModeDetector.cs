using CellWatch.Core.Live;

namespace CellWatch.Core.Engine;

/// <summary>
/// Rest, charging or discharging from the current, with a deadband and a dwell so that noise about zero changes nothing. A current
/// that is not known for the dwell makes the mode unknown.
/// </summary>
internal sealed class ModeDetector(double restCurrentA)
{
    /// <summary>A mode left at less than this part of the threshold it was entered at (common practice, no source).</summary>
    private const double LeaveAt = 0.6;

    /// <summary>How long another mode must be seen before it is believed.</summary>
    private const long DwellUs = 2_000_000;

    private PackMode _lastKnown;
    private PackMode _candidate;
    private long _candidateSinceUs;
    private long _currentSeenUs = long.MinValue;

    public void Step(Facts facts)
    {
        var now = facts.Time.ElapsedUs;
        if (facts.CurrentKnown) _currentSeenUs = now;
        facts.CurrentUnknownS = facts.CurrentKnown ? 0 : (now - (_currentSeenUs == long.MinValue ? facts.FirstElapsedUs : _currentSeenUs)) * 1e-6;

        if (facts.CurrentInDoubt && facts.CurrentKnown) return;
        var seen = facts.CurrentKnown ? Judge(facts.CurrentA, facts.Mode) : PackMode.Unknown;
        if (seen == facts.Mode)
        {
            _candidate = seen;
        }
        else
        {
            if (seen != _candidate) (_candidate, _candidateSinceUs) = (seen, now);
            if (now - _candidateSinceUs >= DwellUs || facts.Mode == PackMode.Unknown)
            {
                facts.Mode = seen;
                facts.ModeSinceUs = now;
            }
        }

        if (facts.Mode != PackMode.Unknown) _lastKnown = facts.Mode;
        facts.MayBeCharging = facts.Mode == PackMode.Charging || facts.Mode == PackMode.Unknown && _lastKnown == PackMode.Charging;
    }

    private PackMode Judge(double currentA, PackMode now)
    {
        var charging = now == PackMode.Charging ? LeaveAt * restCurrentA : restCurrentA;
        var discharging = now == PackMode.Discharging ? LeaveAt * restCurrentA : restCurrentA;
        if (currentA >= charging) return PackMode.Charging;
        return currentA <= -discharging ? PackMode.Discharging : PackMode.Rest;
    }
}
