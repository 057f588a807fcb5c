namespace CellWatch.Core.Statistics;

/// <summary>Answer of <see cref="LeastSquares.Solve"/>.</summary>
/// <param name="Coefficients">One for each column, in its own unit.</param>
/// <param name="Sigmas">Standard deviations, from the scatter of the residuals; NaN where there are no more rows than columns.</param>
/// <param name="ResidualSigma">Scatter of the residuals.</param>
/// <param name="ConditionNumber">Of the columns scaled to unit length; large means that some columns look alike.</param>
public sealed record LeastSquaresFit(double[] Coefficients, double[] Sigmas, double ResidualSigma, double ConditionNumber);

/// <summary>
/// Small dense least squares, columns scaled to unit length, solved by singular values (one-sided Jacobi rotations, Hestenes
/// 1958, from memory), which give the condition number on the way. For a handful of columns; allocates.
/// </summary>
public static class LeastSquares
{
    /// <summary>Above this condition number the columns cannot be told apart and no answer is given (own rule, no source).</summary>
    public const double LargestCondition = 1e6;

    /// <summary>
    /// Solves rows x columns, <paramref name="columns"/>[c][r], for <paramref name="y"/>[r].
    /// </summary>
    /// <returns>Null where there are fewer rows than columns, a column is all zero, or the condition number passes <see cref="LargestCondition"/>;
    /// <paramref name="conditionNumber"/> then says how bad it is (infinite where a column is empty).</returns>
    public static LeastSquaresFit? Solve(double[][] columns, ReadOnlySpan<double> y, out double conditionNumber)
    {
        conditionNumber = double.PositiveInfinity;
        int n = columns.Length, m = y.Length;
        if (n == 0 || m < n) return null;
        var u = new double[n][];
        var scale = new double[n];
        for (var c = 0; c < n; c++)
        {
            scale[c] = Norm(columns[c]);
            if (!(scale[c] > 0) || !double.IsFinite(scale[c])) return null;
            u[c] = Array.ConvertAll(columns[c], v => v / scale[c]);
        }

        var v = RotateToOrthogonal(u);
        var singular = Array.ConvertAll(u, Norm);
        double smallest = singular.Min();
        if (smallest > 0) conditionNumber = singular.Max() / smallest;
        if (!(conditionNumber <= LargestCondition)) return null;

        var coefficients = new double[n];
        for (var k = 0; k < n; k++)
        {
            var weight = Dot(u[k], y) / (singular[k] * singular[k]);
            for (var c = 0; c < n; c++) coefficients[c] += v[k][c] * weight / scale[c];
        }

        double rss = 0;
        for (var r = 0; r < m; r++)
        {
            var e = y[r];
            for (var c = 0; c < n; c++) e -= columns[c][r] * coefficients[c];
            rss += e * e;
        }

        var residualSigma = m > n ? Math.Sqrt(rss / (m - n)) : double.NaN;
        var sigmas = new double[n];
        for (var c = 0; c < n; c++)
        {
            double variance = 0;
            for (var k = 0; k < n; k++) variance += v[k][c] * v[k][c] / (singular[k] * singular[k]);
            sigmas[c] = residualSigma * Math.Sqrt(variance) / scale[c];
        }

        return new LeastSquaresFit(coefficients, sigmas, residualSigma, conditionNumber);
    }

    /// <summary>Rotates pairs of columns until all are orthogonal; returns the rotations gathered, as columns.</summary>
    private static double[][] RotateToOrthogonal(double[][] u)
    {
        var n = u.Length;
        var v = new double[n][];
        for (var c = 0; c < n; c++) (v[c] = new double[n])[c] = 1;
        for (var sweep = 0; sweep < 60; sweep++)
        {
            var moved = false;
            for (var p = 0; p < n - 1; p++)
                for (var q = p + 1; q < n; q++)
                {
                    double a = Dot(u[p], u[p]), b = Dot(u[q], u[q]), g = Dot(u[p], u[q]);
                    if (Math.Abs(g) <= 1e-15 * Math.Sqrt(a * b)) continue;
                    moved = true;
                    var zeta = (b - a) / (2 * g);
                    var t = (zeta >= 0 ? 1 : -1) / (Math.Abs(zeta) + Math.Sqrt(1 + zeta * zeta));
                    var cos = 1 / Math.Sqrt(1 + t * t);
                    Rotate(u[p], u[q], cos, cos * t);
                    Rotate(v[p], v[q], cos, cos * t);
                }

            if (!moved) break;
        }

        return v;
    }

    private static void Rotate(double[] p, double[] q, double cos, double sin)
    {
        for (var i = 0; i < p.Length; i++) (p[i], q[i]) = (cos * p[i] - sin * q[i], sin * p[i] + cos * q[i]);
    }

    private static double Norm(double[] x) => Math.Sqrt(Dot(x, x));

    private static double Dot(double[] x, ReadOnlySpan<double> y)
    {
        double sum = 0;
        for (var i = 0; i < x.Length; i++) sum += x[i] * y[i];
        return sum;
    }
}
