namespace CellWatch.Core.Imbalance;

/// <summary>
/// Normal equations of one cell's deviation in Ah from the median: y = A + B q + D t + dR I/g, rows weighted by the square of the curve's slope,
/// which makes it the fit of the voltages themselves, dv = g (A + B q + D t) + dR I. Sums only, so that weeks cost no memory.
/// Source: own derivation from the circuit model; check values in the tests.
/// </summary>
public struct DeviationSums
{
    private double _n, _w, _q, _t, _r, _qq, _qt, _qr, _tt, _tr, _rr, _y, _yq, _yt, _yr, _yy;
    private double _qLow, _qHigh, _tLow, _tHigh;

    /// <summary>Rows.</summary>
    public readonly double Count => _n;

    /// <summary>Span of charge the rows cover, Ah.</summary>
    public readonly double SpanAh => _n == 0 ? 0 : _qHigh - _qLow;

    /// <summary>Span of time the rows cover, h.</summary>
    public readonly double SpanH => _n == 0 ? 0 : _tHigh - _tLow;

    /// <summary>Lowest and highest charge of the rows, Ah.</summary>
    public readonly (double Low, double High) RangeAh => (_qLow, _qHigh);

    /// <summary>Takes one row in.</summary>
    /// <param name="q">Charge since the reference point, Ah, in positive.</param>
    /// <param name="t">Hours.</param>
    /// <param name="currentOverSlope">Current over the slope of the curve, A Ah/V.</param>
    /// <param name="y">Deviation from the median, Ah.</param>
    /// <param name="weight">Square of the slope of the curve, in any unit.</param>
    public void Add(double q, double t, double currentOverSlope, double y, double weight)
    {
        if (_n == 0) (_qLow, _qHigh, _tLow, _tHigh) = (q, q, t, t);
        (_qLow, _qHigh) = (Math.Min(_qLow, q), Math.Max(_qHigh, q));
        (_tLow, _tHigh) = (Math.Min(_tLow, t), Math.Max(_tHigh, t));
        _n++;
        double w = weight, r = currentOverSlope;
        _w += w;
        _q += w * q;
        _t += w * t;
        _r += w * r;
        _qq += w * q * q;
        _qt += w * q * t;
        _qr += w * q * r;
        _tt += w * t * t;
        _tr += w * t * r;
        _rr += w * r * r;
        _y += w * y;
        _yq += w * y * q;
        _yt += w * y * t;
        _yr += w * y * r;
        _yy += w * y * y;
    }

    /// <summary>
    /// Solves for A, B, D, dR; what is left out comes back as 0 with an infinite doubt. False where the columns cannot be told apart.
    /// </summary>
    /// <param name="withTime">Whether D is asked for.</param>
    /// <param name="withCurrent">Whether dR is asked for.</param>
    /// <param name="value">Receives A (Ah), B, D (A), dR (ohm).</param>
    /// <param name="sigma">Their standard deviations by the scatter of the rows.</param>
    public readonly bool TrySolve(bool withTime, bool withCurrent, Span<double> value, Span<double> sigma)
    {
        Span<double> m = stackalloc double[16];
        Span<double> rhs = stackalloc double[4] { _y, _yq, _yt, _yr };
        m[0] = _w;
        (m[1], m[2], m[3]) = (_q, _t, _r);
        (m[5], m[6], m[7]) = (_qq, _qt, _qr);
        (m[10], m[11], m[15]) = (_tt, _tr, _rr);
        (m[4], m[8], m[12], m[9], m[13], m[14]) = (m[1], m[2], m[3], m[6], m[7], m[11]);
        Drop(m, rhs, 2, !withTime);
        Drop(m, rhs, 3, !withCurrent);
        Span<double> inverse = stackalloc double[16];
        if (!TryInvert(m, inverse)) return false;
        var explained = 0.0;
        for (var i = 0; i < 4; i++)
        {
            value[i] = 0;
            for (var j = 0; j < 4; j++) value[i] += inverse[4 * i + j] * rhs[j];
            explained += value[i] * rhs[i];
        }

        var unknowns = 2 + (withTime ? 1 : 0) + (withCurrent ? 1 : 0);
        var variance = Math.Max(0, _yy - explained) / Math.Max(1, _n - unknowns);
        for (var i = 0; i < 4; i++) sigma[i] = Math.Sqrt(variance * inverse[4 * i + i]);
        if (!withTime) sigma[2] = double.PositiveInfinity;
        if (!withCurrent) sigma[3] = double.PositiveInfinity;
        return true;
    }

    private static void Drop(Span<double> m, Span<double> rhs, int row, bool drop)
    {
        if (!drop) return;
        for (var i = 0; i < 4; i++) m[4 * row + i] = m[4 * i + row] = 0;
        m[5 * row] = 1;
        rhs[row] = 0;
    }

    /// <summary>Inverse by Cholesky on columns of unit length; refused where a pivot falls below a condition number of about 1e6.</summary>
    private static bool TryInvert(Span<double> m, Span<double> inverse)
    {
        const double SmallestPivot = 1e-11;
        Span<double> scale = stackalloc double[4];
        for (var i = 0; i < 4; i++)
        {
            if (!(m[5 * i] > 0)) return false;
            scale[i] = 1 / Math.Sqrt(m[5 * i]);
        }

        Span<double> l = stackalloc double[16];
        for (var i = 0; i < 4; i++)
            for (var j = 0; j <= i; j++)
            {
                var s = m[4 * i + j] * scale[i] * scale[j];
                for (var k = 0; k < j; k++) s -= l[4 * i + k] * l[4 * j + k];
                if (i != j) l[4 * i + j] = s / l[5 * j];
                else if (s > SmallestPivot) l[5 * i] = Math.Sqrt(s);
                else return false;
            }

        Span<double> x = stackalloc double[4];
        for (var column = 0; column < 4; column++)
        {
            for (var i = 0; i < 4; i++)
            {
                var s = i == column ? 1.0 : 0;
                for (var k = 0; k < i; k++) s -= l[4 * i + k] * x[k];
                x[i] = s / l[5 * i];
            }

            for (var i = 3; i >= 0; i--)
            {
                var s = x[i];
                for (var k = i + 1; k < 4; k++) s -= l[4 * k + i] * x[k];
                x[i] = s / l[5 * i];
            }

            for (var i = 0; i < 4; i++) inverse[4 * i + column] = x[i] * scale[i] * scale[column];
        }

        return true;
    }
}
