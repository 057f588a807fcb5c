using CellWatch.Core.Statistics;

namespace CellWatch.Core.Estimation;

/// <summary>What the deviation of one cell from its group says about it, each with its standard deviation.</summary>
/// <param name="OffsetAh">Charge offset at the reference point; positive = fuller.</param>
/// <param name="CapacityTerm">B = Cn / Ck - 1.</param>
/// <param name="LeakA">Extra self-discharge current; negative = it loses charge.</param>
/// <param name="ExtraResistanceOhm">Resistance above the group's.</param>
/// <param name="Sigmas">Standard deviations of the four, in the same order.</param>
/// <param name="ConditionNumber">Of the four columns; the nearer to 1 the better they can be told apart.</param>
public sealed record CellSignature(
    double OffsetAh, double CapacityTerm, double LeakA, double ExtraResistanceOhm, IReadOnlyList<double> Sigmas, double ConditionNumber)
{
    /// <summary>Capacity of the cell for a group capacity Cn: Cn / (1 + B), Ah.</summary>
    public double CapacityAh(double groupCapacityAh) => groupCapacityAh / (1 + CapacityTerm);
}

/// <summary>
/// Tells four causes of a deviation apart by their signatures: dv = g (A + B q + D t) + dR I, ordinary least squares.
/// <para>Source: own derivation from the circuit model; the refusal at a condition number of 1e6 is an own rule. It needs rest, current
/// of both signs and a wide span of charge, else the columns look alike and it refuses.</para>
/// </summary>
public static class FourSignatures
{
    /// <summary>
    /// Fits rows of: charge since the reference point (Ah, in positive), hours, current (A), local slope dOCV/dq (V/Ah) and deviation
    /// from the median (V). Null where the rows cannot tell the causes apart; <paramref name="conditionNumber"/> says how far off.
    /// </summary>
    public static CellSignature? Fit(
        ReadOnlySpan<double> chargeAh, ReadOnlySpan<double> hours, ReadOnlySpan<double> currentA, ReadOnlySpan<double> slopeVPerAh,
        ReadOnlySpan<double> deviationV, out double conditionNumber)
    {
        var n = deviationV.Length;
        double[][] columns = [new double[n], new double[n], new double[n], new double[n]];
        for (var i = 0; i < n; i++)
        {
            columns[0][i] = slopeVPerAh[i];
            columns[1][i] = slopeVPerAh[i] * chargeAh[i];
            columns[2][i] = slopeVPerAh[i] * hours[i];
            columns[3][i] = currentA[i];
        }

        var fit = LeastSquares.Solve(columns, deviationV, out conditionNumber);
        if (fit is null) return null;
        var c = fit.Coefficients;
        return new CellSignature(c[0], c[1], c[2], c[3], fit.Sigmas, conditionNumber);
    }
}
