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

/// <summary>Where the centre of gravity may lie, m from the datum. Heights are asked for only where they are given.</summary>
/// <param name="MinX">Farthest forward.</param>
/// <param name="MaxX">Farthest aft.</param>
/// <param name="MinY">Farthest to starboard.</param>
/// <param name="MaxY">Farthest to port.</param>
/// <param name="MinZ">Lowest; null for no limit.</param>
/// <param name="MaxZ">Highest; null for no limit.</param>
public sealed record CentreBox(double MinX, double MaxX, double MinY, double MaxY, double? MinZ = null, double? MaxZ = null)
{
    /// <summary>What is wrong with the box itself; null where nothing is.</summary>
    public string? Fault => MinX < MaxX && MinY < MaxY && !(MinZ >= MaxZ) ? null : T("The permitted box of the centre of gravity is empty: each least figure must be below its greatest.");

    /// <summary>Why a centre is not permitted, in words; null when it is.</summary>
    public string? Outside(double x, double y, double z)
    {
        if (x < MinX || x > MaxX) return T($"the centre of gravity, {x:0.000} m aft, is outside its permitted {MinX:0.00} to {MaxX:0.00} m");
        if (y < MinY || y > MaxY) return T($"the centre of gravity, {1000 * Math.Abs(y):0} mm to {(y > 0 ? T("port") : T("starboard"))}, is outside its permitted {Side(MinY)} to {Side(MaxY)}");
        return z < MinZ || z > MaxZ ? T($"the centre of gravity, {z:0.000} m up, is outside its permitted {MinZ ?? double.NegativeInfinity:0.00} to {MaxZ ?? double.PositiveInfinity:0.00} m") : null;
    }

    private static string Side(double y) => Math.Abs(y) < 0.0005 ? T("middle line") : $"{1000 * Math.Abs(y):0} mm {(y > 0 ? T("port") : T("starboard"))}";
}

/// <summary>Two supports or axles and what they carry before anything is changed.</summary>
/// <param name="FrontX">Front support, m aft of the datum.</param>
/// <param name="BaseM">Distance of the rear one behind it, m.</param>
/// <param name="FrontKg">On the front one now, kg.</param>
/// <param name="RearKg">On the rear one now, kg.</param>
public sealed record Supports(double FrontX, double BaseM, double FrontKg, double RearKg);

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

/// <summary>What a plan does to the craft: before as it is with what was taken out gone, after with the modules in.</summary>
/// <param name="Before">Loads before; null without supports.</param>
/// <param name="After">Loads after; null without supports.</param>
/// <param name="TrimBefore">Trim and list before, against the craft as it was built; null without a boat's figures.</param>
/// <param name="TrimAfter">After; null without a boat's figures.</param>
public sealed record BalanceView(SupportLoads? Before, SupportLoads? After, TrimAndList? TrimBefore, TrimAndList? TrimAfter)
{
    /// <summary>Works it out.</summary>
    /// <param name="supports">Supports; null where the craft has none.</param>
    /// <param name="boat">A boat's figures; null where it is none.</param>
    /// <param name="removed">Masses taken out for good: engine, tank.</param>
    /// <param name="modules">The modules at their places.</param>
    public static BalanceView? Of(Supports? supports, BoatStability? boat, IReadOnlyList<PointMass> removed, IReadOnlyList<PointMass> modules)
    {
        if (supports is null && boat is null) return null;
        IReadOnlyList<PointMass> gone = [.. removed.Select(m => m with { MassKg = -m.MassKg })], all = [.. gone, .. modules];
        IReadOnlyList<PointMass> From(IReadOnlyList<PointMass> masses) => [.. masses.Select(m => m with { X = m.X - supports!.FrontX })];
        var now = supports is null ? default : new SupportLoads(supports.FrontKg, supports.RearKg);
        return new BalanceView(
            supports is null ? null : now.With(supports.BaseM, From(gone)), supports is null ? null : now.With(supports.BaseM, From(all)),
            boat is null ? null : TrimAndList.From(boat, gone), boat is null ? null : TrimAndList.From(boat, all));
    }

    /// <summary>In words, one sentence each.</summary>
    public IReadOnlyList<string> Sentences
    {
        get
        {
            var say = new List<string>();
            if (Before is { } b && After is { } a)
                say.Add(T($"Front support {b.FrontKg:0} kg before, {a.FrontKg:0} kg after; rear {b.RearKg:0} kg before, {a.RearKg:0} kg after; front share {100 * b.FrontShare:0.0} to {100 * a.FrontShare:0.0} %."));
            if (TrimBefore is { } t && TrimAfter is { } u)
                say.Add(T($"Trim {Trim(t.TrimCm)} before, {Trim(u.TrimCm)} after; list {List(t.ListDeg)} before, {List(u.ListDeg)} after. Small angles; it informs, it is no stability booklet."));
            return say;
        }
    }

    private static string Trim(double cm) => Math.Abs(cm) < 0.05 ? T("0 cm") : T($"{Math.Abs(cm):0.0} cm by the {(cm > 0 ? T("stern") : T("bow"))}");

    private static string List(double deg) => Math.Abs(deg) < 0.05 ? T("0 deg") : T($"{Math.Abs(deg):0.0} deg to {(deg > 0 ? T("port") : T("starboard"))}");
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
