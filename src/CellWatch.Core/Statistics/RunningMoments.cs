namespace CellWatch.Core.Statistics;

/// <summary>
/// Mean and standard deviation of a stream without keeping it, by Welford's update (B. P. Welford, Technometrics 1962, from
/// memory). The naive sum of squares must not be used: on NIST's NumAcc4 it gives a negative variance.
/// </summary>
public struct RunningMoments
{
    private double sumOfSquares;

    /// <summary>How many values were added.</summary>
    public long Count { get; private set; }

    /// <summary>Mean in the unit of the values; 0 before the first.</summary>
    public double Mean { get; private set; }

    /// <summary>Standard deviation with n - 1, in the unit of the values; NaN below two values, which have none.</summary>
    public readonly double Sigma => Math.Sqrt(Variance);

    /// <summary>Variance with n - 1; NaN below two values.</summary>
    public readonly double Variance => Count < 2 ? double.NaN : sumOfSquares / (Count - 1);

    /// <summary>Takes one value in.</summary>
    public void Add(double x)
    {
        Count++;
        var d = x - Mean;
        Mean += d / Count;
        sumOfSquares += d * (x - Mean);
    }
}
