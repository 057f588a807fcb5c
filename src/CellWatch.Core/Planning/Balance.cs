using CellWatch.Core.Estimation;

namespace CellWatch.Core.Planning;

/// <summary>A mass at a place, m from one datum.</summary>
public readonly record struct PointMass(double MassKg, double X, double Y, double Z);

/// <summary>A centre of gravity and its total mass.</summary>
public readonly record struct CentreOfGravity(double MassKg, double X, double Y, double Z)
{
    /// <summary>Sum(m r) / sum(m). NaN without mass.</summary>
    public static CentreOfGravity Of(IEnumerable<PointMass> masses)
    {
        double kg = 0, x = 0, y = 0, z = 0;
        foreach (var m in masses)
        {
            kg += m.MassKg;
            x += m.MassKg * m.X;
            y += m.MassKg * m.Y;
            z += m.MassKg * m.Z;
        }

        return new CentreOfGravity(kg, x / kg, y / kg, z / kg);
    }
}

/// <summary>Loads on two supports or axles, by moments.</summary>
/// <param name="FrontKg">On the front support.</param>
/// <param name="RearKg">On the rear support.</param>
public readonly record struct SupportLoads(double FrontKg, double RearKg)
{
    /// <summary>Share of the front support, 0 to 1.</summary>
    public double FrontShare => FrontKg / (FrontKg + RearKg);

    /// <summary>Loads with masses added; x counted behind the front support.</summary>
    public SupportLoads With(double baseM, IReadOnlyList<PointMass> added)
    {
        var rear = PackArithmetic.RearAxleKg(baseM, [.. added.Select(m => m.MassKg)], [.. added.Select(m => m.X)]);
        return new SupportLoads(FrontKg + added.Sum(m => m.MassKg) - rear, RearKg + rear);
    }
}

/// <summary>What a boat does with a moment; figures from its drawings or an inclining test.</summary>
/// <param name="DisplacementKg">Displacement, kg.</param>
/// <param name="TrimMomentKgMPerCm">Moment that changes trim by 1 cm, kg m.</param>
/// <param name="MetacentricHeightM">Transverse metacentric height, m.</param>
/// <param name="FloatationX">Centre of flotation, m aft of the datum.</param>
public sealed record BoatStability(double DisplacementKg, double TrimMomentKgMPerCm, double MetacentricHeightM, double FloatationX);

/// <summary>Trim and list from moments. Source: textbook naval architecture, small angles; it informs, it is not a stability booklet.</summary>
/// <param name="TrimCm">By the stern positive.</param>
/// <param name="ListDeg">To port positive.</param>
public readonly record struct TrimAndList(double TrimCm, double ListDeg)
{
    /// <summary>From the masses put on board.</summary>
    public static TrimAndList From(BoatStability boat, IEnumerable<PointMass> masses)
    {
        double trim = 0, list = 0;
        foreach (var m in masses)
        {
            trim += m.MassKg * (m.X - boat.FloatationX);
            list += m.MassKg * m.Y;
        }

        return new TrimAndList(trim / boat.TrimMomentKgMPerCm, Math.Atan(list / (boat.DisplacementKg * boat.MetacentricHeightM)) * 180 / Math.PI);
    }
}
