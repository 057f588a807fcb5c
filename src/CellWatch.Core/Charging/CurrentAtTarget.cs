namespace CellWatch.Core.Charging;

/// <summary>
/// How long the highest cell has been at its charge target without the current falling. A taper of 335 s falls by 3 % in 10 s, one of
/// 1000 s by 1 %; less than half a percent is not falling. Two things may stand for a minute before a fall is missed, as long as the cell is
/// no more than 5 mV over its target: a charger whose last fall was a step and not a slope, and a current so small that its noise hides half a
/// percent. Thresholds chosen from the taper times of the measured cells.
/// </summary>
internal sealed class CurrentAtTarget
{
    private const double LeaveV = 0.001;
    private const double FallShare = 0.005;
    private const double CoarseV = 0.005;

    /// <summary>What may stand for a minute stands this much beyond the ten seconds of the rule, s.</summary>
    private const double PatienceS = 50;

    /// <summary>Falls closer together than this are one slope or one step; a step, smoothed, is over in the second of these.</summary>
    private const long TogetherUs = 8_000_000, StepUs = 15_000_000;

    /// <summary>Share of a new reading in the smoothed current, and what of the noise that leaves.</summary>
    private const double Share = 0.3, NoiseLeft = 0.42;

    private const double NoiseMemory = 60;

    private double _smoothA;
    private double _lastA, _beforeA;
    private double _noiseVariance;
    private double _referenceA;
    private bool _isAt;
    private long _arrivedUs;
    private long _fallBeganUs, _fallEndedUs;

    /// <summary>A new charge begins.</summary>
    public void Begin()
    {
        (_isAt, _noiseVariance) = (false, 0);
        _smoothA = _lastA = _beforeA = _referenceA = double.NaN;
        _fallBeganUs = _fallEndedUs = long.MinValue / 2;
    }

    /// <summary>Takes one scan; seconds at the target without a fall of the current that was due, 0 while not at it.</summary>
    public double Step(long nowUs, double highestV, double targetV, double currentA)
    {
        Follow(nowUs, currentA);
        var isAt = !Below(highestV, _isAt ? targetV - LeaveV : targetV);
        if (isAt && !_isAt) _arrivedUs = nowUs;
        _isAt = isAt;
        if (!isAt) return 0;
        var mayWait = highestV <= targetV + CoarseV && (_fallEndedUs - _fallBeganUs <= StepUs || 3 * NoiseLeft * Math.Sqrt(_noiseVariance) > FallShare * _smoothA);
        return Math.Max(0, Math.Min((nowUs - _arrivedUs) * 1e-6, (nowUs - _fallEndedUs) * 1e-6 - (mayWait ? PatienceS : 0)));
    }

    /// <summary>Falls count before the cell arrives as well; what rises again is measured from where it rose to.</summary>
    private void Follow(long nowUs, double currentA)
    {
        var bend = currentA - 2 * _lastA + _beforeA;
        if (!double.IsNaN(bend)) _noiseVariance += (bend * bend / 6 - _noiseVariance) / NoiseMemory;
        (_beforeA, _lastA) = (_lastA, currentA);
        _smoothA = double.IsNaN(_smoothA) ? currentA : _smoothA + Share * (currentA - _smoothA);
        if (double.IsNaN(_referenceA) || !_isAt && _smoothA > _referenceA) _referenceA = _smoothA;
        if (_smoothA > _referenceA * (1 - FallShare)) return;
        if (nowUs - _fallEndedUs > TogetherUs) _fallBeganUs = nowUs;
        (_fallEndedUs, _referenceA) = (nowUs, _smoothA);
    }

    /// <summary>Below by more than the rounding of a millionth of a volt.</summary>
    private static bool Below(double v, double limitV) => v < limitV - 1e-7;
}
