namespace CellWatch.Core.Estimation;

/// <summary>Usable charge of cells in series, Ah.</summary>
/// <param name="DischargeAh">Until the first cell is empty.</param>
/// <param name="ChargeAh">Until the first cell is full.</param>
/// <param name="BalancedAh">Usable when perfectly balanced: the smallest capacity.</param>
/// <param name="SmallestCell">Index of the cell with the smallest capacity.</param>
public readonly record struct StringCharge(double DischargeAh, double ChargeAh, double BalancedAh, int SmallestCell)
{
    /// <summary>Usable as it is.</summary>
    public double UsableAh => DischargeAh + ChargeAh;

    /// <summary>What balancing would give.</summary>
    public double BalancingGainAh => BalancedAh - UsableAh;
}

/// <summary>What flows when two batteries are joined in parallel.</summary>
public readonly record struct ParallelEqualisation(double FirstCurrentA, double HeatJ, double ChargeAh, double TimeConstantS);

/// <summary>Arithmetic of cells in strings and packs. Source: circuit theory and moments; no approximation but the linear curve of <see cref="Join"/>.</summary>
public static class PackArithmetic
{
    /// <summary>Usable charge of a string from each cell's capacity (Ah) and charge level (0 to 1).</summary>
    public static StringCharge UsableCharge(ReadOnlySpan<double> capacityAh, ReadOnlySpan<double> level)
    {
        if (capacityAh.IsEmpty || capacityAh.Length != level.Length) throw new ArgumentException("One level for each capacity, and at least one.", nameof(level));
        double discharge = double.PositiveInfinity, charge = double.PositiveInfinity;
        var smallest = 0;
        for (var k = 0; k < capacityAh.Length; k++)
        {
            discharge = Math.Min(discharge, capacityAh[k] * level[k]);
            charge = Math.Min(charge, capacityAh[k] * (1 - level[k]));
            if (capacityAh[k] < capacityAh[smallest]) smallest = k;
        }

        return new StringCharge(discharge, charge, capacityAh[smallest], smallest);
    }

    /// <summary>Joins two batteries with linear curves of <paramref name="firstSlopeV"/> and <paramref name="secondSlopeV"/> volt for 0 to 100 %.</summary>
    public static ParallelEqualisation Join(
        double firstV, double secondV, double loopOhm, double firstAh, double firstSlopeV, double secondAh, double secondSlopeV)
    {
        double c1 = 3600 * firstAh / firstSlopeV, c2 = 3600 * secondAh / secondSlopeV;
        double c = c1 * c2 / (c1 + c2), dv = firstV - secondV;
        return new ParallelEqualisation(dv / loopOhm, c * dv * dv / 2, c * Math.Abs(dv) / 3600, loopOhm * c);
    }

    /// <summary>Prospective short-circuit current, A: an upper bound, all resistances of the loop in <paramref name="loopOhm"/>.</summary>
    public static double ShortCircuitA(double voltageV, double loopOhm) => voltageV / loopOhm;

    /// <summary>Heat in a joint, W.</summary>
    public static double JointHeatW(double currentA, double ohm) => currentA * currentA * ohm;

    /// <summary>Mass on the rear axle, kg, from masses and their places behind the front axle; the front carries the rest.</summary>
    public static double RearAxleKg(double wheelbaseM, ReadOnlySpan<double> massKg, ReadOnlySpan<double> behindFrontAxleM)
    {
        double moment = 0;
        for (var i = 0; i < massKg.Length; i++) moment += massKg[i] * behindFrontAxleM[i];
        return moment / wheelbaseM;
    }
}
