namespace CellWatch.Core.Statistics;

/// <summary>
/// Straight-line fit of a stream without keeping it: centred sums by Welford's update. Adding allocates nothing.
/// With many points of one regime (say hours at rest) the other regimes still count: nothing is forgotten; start a new one instead.
/// </summary>
public struct RunningLine
{
    private double meanX, meanY, sxx, sxy, syy;

    /// <summary>Points so far.</summary>
    public int Count { get; private set; }

    /// <summary>Spread of x so far, as its standard deviation; NaN below two points. A line over a small spread says little.</summary>
    public readonly double SpreadX => Count < 2 ? double.NaN : Math.Sqrt(sxx / (Count - 1));

    /// <summary>Takes one point in.</summary>
    public void Add(double x, double y)
    {
        Count++;
        double dx = x - meanX, dy = y - meanY;
        meanX += dx / Count;
        meanY += dy / Count;
        sxx += dx * (x - meanX);
        sxy += dx * (y - meanY);
        syy += dy * (y - meanY);
    }

    /// <summary>The line through all points so far; null where none is determined.</summary>
    public readonly LineFit? Fit()
    {
        if (Count < 2 || !(sxx > 0)) return null;
        var slope = sxy / sxx;
        return LineFit.From(Count, meanX, meanY, sxx, syy, slope, Math.Max(0, syy - slope * sxy));
    }
}
