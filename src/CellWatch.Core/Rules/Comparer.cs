namespace CellWatch.Core.Rules;

/// <summary>What one comparison of one value with one limit came to.</summary>
public enum Outcome : byte
{
    /// <summary>Well, beyond the deadband.</summary>
    False,

    /// <summary>Neither: within the deadband. Keeps what was.</summary>
    Between,

    /// <summary>The condition holds.</summary>
    True,

    /// <summary>Not known. Never clears, never resets a persistence count.</summary>
    Stale,

    /// <summary>No number. As stale, and counted apart.</summary>
    Error,
}

/// <summary>One condition as it persists: on-delay, off-delay and the counts behind them.</summary>
internal struct Persistence
{
    private const long None = long.MinValue;

    private long _trueSinceUs;
    private long _falseSinceUs;
    private int _trueSamples;

    /// <summary>Whether the condition counts as present.</summary>
    public bool IsPresent;

    /// <summary>A condition that was never present.</summary>
    public static Persistence Absent => new() { _trueSinceUs = None, _falseSinceUs = None };

    /// <summary>Whether nothing is pending or present: a value on the good side changes nothing.</summary>
    public readonly bool IsQuiet => !IsPresent && _trueSinceUs == None;

    /// <summary>When the comparison began to hold, µs; meaningful while it does.</summary>
    public readonly long TrueSinceUs => _trueSinceUs;

    /// <summary>Takes one outcome; true when <see cref="IsPresent"/> changed.</summary>
    public bool Take(Outcome outcome, long nowUs, long onDelayUs, long offDelayUs, int samples)
    {
        switch (outcome)
        {
            case Outcome.True:
                _falseSinceUs = None;
                if (_trueSinceUs == None) (_trueSinceUs, _trueSamples) = (nowUs, 0);
                if (_trueSamples < samples) _trueSamples++;
                if (IsPresent || _trueSamples < samples || nowUs - _trueSinceUs < onDelayUs) return false;
                IsPresent = true;
                return true;

            case Outcome.Between:
                _falseSinceUs = None;
                if (!IsPresent) _trueSinceUs = None;
                return false;

            case Outcome.False:
                if (!IsPresent)
                {
                    _trueSinceUs = None;
                    return false;
                }

                if (_falseSinceUs == None) _falseSinceUs = nowUs;
                if (nowUs - _falseSinceUs < offDelayUs) return false;
                (IsPresent, _trueSinceUs, _falseSinceUs) = (false, None, None);
                return true;

            default:
                // Time unseen does not count towards being well; what was counted towards the alarm stays counted.
                _falseSinceUs = None;
                return false;
        }
    }
}

/// <summary>A limit in whole millionths of its unit, so that a comparison gives the same answer on every machine and every replay.</summary>
internal readonly struct Comparer
{
    private readonly long _limit;
    private readonly long _clear;
    private readonly bool _atLeast;

    public Comparer(Comparison comparison, double limit, double deadband)
    {
        _atLeast = comparison == Comparison.AtLeast;
        _limit = Millionths(limit);
        _clear = _atLeast ? _limit - Millionths(deadband) : _limit + Millionths(deadband);
    }

    public Outcome Compare(double value)
    {
        var v = Millionths(value);
        if (_atLeast) return v >= _limit ? Outcome.True : Clears(v <= _clear);
        return v <= _limit ? Outcome.True : Clears(v >= _clear);
    }

    private static Outcome Clears(bool clear) => clear ? Outcome.False : Outcome.Between;

    private static long Millionths(double value) => (long)Math.Round(Math.Clamp(value, -1e12, 1e12) * 1e6);
}
