namespace CellWatch.Core.Estimation;

/// <summary>
/// Platinum resistance sensor. Source: IEC 60751 constants as printed in public tables (the standard itself was not opened):
/// R = R0 (1 + A t + B t^2), below 0 degC plus C (t - 100) t^3. Valid -200 to 850 degC.
/// </summary>
public static class PlatinumSensor
{
    private const double A = 3.9083e-3, B = -5.775e-7, C = -4.183e-12;

    /// <summary>Resistance, ohm; <paramref name="r0Ohm"/> 100 or 1000.</summary>
    public static double Ohm(double temperatureDegC, double r0Ohm = 100)
    {
        var t = temperatureDegC;
        var below = t < 0 ? C * (t - 100) * t * t * t : 0;
        return r0Ohm * (1 + A * t + B * t * t + below);
    }

    /// <summary>Temperature, degC: closed form from 0 degC up, Newton below.</summary>
    public static double DegC(double ohm, double r0Ohm = 100)
    {
        var ratio = ohm / r0Ohm;
        var t = (-A + Math.Sqrt(A * A - 4 * B * (1 - ratio))) / (2 * B);
        if (ratio >= 1) return t;
        for (var i = 0; i < 20; i++)
        {
            var slope = A + 2 * B * t + C * (4 * t * t * t - 300 * t * t);
            var step = (Ohm(t, 1) - ratio) / slope;
            t -= step;
            if (Math.Abs(step) < 1e-12) break;
        }

        return t;
    }

    /// <summary>Temperature below 0 degC by the polynomial of a data logger's manual (CR1000, p. 236); within 0.001 K of the above at -100 degC.</summary>
    public static double DegCBelowZeroByPolynomial(double ohm, double r0Ohm = 100)
    {
        var k = ohm / r0Ohm - 1;
        return k * (255.819 + k * (9.1455 + k * (-2.92363 + k * 1.7909)));
    }
}
