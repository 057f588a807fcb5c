namespace CellWatch.Core.Planning;

/// <summary>
/// The permitted box of the centre of gravity as constraints of the search: each side is a sum over the placed modules, mass times its distance beyond
/// that side, which must not be above zero. Scaled so that one is a millimetre of the centre at mean mass.
/// </summary>
internal sealed class PlanBox
{
    private readonly int candidates;
    private readonly double[] kg, x, y, z;
    private readonly CentreBox? box;
    private readonly double[][] sides;

    public PlanBox(PlanTask task)
    {
        box = task.Permitted;
        candidates = task.Candidates.Count;
        kg = [.. task.Candidates.Select(c => c.MassKg)];
        (x, y, z) = ([.. task.Slots.Select(s => s.X)], [.. task.Slots.Select(s => s.Y)], [.. task.Slots.Select(s => s.Z)]);
        var perMm = 1000 / (PlanScoring.MeanKg(task) * task.Slots.Count);
        double[] Side(double[] place, double limit, int sign) => [.. place.SelectMany(p => kg.Select(m => perMm * m * sign * (p - limit)))];
        sides = box is null ? [] :
        [
            Side(x, box.MinX, -1), Side(x, box.MaxX, 1), Side(y, box.MinY, -1), Side(y, box.MaxY, 1),
            .. box.MinZ is { } least ? [Side(z, least, -1)] : Array.Empty<double[]>(), .. box.MaxZ is { } most ? [Side(z, most, 1)] : Array.Empty<double[]>(),
        ];
    }

    /// <summary>Sides that limit; 0 where nothing does.</summary>
    public int Sides => sides.Length;

    /// <summary>How far beyond each side a plan is, mm at mean mass; not above zero inside.</summary>
    public void Beyond(ReadOnlySpan<int> plan, Span<double> beyondMm)
    {
        for (var j = 0; j < sides.Length; j++)
        {
            beyondMm[j] = 0;
            for (var s = 0; s < plan.Length; s++) beyondMm[j] += sides[j][s * candidates + plan[s]];
        }
    }

    /// <summary>Adds the sides with their multipliers to costs.</summary>
    public void AddTo(Span<double> cost, ReadOnlySpan<double> multipliers)
    {
        for (var j = 0; j < sides.Length; j++)
        {
            if (multipliers[j] == 0) continue;
            for (var i = 0; i < cost.Length; i++) cost[i] += multipliers[j] * sides[j][i];
        }
    }

    /// <summary>How far the centre of a plan lies outside, mm along, across and up added; 0 exactly where <see cref="CentreBox.Outside"/> finds nothing.</summary>
    public double OutsideMm(ReadOnlySpan<int> plan)
    {
        if (box is null) return 0;
        double sum = 0, mx = 0, my = 0, mz = 0;
        for (var s = 0; s < plan.Length; s++)
        {
            var m = kg[plan[s]];
            sum += m;
            mx += m * x[s];
            my += m * y[s];
            mz += m * z[s];
        }

        return 1000 * (Off(mx / sum, box.MinX, box.MaxX) + Off(my / sum, box.MinY, box.MaxY) + Off(mz / sum, box.MinZ ?? double.NegativeInfinity, box.MaxZ ?? double.PositiveInfinity));
    }

    private static double Off(double v, double least, double most) => v < least ? least - v : v > most ? v - most : 0;
}
