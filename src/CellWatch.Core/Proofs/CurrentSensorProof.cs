namespace CellWatch.Core.Proofs;

/// <summary>What came of the proof of the current sensor.</summary>
/// <param name="Proven">True when sign, scale and zero are right.</param>
/// <param name="Sentence">What to say.</param>
/// <param name="Scale">Read over expected, after the zero is taken out; NaN where there was no load.</param>
/// <param name="ZeroA">Reading without load.</param>
public sealed record CurrentSensorOutcome(bool Proven, string Sentence, double Scale, double ZeroA);

/// <summary>
/// Sign, scale and zero of the current sensor by a known load: discharge is negative, the scale within 2 %, the zero within 0.1 A; then
/// with a charger the sign flips. Source: common practice, no source.
/// </summary>
public static class CurrentSensorProof
{
    /// <summary>Allowed error of the scale.</summary>
    public const double ScaleTolerance = 0.02;

    /// <summary>Allowed reading without load, A.</summary>
    public const double ZeroToleranceA = 0.1;

    /// <summary>A scale is only told when the load gives at least so many times the allowed zero (own rule).</summary>
    public const double LeastLoadOverZero = 10;

    /// <summary>Judges readings without load, with a known load (its current as a positive figure) and, when tried, with a charger.</summary>
    public static CurrentSensorOutcome Judge(double zeroA, double loadedA, double expectedLoadA, double? chargingA)
    {
        if (!double.IsFinite(zeroA) || !double.IsFinite(loadedA)) return new(false, T("The current sensor gave no reading: look at its data first."), double.NaN, zeroA);
        if (!(expectedLoadA >= LeastLoadOverZero * ZeroToleranceA))
            return new(false, T($"A load of {expectedLoadA:0.##} A is too small to tell the scale: use at least {LeastLoadOverZero * ZeroToleranceA:0.#} A."), double.NaN, zeroA);
        var scale = (loadedA - zeroA) / -expectedLoadA;
        if (Math.Abs(loadedA - zeroA) < 0.1 * expectedLoadA)
            return new(false, T($"The sensor did not move with the load ({loadedA:0.0} A): it is not around this conductor, or its supply is off."), scale, zeroA);
        if (scale < 0)
            return new(false, T($"The load draws {expectedLoadA:0.0} A but the sensor reads {loadedA:+0.0;-0.0} A: it is reversed. Turn it round, or its sign in the site file; a reversed sensor empties the charge counter while charging."), scale, zeroA);
        if (Math.Abs(scale - 1) > ScaleTolerance)
            return new(false, T($"The sensor reads {100 * (scale - 1):+0.0;-0.0} % off the known load ({100 * ScaleTolerance:0} % allowed): check its range and the load's resistance when warm."), scale, zeroA);
        if (Math.Abs(zeroA) > ZeroToleranceA)
            return new(false, T($"Without load the sensor reads {zeroA:+0.00;-0.00} A ({ZeroToleranceA:0.0} A allowed): set its zero with the contactors open."), scale, zeroA);
        if (chargingA is null) return new(false, T("Sign, scale and zero are right under load. Connect a charger: the sign must flip."), scale, zeroA);
        return chargingA > ZeroToleranceA
            ? new(true, T($"Sign, scale ({100 * (scale - 1):+0.0;-0.0} %) and zero ({zeroA:+0.00;-0.00} A) are right, and the sign flips with the charger."), scale, zeroA)
            : new(false, T($"With the charger on the sensor reads {chargingA:+0.0;-0.0} A: the sign must flip to plus."), scale, zeroA);
    }

    /// <summary>
    /// Whether a sensor reads the wrong way round, told from changes of current and voltage: a healthy one moves with the voltage. Source:
    /// sign test (textbook). Chance is the probability that a right one shows so many contrary changes out of <paramref name="changes"/>.
    /// </summary>
    public static (bool Reversed, double Chance) Inferred(int contraryChanges, int changes)
    {
        if (changes < 20) return (false, 1);
        double tail = 0;
        for (var k = contraryChanges; k <= changes; k++) tail += Math.Exp(LogChoose(changes, k) - changes * Math.Log(2));
        return (tail < 1e-4, Math.Min(1, tail));
    }

    private static double LogChoose(int n, int k)
    {
        double log = 0;
        for (var i = 1; i <= k; i++) log += Math.Log(n - k + i) - Math.Log(i);
        return log;
    }
}
