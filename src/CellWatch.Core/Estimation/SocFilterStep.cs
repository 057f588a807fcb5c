namespace CellWatch.Core.Estimation;

/// <summary>
/// One step of the extended Kalman filter on OCV + R0 + one RC branch, state [z, v1], z from 0 to 1.
/// <para>Source: textbook form (the approach of Plett, J. Power Sources 134 (2004) 252-292, from memory); checked against a worked
/// step to all printed digits. The covariance is updated in the plain form P - L S L', kept symmetric by holding three terms.</para>
/// </summary>
public static class SocFilterStep
{
    /// <summary>Lowest and highest z the state may take: a little beyond empty and full, so that an error can recover.</summary>
    public const double LowestZ = -0.05, HighestZ = 1.05;

    /// <summary>Predicts over dt: a = exp(-dt / tau1); process noise is added on the diagonal.</summary>
    public static void Predict(
        ref double z, ref double v1, ref double p11, ref double p12, ref double p22,
        double chargePerCapacity, double a, double r1Ohm, double currentA, double q11, double q22)
    {
        z += chargePerCapacity;
        v1 = a * v1 + r1Ohm * (1 - a) * currentA;
        p11 += q11;
        p12 *= a;
        p22 = a * a * p22 + q22;
    }

    /// <summary>
    /// Takes a measured voltage in: <paramref name="ocvV"/> and <paramref name="slopeV"/> (V per unit of z) at the predicted z,
    /// <paramref name="r"/> the variance of the voltage, V^2. Returns the innovation, its variance and the gain on z.
    /// </summary>
    public static (double InnovationV, double VarianceV2, double GainZ) Update(
        ref double z, ref double v1, ref double p11, ref double p12, ref double p22,
        double measuredV, double ocvV, double slopeV, double r0Ohm, double currentA, double r)
    {
        var e = measuredV - (ocvV + v1 + r0Ohm * currentA);
        double h1 = slopeV * p11 + p12, h2 = slopeV * p12 + p22;
        var s = slopeV * h1 + h2 + r;
        double l1 = h1 / s, l2 = h2 / s;
        z = Math.Clamp(z + l1 * e, LowestZ, HighestZ);
        v1 += l2 * e;
        p11 -= l1 * h1;
        p12 -= l1 * h2;
        p22 -= l2 * h2;
        return (e, s, l1);
    }
}
