using CellWatch.Core.Estimation.Ocv;

namespace CellWatch.Core.Estimation;

/// <summary>
/// Charge level from the voltage of a cell at rest.
/// <para>Source: relaxation limits 4 uV/s and 1 uV/s from gauge manuals SLUUCH2 and SLUUB65B; current at most C/20 on entry,
/// SLUSBZ5D. With 1 mV steps 4 uV/s is one step in 250 s, so the slope is to be fitted over at least 30 minutes (own rule).</para>
/// </summary>
public static class RestReset
{
    /// <summary>Relaxed below this slope, uV/s (SLUUCH2).</summary>
    public const double RelaxedMicrovoltPerS = 4;

    /// <summary>The stricter limit, uV/s (SLUUB65B).</summary>
    public const double StrictMicrovoltPerS = 1;

    /// <summary>Shortest stretch of samples a slope is fitted over, s (own rule).</summary>
    public const double ShortestFitS = 1800;

    /// <summary>Highest current that still counts as rest: C/20, A (SLUSBZ5D).</summary>
    public static double HighestRestA(double capacityAh) => capacityAh / 20;

    /// <summary>Mean slope between two readings, uV/s.</summary>
    public static double SlopeMicrovoltPerS(double firstV, double lastV, double durationS) => (lastV - firstV) * 1e6 / durationS;

    /// <summary>True when the slope, of either sign, is below the limit.</summary>
    public static bool IsRelaxed(double slopeMicrovoltPerS, double limitMicrovoltPerS = RelaxedMicrovoltPerS) =>
        Math.Abs(slopeMicrovoltPerS) < limitMicrovoltPerS;

    /// <summary>
    /// Charge level and its standard deviation, percent, from a relaxed voltage; null where the curve refuses (outside it, or too flat).
    /// <paramref name="sigmaV"/> is the doubt of the voltage, V; that of the curve is added where it states one.
    /// </summary>
    public static (double SocPercent, double SigmaPercent)? SocAt(OcvCurve curve, double restV, double sigmaV)
    {
        var found = curve.SocAt(restV);
        if (!found.IsTold) return null;
        var curveV = curve.SigmaAt(found.SocPercent);
        var bothV = double.IsNaN(curveV) ? sigmaV : Math.Sqrt(sigmaV * sigmaV + curveV * curveV);
        return (found.SocPercent, 1000 * bothV / found.SlopeMvPerPercent);
    }
}
