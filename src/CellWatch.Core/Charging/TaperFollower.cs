using CellWatch.Core.Estimation;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Charging;

/// <summary>
/// Follows the falling current of a taper: a straight line of ln I on time over the last five minutes, and from it the end with a band.
/// Below an R² of 0.98 the last good fit stays. Real tapers get slower towards their end, so the late side of the band is the wider.
/// Source: see <see cref="Taper"/>.
/// </summary>
internal sealed class TaperFollower
{
    private const int Points = 61;
    private const long EveryUs = 5_000_000;
    private const int Least = 8;

    /// <summary>Part of the remaining time by which a taper may end earlier, and later, than one exponential says (chosen from the measured tapers).</summary>
    private const double EarlyShare = 0.08, LateShare = 0.25;

    private readonly double[] _timeS = new double[Points];
    private readonly double[] _lnA = new double[Points];
    private readonly double[] _orderedS = new double[Points];
    private readonly double[] _orderedLnA = new double[Points];
    private int _count;
    private int _next;
    private long _lastUs;
    private double _sum;
    private int _samples;

    /// <summary>Fitted time constant, s; NaN while there is none.</summary>
    public double TimeConstantS { get; private set; } = double.NaN;

    /// <summary>Its standard deviation, s.</summary>
    public double SigmaS { get; private set; } = double.NaN;

    /// <summary>R² of the latest fit, good or not; NaN while there is none.</summary>
    public double RSquared { get; private set; } = double.NaN;

    /// <summary>Begins a taper.</summary>
    public void Begin(long nowUs)
    {
        (_count, _next, _lastUs, _sum, _samples) = (0, 0, nowUs, 0, 0);
        TimeConstantS = SigmaS = RSquared = double.NaN;
    }

    /// <summary>Takes one scan of the taper.</summary>
    public void Step(long nowUs, double currentA)
    {
        _sum += currentA;
        _samples++;
        if (nowUs - _lastUs < EveryUs) return;
        var meanA = _sum / _samples;
        (_lastUs, _sum, _samples) = (nowUs, 0, 0);
        if (!(meanA > 0)) return;
        (_timeS[_next], _lnA[_next]) = (nowUs * 1e-6, Math.Log(meanA));
        _next = (_next + 1) % Points;
        _count = Math.Min(_count + 1, Points);
        if (_count >= Least) Fit();
    }

    /// <summary>Seconds to an end current from the current now, with band; false while the fit is not fit to predict.</summary>
    public bool TryEnd(double nowA, double endA, out double seconds, out double earliest, out double latest)
    {
        seconds = earliest = latest = double.NaN;
        if (double.IsNaN(TimeConstantS) || !(nowA > endA)) return false;
        seconds = Taper.SecondsToEnd(nowA, endA, TimeConstantS);
        var fit = 2 * SigmaS / TimeConstantS;
        earliest = seconds * Math.Max(0, 1 - fit - EarlyShare);
        latest = seconds * (1 + fit + LateShare);
        return true;
    }

    private void Fit()
    {
        for (var i = 0; i < _count; i++)
        {
            var from = (_next - _count + i + Points) % Points;
            (_orderedS[i], _orderedLnA[i]) = (_timeS[from], _lnA[from]);
        }

        if (LineFit.Through(_orderedS.AsSpan(0, _count), _orderedLnA.AsSpan(0, _count)) is not { } line) return;
        RSquared = line.RSquared;
        if (line.Slope >= 0 || line.RSquared < Taper.LowestRSquared) return;
        TimeConstantS = -1 / line.Slope;
        SigmaS = line.SlopeSigma * TimeConstantS * TimeConstantS;
    }
}
