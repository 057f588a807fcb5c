namespace CellWatch.Core.Statistics;

/// <summary>
/// Straight line y = intercept + slope x by ordinary least squares, from centred sums.
/// <para>Source: textbook formulas; reproduces NIST StRD "Norris" to the certified digits (see the tests).</para>
/// </summary>
/// <param name="Count">Points used.</param>
/// <param name="Slope">Unit of y per unit of x.</param>
/// <param name="Intercept">Unit of y, at x = 0.</param>
/// <param name="SlopeSigma">Standard deviation of the slope; NaN with two points.</param>
/// <param name="InterceptSigma">Standard deviation of the intercept; NaN with two points.</param>
/// <param name="ResidualSigma">Scatter about the line, n - 2 degrees of freedom; NaN with two points.</param>
/// <param name="ResidualSumOfSquares">Unit of y squared.</param>
/// <param name="RSquared">Share of the variance of y that the line explains; 1 where y does not vary at all.</param>
public readonly record struct LineFit(
    int Count, double Slope, double Intercept, double SlopeSigma, double InterceptSigma, double ResidualSigma, double ResidualSumOfSquares, double RSquared)
{
    /// <summary>n - 2.</summary>
    public int DegreesOfFreedom => Count - 2;

    /// <summary>F statistic of the regression against no slope.</summary>
    public double F => RSquared / (1 - RSquared) * DegreesOfFreedom;

    /// <summary>The line at <paramref name="x"/>.</summary>
    public double At(double x) => Intercept + Slope * x;

    /// <summary>Half width of the interval of the slope (Student t), NaN with two points.</summary>
    public double SlopeHalfWidth(double confidence = 0.95) =>
        DegreesOfFreedom < 1 ? double.NaN : StudentT.IntervalFactor(confidence, DegreesOfFreedom) * SlopeSigma;

    /// <summary>
    /// Fits the points. Null where no line is determined: fewer than two points, or all at one x.
    /// </summary>
    public static LineFit? Through(ReadOnlySpan<double> x, ReadOnlySpan<double> y)
    {
        if (x.Length != y.Length) throw new ArgumentException($"x holds {x.Length} values and y {y.Length}.", nameof(y));
        if (x.Length < 2) return null;
        double meanX = 0, meanY = 0;
        for (var i = 0; i < x.Length; i++)
        {
            meanX += (x[i] - meanX) / (i + 1);
            meanY += (y[i] - meanY) / (i + 1);
        }

        double sxx = 0, sxy = 0, syy = 0;
        for (var i = 0; i < x.Length; i++)
        {
            double dx = x[i] - meanX, dy = y[i] - meanY;
            sxx += dx * dx;
            sxy += dx * dy;
            syy += dy * dy;
        }

        if (!(sxx > 0)) return null;
        var slope = sxy / sxx;
        // Residuals are summed from the points, not taken as syy - slope sxy, which cancels on a good fit.
        double rss = 0;
        for (var i = 0; i < x.Length; i++)
        {
            var r = y[i] - meanY - slope * (x[i] - meanX);
            rss += r * r;
        }

        return From(x.Length, meanX, meanY, sxx, syy, slope, rss);
    }

    internal static LineFit From(int count, double meanX, double meanY, double sxx, double syy, double slope, double rss)
    {
        var s = count > 2 ? Math.Sqrt(rss / (count - 2)) : double.NaN;
        return new LineFit(
            count, slope, meanY - slope * meanX, s / Math.Sqrt(sxx), s * Math.Sqrt(1.0 / count + meanX * meanX / sxx), s, rss, syy > 0 ? 1 - rss / syy : 1);
    }
}
