namespace CellWatch.Core.Statistics;

/// <summary>
/// Student's t distribution, for intervals of fitted lines and for Grubbs' test.
/// <para>Source: distribution function through the regularised incomplete beta function, evaluated by its continued fraction
/// (Abramowitz and Stegun 26.5.8 and 26.7.1, from memory); quantile by bisection, so it is exact to rounding and slow: not for
/// the path of every snapshot.</para>
/// </summary>
public static class StudentT
{
    /// <summary>P(T &lt;= t) with <paramref name="degreesOfFreedom"/> &gt; 0.</summary>
    public static double Cdf(double t, double degreesOfFreedom)
    {
        var upper = UpperTail(Math.Abs(t), degreesOfFreedom);
        return t >= 0 ? 1 - upper : upper;
    }

    /// <summary>The t that is exceeded with probability <paramref name="tail"/> (above 0, at most 0.5).</summary>
    public static double UpperPoint(double tail, double degreesOfFreedom)
    {
        if (!(tail > 0 && tail <= 0.5)) throw new ArgumentOutOfRangeException(nameof(tail), tail, "A tail probability lies above 0 and is at most 0.5.");
        if (!(degreesOfFreedom > 0)) throw new ArgumentOutOfRangeException(nameof(degreesOfFreedom), degreesOfFreedom, "At least one degree of freedom is needed.");
        double low = 0, high = 1;
        while (UpperTail(high, degreesOfFreedom) > tail) high *= 2;
        for (var i = 0; i < 200 && high - low > 1e-15 * high; i++)
        {
            var middle = low + (high - low) / 2;
            if (UpperTail(middle, degreesOfFreedom) > tail) low = middle;
            else high = middle;
        }

        return low + (high - low) / 2;
    }

    /// <summary>Factor of a two-sided interval: value +- factor x standard deviation covers with <paramref name="confidence"/> (say 0.95).</summary>
    public static double IntervalFactor(double confidence, double degreesOfFreedom) => UpperPoint((1 - confidence) / 2, degreesOfFreedom);

    private static double UpperTail(double t, double nu) => 0.5 * IncompleteBeta(nu / 2, 0.5, nu / (nu + t * t));

    private static double IncompleteBeta(double a, double b, double x)
    {
        if (x <= 0) return 0;
        if (x >= 1) return 1;
        var front = Math.Exp(LogGamma(a + b) - LogGamma(a) - LogGamma(b) + a * Math.Log(x) + b * Math.Log(1 - x));
        // The fraction converges fast only on this side of the mean; the symmetry relation serves the other.
        return x < (a + 1) / (a + b + 2) ? front * Fraction(a, b, x) / a : 1 - front * Fraction(b, a, 1 - x) / b;
    }

    private static double Fraction(double a, double b, double x)
    {
        const double Tiny = 1e-300;
        double c = 1, d = Away(1 - (a + b) * x / (a + 1)), h = 1 / d;
        d = h;
        for (var m = 1; m < 1000; m++)
        {
            var even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
            d = 1 / Away(1 + even * d);
            c = Away(1 + even / c);
            h *= d * c;
            var odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
            d = 1 / Away(1 + odd * d);
            c = Away(1 + odd / c);
            h *= d * c;
            if (Math.Abs(d * c - 1) < 1e-15) break;
        }

        return h;

        static double Away(double v) => Math.Abs(v) < Tiny ? Tiny : v;
    }

    /// <summary>Lanczos approximation, g = 7, nine terms (coefficients as widely published, from memory; tested against the t table).</summary>
    private static double LogGamma(double x)
    {
        ReadOnlySpan<double> terms =
        [
            0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
            12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
        ];
        if (x < 0.5) return Math.Log(Math.PI / Math.Sin(Math.PI * x)) - LogGamma(1 - x);
        x -= 1;
        var sum = terms[0];
        for (var i = 1; i < terms.Length; i++) sum += terms[i] / (x + i);
        var t = x + 7.5;
        return 0.5 * Math.Log(2 * Math.PI) + (x + 0.5) * Math.Log(t) - t + Math.Log(sum);
    }
}
