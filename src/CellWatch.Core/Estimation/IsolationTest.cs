namespace CellWatch.Core.Estimation;

/// <summary>Readings of the isolation test with a voltmeter, V and ohm.</summary>
/// <param name="PackV">Vb, plus to minus.</param>
/// <param name="MinusToBodyV">V1.</param>
/// <param name="PlusToBodyV">V2.</param>
/// <param name="KnownOhm">Ro, the known resistor.</param>
/// <param name="KnownAtMinus">True when Ro was fitted between minus and body, false between plus and body.</param>
/// <param name="WithKnownV">V1' or V2': the reading across Ro.</param>
public readonly record struct IsolationReadings(double PackV, double MinusToBodyV, double PlusToBodyV, double KnownOhm, bool KnownAtMinus, double WithKnownV);

/// <summary>Result of an isolation test.</summary>
/// <param name="Ohm">Ri: equivalent resistance of the weaker pole, the one opposite to Ro. 0 = dead short of one pole.</param>
/// <param name="SingleLeakOhm">Resistance of the leak if the truth is one leak part-way up the string; smaller than <paramref name="Ohm"/>.</param>
/// <param name="PositionFromMinus">0 to 1: where a single leak would sit, from the negative end. Two leaks look exactly the same, so it is a lead, not a finding.</param>
public readonly record struct IsolationResult(double Ohm, double SingleLeakOhm, double PositionFromMinus)
{
    /// <summary>Ohm per volt of the nominal voltage.</summary>
    public double OhmPerVolt(double nominalV) => Ohm / nominalV;

    /// <summary>Group counted from the negative end, 1 to <paramref name="groups"/>, nearest to a single leak.</summary>
    public int NearestGroup(int groups) => Math.Clamp((int)Math.Round(PositionFromMinus * groups, MidpointRounding.AwayFromZero), 1, groups);
}

/// <summary>
/// Isolation resistance by a known resistor, the battery as source. The formula gives the leak of the pole opposite to Ro exactly,
/// whatever else lies in parallel with the measured pole, also a 10 Mohm meter.
/// <para>Source: UN R100 revision 2, points 1.2.3 of its measurement annex (as reproduced in public texts). It informs; it is not a
/// certificate, and a licensed person judges.</para>
/// </summary>
public static class IsolationTest
{
    /// <summary>The two readings may pass the pack voltage by this share before they are called impossible (meter tolerance, own rule).</summary>
    public const double ReadingTolerance = 0.02;

    /// <summary>Ro to use: required ohm/V times nominal voltage; +-20 % is good.</summary>
    public static double SuitableKnownOhm(double requiredOhmPerVolt, double nominalV) => requiredOhmPerVolt * nominalV;

    /// <summary>Evaluates the readings; null with <paramref name="refusal"/> in words where they are impossible or Ro sits on the wrong side.</summary>
    public static IsolationResult? Evaluate(in IsolationReadings r, out string? refusal)
    {
        refusal = Fault(r)?.Sentence;
        if (refusal is not null) return null;
        var largerV = Math.Max(r.MinusToBodyV, r.PlusToBodyV);
        var position = r.MinusToBodyV / (r.MinusToBodyV + r.PlusToBodyV);
        if (r.WithKnownV == 0 || largerV == 0) return new IsolationResult(0, 0, position);
        var ohm = r.KnownOhm * r.PackV * (1 / r.WithKnownV - 1 / largerV);
        return new IsolationResult(ohm, r.KnownOhm * (largerV / r.WithKnownV - 1), position);
    }

    /// <summary>The side Ro belongs to, the one with the larger reading: true = minus to body; null where both read the same and either will do.</summary>
    public static bool? KnownBelongsAtMinus(double minusToBodyV, double plusToBodyV) => minusToBodyV == plusToBodyV ? null : minusToBodyV > plusToBodyV;

    /// <summary>Why readings cannot be, and which of them (a name of <see cref="IsolationReadings"/>) to look at; null where they can.</summary>
    public static (string Sentence, string Field)? Fault(in IsolationReadings r)
    {
        if (!(r.PackV > 0)) return (T("The pack voltage must be above 0."), nameof(r.PackV));
        if (!(r.KnownOhm > 0)) return (T("The known resistor must be above 0."), nameof(r.KnownOhm));
        foreach (var (v, field) in new[] { (r.MinusToBodyV, nameof(r.MinusToBodyV)), (r.PlusToBodyV, nameof(r.PlusToBodyV)), (r.WithKnownV, nameof(r.WithKnownV)) })
            if (!(v >= 0)) return (T("Enter the readings without sign: each is 0 or more."), field);
        if (r.MinusToBodyV + r.PlusToBodyV > r.PackV * (1 + ReadingTolerance))
            return (T("The readings to the body add up to more than the pack voltage, which is impossible: measure again."), nameof(r.PlusToBodyV));
        if (KnownBelongsAtMinus(r.MinusToBodyV, r.PlusToBodyV) is { } atMinus && atMinus != r.KnownAtMinus)
            return (T($"The known resistor belongs on the side with the larger reading, here {(atMinus ? "minus" : "plus")} to body: lock the power out, move it, and measure again."), nameof(r.KnownAtMinus));
        if (r.WithKnownV > Math.Max(r.MinusToBodyV, r.PlusToBodyV) * (1 + ReadingTolerance))
            return (T("The reading rose when the known resistor was fitted, which is impossible: measure again."), nameof(r.WithKnownV));
        return null;
    }
}
