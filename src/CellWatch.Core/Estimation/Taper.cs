using CellWatch.Core.Statistics;

namespace CellWatch.Core.Estimation;

/// <summary>
/// Falling current at constant voltage, I = I0 exp(-t / tau), fitted as a straight line of ln I on time.
/// <para>Source: first-order answer of a resistance feeding a slope of the curve; tau = 3600 Q R / (dOCV/dz) in order of magnitude. Real
/// tapers get slower near the end, so a time to end is "at least"; below <see cref="LowestRSquared"/> do not predict (own rule).</para>
/// </summary>
/// <param name="StartA">I0: current at t = 0 of the times given.</param>
/// <param name="TimeConstantS">tau, above 0.</param>
/// <param name="RSquared">Of the line.</param>
/// <param name="Line">The line itself, with intervals.</param>
public readonly record struct Taper(double StartA, double TimeConstantS, double RSquared, LineFit Line)
{
    /// <summary>Below this the fit is not fit to predict from.</summary>
    public const double LowestRSquared = 0.98;

    /// <summary>True when it may be used to predict.</summary>
    public bool IsFitToPredict => RSquared >= LowestRSquared;

    /// <summary>Time at which the current reaches <paramref name="endA"/>, on the clock of the times given, s: at least that long.</summary>
    public double EndsAtS(double endA) => TimeConstantS * Math.Log(StartA / endA);

    /// <summary>Fits the samples (current above 0 in all). Null with fewer than three, or where the current does not fall.</summary>
    public static Taper? Fit(ReadOnlySpan<double> timeS, ReadOnlySpan<double> currentA)
    {
        if (timeS.Length < 3) return null;
        var ln = new double[currentA.Length];
        for (var i = 0; i < ln.Length; i++)
        {
            if (!(currentA[i] > 0)) throw new ArgumentException($"Sample {i + 1} has a current of {currentA[i]} A: a taper has current above 0.", nameof(currentA));
            ln[i] = Math.Log(currentA[i]);
        }

        if (LineFit.Through(timeS, ln) is not { Slope: < 0 } line) return null;
        return new Taper(Math.Exp(line.Intercept), -1 / line.Slope, line.RSquared, line);
    }

    /// <summary>Seconds from now to the end, from the current now.</summary>
    public static double SecondsToEnd(double nowA, double endA, double timeConstantS) => timeConstantS * Math.Log(nowA / endA);

    /// <summary>Charge still to come until the end, Ah.</summary>
    public static double ChargeToEndAh(double nowA, double endA, double timeConstantS) => timeConstantS * (nowA - endA) / 3600;

    /// <summary>Time constant to expect: 3600 Q R / (dOCV/dz), s, with R the slow resistance and the slope in V for 0 to 100 %.</summary>
    public static double ExpectedTimeConstantS(double capacityAh, double ohm, double slopeV) => 3600 * capacityAh * ohm / slopeV;
}
