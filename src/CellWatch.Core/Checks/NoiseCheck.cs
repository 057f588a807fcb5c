using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Checks;

/// <summary>
/// Noise of each cell's channel from the differences of successive readings (von Neumann), the pack's common movement taken out, and of
/// each instrument now against what it was at rest: noise that triples when the charger starts is a ground loop. All cells of an instrument
/// together tell it in half a dozen readings; readings beside a change of current are left out, because unlike cells move apart then.
/// </summary>
internal sealed class NoiseCheck
{
    /// <summary>Readings averaged over for one cell, and for an instrument with all its cells.</summary>
    private const double Memory = 60, QuickMemory = 6;

    /// <summary>A smaller change of current from scan to scan is none: A, and share of it.</summary>
    private const double SteadyA = 0.5, SteadyShare = 0.01;

    /// <summary>Scans left out after a change of current: boards and sensor are not read at one instant.</summary>
    private const int ScansLeftOut = 3;

    /// <summary>Readings needed before anything is said.</summary>
    private const int Least = 40;

    /// <summary>Below this no ratio is told, V: a quiet channel with coarse steps has no noise to compare.</summary>
    private const double FloorV = 0.0001;

    private const double ReferenceS = 60;

    private readonly InstrumentList _instruments;
    private readonly double[] _last;
    private readonly long[] _arrivedUs;
    private readonly double[] _variance;
    private readonly int[] _count;
    private readonly double[] _referenceV;
    private readonly double[] _quick;
    private readonly int[] _quickReadings;
    private readonly double[] _sum;
    private readonly int[] _cells;
    private double _lastMedianV = double.NaN;
    private double _lastA = double.NaN;
    private int _leaveOut;

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
        _quick = new double[instruments.Count];
        _quickReadings = new int[instruments.Count];
        _sum = new double[instruments.Count];
        _cells = new int[instruments.Count];
    }

    /// <summary>Noise of a cell's readings, V rms; 0 while not known.</summary>
    public double SigmaV(int cell) => _count[cell] < Least ? 0 : Math.Sqrt(_variance[cell]);

    /// <summary>Noise of an instrument's cells now, V rms; NaN while not known.</summary>
    public double NowV(int instrument) => _quickReadings[instrument] < Least ? double.NaN : Math.Sqrt(_quick[instrument]);

    /// <summary>The same at the last rest; NaN while there was none.</summary>
    public double ReferenceV(int instrument) => _referenceV[instrument];

    public void Step(Snapshot snapshot, Facts facts, Measures measures)
    {
        _sum.AsSpan().Clear();
        _cells.AsSpan().Clear();
        var commonV = double.IsNaN(_lastMedianV) || double.IsNaN(facts.MedianV) ? 0 : facts.MedianV - _lastMedianV;
        _lastMedianV = facts.MedianV;
        if (!(Math.Abs(facts.CurrentA - _lastA) <= Math.Max(SteadyA, SteadyShare * Math.Abs(_lastA)))) _leaveOut = ScansLeftOut;
        else if (_leaveOut > 0) _leaveOut--;
        _lastA = facts.CurrentA;
        for (var cell = 0; cell < _last.Length; cell++)
        {
            if (snapshot.CellQuality[cell] != Quality.Good) continue;
            var square = Take(cell, snapshot.RawCellVoltageV[cell], facts.Time.ElapsedUs - snapshot.AgeUs[cell], commonV);
            if (double.IsNaN(square) || _leaveOut > 0) continue;
            var instrument = _instruments.OfChannel(cell);
            _sum[instrument] += square;
            _cells[instrument]++;
        }

        for (var instrument = 0; instrument < _quick.Length; instrument++)
        {
            if (_cells[instrument] == 0) continue;
            _quickReadings[instrument] = Math.Min(_quickReadings[instrument] + 1, Least);
            _quick[instrument] += (_sum[instrument] / _cells[instrument] - _quick[instrument]) / Math.Min(_quickReadings[instrument], QuickMemory);
        }

        var charging = facts.Mode == PackMode.Charging && facts.ModeForS >= 30;
        for (var instrument = 0; instrument < _referenceV.Length; instrument++)
        {
            var nowV = NowV(instrument);
            if (facts.Mode == PackMode.Rest && facts.ModeForS >= 60 && !double.IsNaN(nowV)) Refer(instrument, nowV, facts.DtS);
            if (charging && !double.IsNaN(nowV) && !double.IsNaN(_referenceV[instrument]))
                measures.Set(Quantity.NoiseRatio, instrument, Math.Max(nowV, FloorV) / Math.Max(_referenceV[instrument], FloorV));
            else measures.SetNone(Quantity.NoiseRatio, instrument, Availability.Stale);
        }
    }

    /// <summary>Follows the noise at rest over a minute.</summary>
    private void Refer(int instrument, double nowV, double dtS) =>
        _referenceV[instrument] = double.IsNaN(_referenceV[instrument]) ? nowV : _referenceV[instrument] + Math.Min(1, dtS / ReferenceS) * (nowV - _referenceV[instrument]);

    /// <summary>Half the squared difference of this reading from the one before; NaN where it is not a new one.</summary>
    private double Take(int cell, double v, long arrivedUs, double commonV)
    {
        // A scan faster than the board shows one reading several times: only a new one counts.
        if (Math.Abs(arrivedUs - _arrivedUs[cell]) < 1000 && v == _last[cell]) return double.NaN;
        var difference = v - _last[cell] - commonV;
        (_last[cell], _arrivedUs[cell]) = (v, arrivedUs);
        if (double.IsNaN(difference)) return double.NaN;
        _count[cell]++;
        _variance[cell] += (difference * difference / 2 - _variance[cell]) / Math.Min(_count[cell], Memory);
        return difference * difference / 2;
    }
}
