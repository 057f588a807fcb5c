namespace CellWatch.Core.Estimation;

/// <summary>Capacity with its standard deviation, Ah; sigma NaN where the method gives none.</summary>
public readonly record struct CapacityEstimate(double CapacityAh, double SigmaAh);

/// <summary>
/// Capacity from pairs x = change of charge level between two good rests (0 to 1, signed), y = charge moved between them (Ah, signed):
/// y = Q x with noise in both. Weighted least squares blames y alone and is biased; total least squares (TLS) takes both.
/// <para>Source: Plett, J. Power Sources 196 (2011) 2319-2331 (citation read, recursion checked against a public implementation).</para>
/// </summary>
public static class CapacityFit
{
    /// <summary>Pairs with a smaller swing add mostly noise (own rule).</summary>
    public const double SmallestSwing = 0.2;

    /// <summary>Weighted least squares, error in y only.</summary>
    public static CapacityEstimate Weighted(ReadOnlySpan<double> x, ReadOnlySpan<double> y, ReadOnlySpan<double> sigmaY)
    {
        var (c1, c2, _) = Sums(x, y, sigmaY);
        return new CapacityEstimate(c2 / c1, Math.Sqrt(1 / c1));
    }

    /// <summary>Total least squares for a constant ratio of the two standard deviations, <paramref name="ratio"/> = sigma x / sigma y.</summary>
    public static CapacityEstimate Total(ReadOnlySpan<double> x, ReadOnlySpan<double> y, ReadOnlySpan<double> sigmaY, double ratio)
    {
        var (c1, c2, c3) = Sums(x, y, sigmaY);
        var k2 = ratio * ratio;
        var d = c1 - k2 * c3;
        return new CapacityEstimate((-d + Math.Sqrt(d * d + 4 * k2 * c2 * c2)) / (2 * k2 * c2), double.NaN);
    }

    private static (double C1, double C2, double C3) Sums(ReadOnlySpan<double> x, ReadOnlySpan<double> y, ReadOnlySpan<double> sigmaY)
    {
        double c1 = 0, c2 = 0, c3 = 0;
        for (var i = 0; i < x.Length; i++)
        {
            var w = 1 / (sigmaY[i] * sigmaY[i]);
            c1 += w * x[i] * x[i];
            c2 += w * x[i] * y[i];
            c3 += w * y[i] * y[i];
        }

        return (c1, c2, c3);
    }
}

/// <summary>
/// Approximate weighted total least squares, recursive: any standard deviations, six sums, nothing kept.
/// <para>Source: as <see cref="CapacityFit"/>. It equals TLS where the ratio of the deviations is constant; else it is near it.</para>
/// </summary>
public struct RecursiveCapacity
{
    private double scale, c1, c2, c3, c4, c5, c6;

    /// <summary>Pairs taken in, without the nominal start.</summary>
    public int Count { get; private set; }

    /// <summary>The six sums, for the tests and for a record: c1 to c6.</summary>
    public readonly (double C1, double C2, double C3, double C4, double C5, double C6) Sums => (c1, c2, c3, c4, c5, c6);

    /// <summary>Starts from a nominal capacity, as one pair x = 1 with these deviations.</summary>
    public static RecursiveCapacity FromNominal(double nominalAh, double sigmaX, double sigmaYAh)
    {
        var start = default(RecursiveCapacity);
        start.Add(1, nominalAh, sigmaX, sigmaYAh);
        start.Count = 0;
        return start;
    }

    /// <summary>Takes one pair in. <paramref name="keep"/> below 1 forgets older pairs (1 keeps all).</summary>
    public void Add(double x, double yAh, double sigmaX, double sigmaYAh, double keep = 1)
    {
        if (!(sigmaX > 0 && sigmaYAh > 0)) throw new ArgumentOutOfRangeException(nameof(sigmaX), sigmaX, "Both standard deviations must be above 0.");
        if (scale == 0) scale = sigmaX / sigmaYAh;
        double yt = scale * yAh, wt = 1 / (scale * sigmaYAh * scale * sigmaYAh), wx = 1 / (sigmaX * sigmaX);
        c1 = keep * c1 + wt * x * x;
        c2 = keep * c2 + wt * x * yt;
        c3 = keep * c3 + wt * yt * yt;
        c4 = keep * c4 + wx * x * x;
        c5 = keep * c5 + wx * x * yt;
        c6 = keep * c6 + wx * yt * yt;
        Count++;
    }

    /// <summary>The capacity now; null before the first pair, or where no positive root exists.</summary>
    public readonly CapacityEstimate? Estimate()
    {
        if (scale == 0 || !(c2 > 0)) return null;
        var best = double.NaN;
        var lowest = double.PositiveInfinity;
        foreach (var start in (ReadOnlySpan<double>)[c2 / c1, c5 / c4, c6 / c5, c3 / c2])
        {
            var root = Root(start);
            if (!(root > 0)) continue;
            var cost = Cost(root);
            if (cost < lowest) (lowest, best) = (cost, root);
        }

        if (double.IsNaN(best)) return null;
        var h = Curvature(best);
        return new CapacityEstimate(best / scale, h > 0 ? Math.Sqrt(2 / (h * scale * scale)) : double.NaN);
    }

    /// <summary>Newton on the quartic that the derivative of the cost gives; the starts are the weighted fits in y and in x, which enclose the answer.</summary>
    private readonly double Root(double r)
    {
        double a4 = c5, a3 = -c1 + 2 * c4 - c6, a2 = 3 * c2 - 3 * c5, a1 = c1 - 2 * c3 + c6, a0 = -c2;
        for (var i = 0; i < 100; i++)
        {
            var f = (((a4 * r + a3) * r + a2) * r + a1) * r + a0;
            var d = ((4 * a4 * r + 3 * a3) * r + 2 * a2) * r + a1;
            if (d == 0) return double.NaN;
            var next = r - f / d;
            if (Math.Abs(next - r) <= 1e-15 * Math.Abs(next)) return next;
            r = next;
        }

        return double.IsFinite(r) ? r : double.NaN;
    }

    private readonly double Cost(double r)
    {
        var q = r * r + 1;
        return ((((c4 * r - 2 * c5) * r + c1 + c6) * r - 2 * c2) * r + c3) / (q * q);
    }

    private readonly double Curvature(double r)
    {
        var q = r * r + 1;
        var p = ((((-2 * c5 * r + 3 * c1 - 6 * c4 + 3 * c6) * r - 12 * c2 + 16 * c5) * r - 8 * c1 + 10 * c3 + 6 * c4 - 8 * c6) * r + 12 * c2 - 6 * c5) * r
            + c1 - 2 * c3 + c6;
        return 2 / (q * q * q * q) * p;
    }
}
