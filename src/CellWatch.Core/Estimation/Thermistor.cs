namespace CellWatch.Core.Estimation;

/// <summary>
/// Temperature of a negative-coefficient thermistor from its resistance. Same R25 and same B still leave up to 4 K at -40 degC and
/// 1 K at 0 degC between two makers' parts: ask for the table or three points, not only "10k, B".
/// <para>Source: textbook forms (beta; Steinhart and Hart 1968; makers' four-term form).</para>
/// </summary>
public static class Thermistor
{
    /// <summary>0 degC in K.</summary>
    public const double ZeroDegCInK = 273.15;

    private const double ReferenceK = 298.15;

    /// <summary>Resistance by the beta form, ohm.</summary>
    public static double BetaOhm(double temperatureDegC, double r25Ohm, double betaK) =>
        r25Ohm * Math.Exp(betaK * (1 / (temperatureDegC + ZeroDegCInK) - 1 / ReferenceK));

    /// <summary>Temperature by the beta form, degC.</summary>
    public static double BetaDegC(double ohm, double r25Ohm, double betaK) => 1 / (1 / ReferenceK + Math.Log(ohm / r25Ohm) / betaK) - ZeroDegCInK;

    /// <summary>B from two points, K.</summary>
    public static double BetaK(double firstDegC, double firstOhm, double secondDegC, double secondOhm) =>
        Math.Log(firstOhm / secondOhm) / (1 / (firstDegC + ZeroDegCInK) - 1 / (secondDegC + ZeroDegCInK));

    /// <summary>Temperature by the makers' four-term form with L = ln(R / R25), degC.</summary>
    public static double FourTermDegC(double ohm, double r25Ohm, double a1, double b1, double c1, double d1)
    {
        var l = Math.Log(ohm / r25Ohm);
        return 1 / (a1 + l * (b1 + l * (c1 + l * d1))) - ZeroDegCInK;
    }

    /// <summary>Temperature from a table of falling resistances (at least two), joined by straight lines in ln R; null outside the table.</summary>
    public static double? TableDegC(ReadOnlySpan<double> tableDegC, ReadOnlySpan<double> tableOhm, double ohm)
    {
        for (var i = 0; i + 1 < tableOhm.Length; i++)
        {
            if (!(ohm <= tableOhm[i] && ohm >= tableOhm[i + 1])) continue;
            var share = Math.Log(ohm / tableOhm[i]) / Math.Log(tableOhm[i + 1] / tableOhm[i]);
            return tableDegC[i] + share * (tableDegC[i + 1] - tableDegC[i]);
        }

        return null;
    }
}

/// <summary>Steinhart-Hart coefficients: 1/T = A + B ln R + C (ln R)^3, R in ohm, T in K.</summary>
public readonly record struct SteinhartHart(double A, double B, double C)
{
    /// <summary>Coefficients through three points of different temperature.</summary>
    public static SteinhartHart Through(double firstDegC, double firstOhm, double secondDegC, double secondOhm, double thirdDegC, double thirdOhm)
    {
        double l1 = Math.Log(firstOhm), l2 = Math.Log(secondOhm), l3 = Math.Log(thirdOhm);
        double y1 = Inverse(firstDegC), y2 = Inverse(secondDegC), y3 = Inverse(thirdDegC);
        double g2 = (y2 - y1) / (l2 - l1), g3 = (y3 - y1) / (l3 - l1);
        var c = (g3 - g2) / (l3 - l2) / (l1 + l2 + l3);
        var b = g2 - c * (l1 * l1 + l1 * l2 + l2 * l2);
        return new SteinhartHart(y1 - (b + l1 * l1 * c) * l1, b, c);

        static double Inverse(double degC) => 1 / (degC + Thermistor.ZeroDegCInK);
    }

    /// <summary>Temperature, degC.</summary>
    public double DegC(double ohm)
    {
        var l = Math.Log(ohm);
        return 1 / (A + l * (B + l * l * C)) - Thermistor.ZeroDegCInK;
    }
}

/// <summary>What a temperature channel's count says.</summary>
public enum DividerState
{
    /// <summary>A resistance can be told.</summary>
    Good,

    /// <summary>Wire or sensor open.</summary>
    Open,

    /// <summary>Shorted.</summary>
    Short,
}

/// <summary>
/// Thermistor to ground, pull-up to the reference of the converter: code = (2^n - 1) R / (R + Rp).
/// </summary>
/// <param name="PullUpOhm">Rp.</param>
/// <param name="Bits">Of the converter.</param>
public readonly record struct ThermistorDivider(double PullUpOhm, int Bits)
{
    private double FullScale => (1 << Bits) - 1;

    /// <summary>Ideal count for a resistance, not rounded.</summary>
    public double Code(double ohm) => FullScale * ohm / (ohm + PullUpOhm);

    /// <summary>Resistance for a count below full scale, ohm.</summary>
    public double Ohm(double code) => PullUpOhm * code / (FullScale - code);

    /// <summary>Open above 4030 and short below 100 of 4095, scaled to the converter: leaves 90 counts of margin to -40 and +125 degC of a 10 kohm part (own default).</summary>
    public DividerState State(double code)
    {
        var of4095 = code / FullScale * 4095;
        return of4095 > 4030 ? DividerState.Open : of4095 < 100 ? DividerState.Short : DividerState.Good;
    }
}
