using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Checks;

/// <summary>
/// Noise of each cell's channel from the differences of successive readings (von Neumann), the pack's common movement taken out, and of
/// each instrument now against what it was at rest: noise that triples when the charger starts is a ground loop.
/// </summary>
internal sealed class NoiseCheck
{
    /// <summary>Readings averaged over.</summary>
    private const double Memory = 60;

    /// <summary>Readings needed before anything is said.</summary>
    private const int Least = 40;

    /// <summary>Below this no ratio is told, V: a quiet channel with coarse steps has no noise to compare.</summary>
    private const double FloorV = 0.0001;

    private readonly InstrumentList _instruments;
    private readonly double[] _last;
    private readonly long[] _arrivedUs;
    private readonly double[] _variance;
    private readonly int[] _count;
    private readonly double[] _referenceV;
    private readonly double[] _sum;
    private readonly int[] _cells;
    private double _lastMedianV = double.NaN;

    public NoiseCheck(int cells, InstrumentList instruments)
    {
        _instruments = instruments;
        _last = new double[cells];
        _last.AsSpan().Fill(double.NaN);
        _arrivedUs = new long[cells];
        _variance = new double[cells];
        _count = new int[cells];
        _referenceV = new double[instruments.Count];
        _referenceV.AsSpan().Fill(double.NaN);
        _sum = new double[instruments.Count];
        _cells = new int[instruments.Count];
    }

    /// <summary>Noise of a cell's readings, V rms; 0 while not known.</summary>
    public double SigmaV(int cell) => _count[cell] < Least ? 0 : Math.Sqrt(_variance[cell]);

    /// <summary>Noise of an instrument's cells now, V rms; NaN while not known.</summary>
    public double NowV(int instrument) => _cells[instrument] == 0 ? double.NaN : Math.Sqrt(_sum[instrument] / _cells[instrument]);

    /// <summary>The same at the last rest; NaN while there was none.</summary>
    public double ReferenceV(int instrument) => _referenceV[instrument];

    public void Step(Snapshot snapshot, Facts facts, Measures measures)
    {
        _sum.AsSpan().Clear();
        _cells.AsSpan().Clear();
        var commonV = double.IsNaN(_lastMedianV) || double.IsNaN(facts.MedianV) ? 0 : facts.MedianV - _lastMedianV;
        _lastMedianV = facts.MedianV;
        for (var cell = 0; cell < _last.Length; cell++)
        {
            if (snapshot.CellQuality[cell] != Quality.Good) continue;
            Take(cell, snapshot.RawCellVoltageV[cell], facts.Time.ElapsedUs - snapshot.AgeUs[cell], commonV);
            if (_count[cell] < Least) continue;
            var instrument = _instruments.OfChannel(cell);
            _sum[instrument] += _variance[cell];
            _cells[instrument]++;
        }

        var charging = facts.Mode == PackMode.Charging && facts.ModeForS >= 30;
        for (var instrument = 0; instrument < _referenceV.Length; instrument++)
        {
            var nowV = NowV(instrument);
            if (facts.Mode == PackMode.Rest && facts.ModeForS >= 60 && !double.IsNaN(nowV)) _referenceV[instrument] = nowV;
            if (charging && !double.IsNaN(nowV) && !double.IsNaN(_referenceV[instrument]))
                measures.Set(Quantity.NoiseRatio, instrument, Math.Max(nowV, FloorV) / Math.Max(_referenceV[instrument], FloorV));
            else measures.SetNone(Quantity.NoiseRatio, instrument, Availability.Stale);
        }
    }

    private void Take(int cell, double v, long arrivedUs, double commonV)
    {
        // A scan faster than the board shows one reading several times: only a new one counts.
        if (Math.Abs(arrivedUs - _arrivedUs[cell]) < 1000 && v == _last[cell]) return;
        var difference = v - _last[cell] - commonV;
        (_last[cell], _arrivedUs[cell]) = (v, arrivedUs);
        if (double.IsNaN(difference)) return;
        _count[cell]++;
        _variance[cell] += (difference * difference / 2 - _variance[cell]) / Math.Min(_count[cell], Memory);
    }
}
