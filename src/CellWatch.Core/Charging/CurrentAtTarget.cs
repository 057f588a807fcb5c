namespace CellWatch.Core.Charging;

/// <summary>
/// How long the highest cell has been at its charge target without the current falling. A taper of 335 s falls by 3 % in 10 s, one of
/// 1000 s by 1 %; less than half a percent is not falling. A charger that steps its current coarsely is given a minute to have fallen
/// by 3 %, as long as the cell is no more than 5 mV over its target. Thresholds chosen from the taper times of the measured cells.
/// </summary>
internal sealed class CurrentAtTarget
{
    private const double LeaveV = 0.001;
    private const double FallShare = 0.005;
    private const double CoarseShare = 0.03;
    private const double CoarseV = 0.005;
    private const long MinuteUs = 60_000_000;
    private const int Minutes = 61;

    private readonly double[] _minute = new double[Minutes];
    private long _lastSecond;
    private long _sinceUs;
    private double _referenceA;
    private double _smoothA;
    private bool _isAt;

    /// <summary>A new charge begins.</summary>
    public void Begin()
    {
        _isAt = false;
        _smoothA = double.NaN;
        _lastSecond = long.MinValue;
        _minute.AsSpan().Fill(double.NaN);
    }

    /// <summary>Takes one scan; seconds at the target without a fall of the current, 0 while not at it.</summary>
    public double Step(long nowUs, double highestV, double targetV, double currentA)
    {
        _smoothA = double.IsNaN(_smoothA) ? currentA : _smoothA + 0.3 * (currentA - _smoothA);
        Remember(nowUs);
        if (Below(highestV, _isAt ? targetV - LeaveV : targetV))
        {
            _isAt = false;
            return 0;
        }

        var minuteAgoA = _minute[(int)((nowUs / 1_000_000 + 1) % Minutes)];
        var fellCoarsely = highestV <= targetV + CoarseV && _smoothA <= minuteAgoA * (1 - CoarseShare);
        if (!_isAt || _smoothA <= _referenceA * (1 - FallShare) || fellCoarsely) (_isAt, _sinceUs, _referenceA) = (true, nowUs, _smoothA);
        return (nowUs - _sinceUs) * 1e-6;
    }

    /// <summary>Below by more than the rounding of a millionth of a volt.</summary>
    private static bool Below(double v, double limitV) => v < limitV - 1e-7;

    private void Remember(long nowUs)
    {
        var second = nowUs / 1_000_000;
        if (_lastSecond == long.MinValue || second - _lastSecond >= Minutes) _lastSecond = second - 1;
        for (var s = _lastSecond + 1; s <= second; s++) _minute[(int)(s % Minutes)] = _smoothA;
        _lastSecond = second;
    }
}
