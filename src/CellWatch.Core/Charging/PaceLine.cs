namespace CellWatch.Core.Charging;

/// <summary>Weighted straight line of a stream with slow forgetting; centred sums, no allocation. <c>default</c> is empty.</summary>
internal struct PaceLine
{
    private double _weight, _count, _meanX, _meanY, _sxx, _sxy, _syy;

    /// <summary>Takes a point in; what came before keeps <paramref name="keep"/> of its weight.</summary>
    public void Add(double x, double y, double weight, double keep)
    {
        _weight = keep * _weight + weight;
        _count = keep * _count + 1;
        (_sxx, _sxy, _syy) = (keep * _sxx, keep * _sxy, keep * _syy);
        double dx = x - _meanX, dy = y - _meanY;
        _meanX += dx * weight / _weight;
        _meanY += dy * weight / _weight;
        _sxx += weight * dx * (x - _meanX);
        _sxy += weight * dx * (y - _meanY);
        _syy += weight * dy * (y - _meanY);
    }

    /// <summary>Slope and its standard deviation; false with fewer than four points or no span.</summary>
    public readonly bool TryFit(out double slope, out double sigma)
    {
        slope = sigma = double.NaN;
        if (_count < 3.5 || !(_sxx > 0)) return false;
        slope = _sxy / _sxx;
        sigma = Math.Sqrt(Residual(slope) / _sxx);
        return true;
    }

    /// <summary>Value of the line at x and its standard deviation.</summary>
    public readonly bool TryValueAt(double x, out double y, out double sigma)
    {
        y = sigma = double.NaN;
        if (!TryFit(out var slope, out _)) return false;
        y = _meanY + slope * (x - _meanX);
        sigma = Math.Sqrt(Residual(slope) * (1 / _weight + (x - _meanX) * (x - _meanX) / _sxx));
        return true;
    }

    /// <summary>Variance of a point of weight 1 about the line.</summary>
    private readonly double Residual(double slope) => Math.Max(1e-12, (_syy - slope * _sxy) / Math.Max(0.5, _count - 2));
}
