using CellWatch.Core.Engine;
using CellWatch.Core.Estimation;
using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.Live;

namespace CellWatch.Core.Charging;

/// <summary>
/// Who will be at the charge target first, and when. It often is not the cell highest now.
/// <para>For each cell: its level from its own voltage less current times its own resistance, through the curve; its pace, percent per Ah, from
/// a straight line of that level on the charge counted in this charge (a cell of less capacity climbs faster), drawn towards its
/// stated or learned capacity as long as the line is short; the level it has at the target at this current; the rest is division.
/// The resistance enters both ends alike, so an error in it almost cancels.</para>
/// <para>Source: own derivation from the circuit model. Readings are averaged in blocks of 5 s; what the checks do not believe never
/// enters. Just after a change of current all cells relax alike, so only paces relative to the median are used for 100 s.</para>
/// </summary>
internal sealed class LimitForecast
{
    private const long BlockUs = 5_000_000;

    /// <summary>Memory of the line, s: shorter than the span over which a foreign curve bends away.</summary>
    private const double MemoryS = 900;

    /// <summary>Two time constants of a cell's slow part (45 to 60 s): what is drawn before is thrown away.</summary>
    private const double SettledS = 100;

    /// <summary>Doubt added while the cells still relax after a change of current, as a share of the time.</summary>
    private const double UnsettledShare = 0.25;

    /// <summary>How far the pack's own pace may come to replace the one its stated capacity gives, and how long a line that takes.</summary>
    private const double MostOwnPace = 0.7, OwnPaceS = 600;

    /// <summary>How far capacities of cells of one make may differ before anything is measured.</summary>
    private const double PaceSigmaShare = 0.04;

    /// <summary>Doubt of the curve's shape ahead, as a share of the time.</summary>
    private const double CurveShare = 0.06;

    /// <summary>Change of current that begins a new line.</summary>
    private const double ChangeShare = 0.03;

    private readonly Facts _facts;
    private readonly CellEstimates _estimates;
    private readonly double[] _sumV;
    private readonly int[] _samples;
    private readonly PaceLine[] _line;
    private readonly double[] _level;
    private readonly double[] _pace;
    private readonly double[] _paceSigma;
    private readonly double[] _carriedPace;
    private readonly double[] _toTargetS;
    private readonly double[] _sigmaS;
    private readonly double[] _scratch;
    private long _blockBeganUs = long.MinValue;
    private double _blockAh;
    private double _blockSumA;
    private int _blockScans;
    private double _countedAh;
    private double _lineA = double.NaN;
    private long _lineBeganUs;
    private long _steadySinceUs;

    public LimitForecast(Facts facts, CellEstimates estimates)
    {
        var cells = facts.Map.CellCount;
        (_facts, _estimates) = (facts, estimates);
        _sumV = new double[cells];
        _samples = new int[cells];
        _line = new PaceLine[cells];
        _level = Filled(cells);
        _pace = Filled(cells);
        _paceSigma = Filled(cells);
        _carriedPace = Filled(cells);
        _toTargetS = Filled(cells);
        _sigmaS = Filled(cells);
        _scratch = new double[cells];
    }

    /// <summary>Time to the target of each cell from the last block on, s; NaN where it is not foreseen.</summary>
    public ReadOnlySpan<double> ToTargetS => _toTargetS;

    /// <summary>Standard deviation of it, s.</summary>
    public ReadOnlySpan<double> SigmaS => _sigmaS;

    /// <summary>Cell that will be first; -1 while nothing is foreseen.</summary>
    public int First { get; private set; } = -1;

    /// <summary>When the figures were worked out, µs.</summary>
    public long AsOfUs { get; private set; }

    /// <summary>Whether the cells have had time to relax since the current last changed.</summary>
    private bool IsSettled => _lineBeganUs > _steadySinceUs;

    /// <summary>Level of a cell, percent; NaN where not known.</summary>
    public double LevelPercent(int cell) => _level[cell];

    /// <summary>Rise of a cell's voltage at the present current, V/s.</summary>
    public double RiseVPerS(int cell)
    {
        if (_estimates.Curve is not { } curve || double.IsNaN(_level[cell])) return double.NaN;
        var level = Math.Clamp(_level[cell], curve.BottomSocPercent, curve.TopSocPercent);
        return curve.SlopeAt(level) / 1000 * _pace[cell] * _lineA / 3600;
    }

    /// <summary>Where a cell is expected after some seconds at this current, V; NaN where not known.</summary>
    public double VoltageAfter(int cell, double seconds)
    {
        if (_estimates.Curve is not { } curve || double.IsNaN(_level[cell])) return double.NaN;
        var level = Math.Clamp(_level[cell] + _pace[cell] * _lineA * seconds / 3600, curve.BottomSocPercent, curve.TopSocPercent);
        return curve.VoltageAt(level) + _lineA * _estimates.ResistanceOhm(cell, _facts.Options);
    }

    /// <summary>A new charge begins: nothing of the last one holds but the paces.</summary>
    public void Begin()
    {
        Restart();
        _lineA = double.NaN;
        _countedAh = 0;
        First = -1;
        _toTargetS.AsSpan().Fill(double.NaN);
        _level.AsSpan().Fill(double.NaN);
    }

    /// <summary>Takes one scan of a charge.</summary>
    /// <param name="cellV">Cell voltages.</param>
    /// <param name="targetV">Charge target.</param>
    public void Step(ReadOnlySpan<double> cellV, double targetV)
    {
        if (_estimates.Curve is null || !_facts.CurrentKnown) return;
        var now = _facts.Time.ElapsedUs;
        if (_blockBeganUs == long.MinValue) _blockBeganUs = now;
        if (_facts.DtS is > 0 and < 10) _blockAh += _facts.CurrentA * _facts.DtS / 3600;
        _blockSumA += _facts.CurrentA;
        _blockScans++;
        for (var cell = 0; cell < _sumV.Length; cell++)
        {
            if (!_estimates.Usable[cell]) continue;
            _sumV[cell] += cellV[cell];
            _samples[cell]++;
        }

        if (now - _blockBeganUs < BlockUs) return;
        CloseBlock(now, targetV);
        _blockBeganUs = now;
        (_blockAh, _blockSumA, _blockScans) = (0, 0, 0);
        _sumV.AsSpan().Clear();
        _samples.AsSpan().Clear();
    }

    private void CloseBlock(long now, double targetV)
    {
        var currentA = _blockSumA / _blockScans;
        // The middle of the block is where its means belong.
        var atAh = _countedAh + _blockAh / 2;
        _countedAh += _blockAh;
        var allowedA = Math.Max(0.5, ChangeShare * Math.Abs(_lineA));
        if (!(Math.Abs(currentA - _lineA) <= allowedA))
        {
            Restart();
            (_lineA, _steadySinceUs) = (currentA, now);
            return;
        }

        if (_lineBeganUs <= _steadySinceUs && (now - _steadySinceUs) * 1e-6 >= SettledS)
        {
            Restart();
            return;
        }

        _lineA += 0.1 * (currentA - _lineA);
        var curve = _estimates.Curve!;
        var keep = Math.Exp(-(now - _blockBeganUs) * 1e-6 / MemoryS);
        var found = 0;
        for (var cell = 0; cell < _line.Length; cell++)
        {
            if (_samples[cell] == 0) continue;
            var ocvV = _sumV[cell] / _samples[cell] - currentA * _estimates.ResistanceOhm(cell, _facts.Options);
            var lookup = curve.SocAt(ocvV);
            if (lookup.Answer is OcvAnswer.BelowBottom or OcvAnswer.AboveTop) continue;
            // Noise of a block in percent weighs the point: flat stretches of the curve say little.
            _line[cell].Add(atAh, lookup.SocPercent, Math.Clamp(lookup.SlopeMvPerPercent * lookup.SlopeMvPerPercent, 0.25, 400), keep);
            found++;
        }

        if (found == 0 || (now - _lineBeganUs) * 1e-6 < 20) return;
        Paces(now);
        Times(now, targetV, currentA);
    }

    private void Paces(long now)
    {
        var nominal = 100 / (_facts.Options.CapacityAh ?? double.NaN);
        var known = 0;
        for (var cell = 0; cell < _line.Length; cell++)
        {
            _pace[cell] = double.NaN;
            if (!_line[cell].TryFit(out var slope, out _)) continue;
            _scratch[known++] = slope;
        }

        var median = Statistics.Robust.MedianInPlace(_scratch.AsSpan(0, known));
        if (known == 0 || !(median > 0)) return;
        if (double.IsNaN(nominal)) nominal = median;
        // Where no capacity is stated the line's own pace is all there is.
        var own = IsSettled ? Math.Clamp((now - _lineBeganUs) * 1e-6 / OwnPaceS, 0, MostOwnPace) : 0;
        var packPace = nominal + own * (Math.Clamp(median, 0.75 * nominal, 1.3 * nominal) - nominal);
        for (var cell = 0; cell < _line.Length; cell++)
        {
            if (!_line[cell].TryFit(out var slope, out var sigma)) continue;
            var stated = StatedPace(cell, nominal);
            // Draw the line's pace, made relative to the pack's, towards what is stated, each by its doubt.
            double priorSigma = PaceSigmaShare * stated, lineSigma = Math.Max(sigma, 0.004 * stated) * packPace / median;
            double priorWeight = 1 / (priorSigma * priorSigma), lineWeight = 1 / (lineSigma * lineSigma);
            _pace[cell] = (stated * packPace / nominal * priorWeight + slope / median * packPace * lineWeight) / (priorWeight + lineWeight);
            _paceSigma[cell] = 1 / Math.Sqrt(priorWeight + lineWeight);
        }
    }

    private double StatedPace(int cell, double nominal)
    {
        if (!double.IsNaN(_carriedPace[cell])) return _carriedPace[cell] * nominal;
        return _estimates.Bank is { } bank && bank.CapacityPairs(cell) > 0 ? 100 / bank.CapacityAh[cell] : nominal;
    }

    private void Times(long now, double targetV, double currentA)
    {
        AsOfUs = now;
        First = -1;
        for (var cell = 0; cell < _line.Length; cell++)
        {
            _toTargetS[cell] = double.NaN;
            if (_samples[cell] == 0 || !(_pace[cell] > 0) || !_line[cell].TryValueAt(_countedAh, out var level, out var levelSigma)) continue;
            _level[cell] = level;
            var atTarget = _estimates.Curve!.SocAt(targetV - currentA * _estimates.ResistanceOhm(cell, _facts.Options));
            if (atTarget.Answer is OcvAnswer.BelowBottom) continue;
            var perSecond = _pace[cell] * currentA / 3600;
            var seconds = Math.Max(0, (atTarget.SocPercent - level) / perSecond);
            _toTargetS[cell] = seconds;
            double fromLevel = levelSigma / perSecond, fromPace = seconds * _paceSigma[cell] / _pace[cell];
            var fromCurve = (IsSettled ? CurveShare : UnsettledShare) * seconds;
            _sigmaS[cell] = Math.Sqrt(fromLevel * fromLevel + fromPace * fromPace + fromCurve * fromCurve);
            if (First < 0 || seconds < _toTargetS[First]) First = cell;
        }
    }

    private void Restart()
    {
        var nominal = 100 / (_facts.Options.CapacityAh ?? double.NaN);
        for (var cell = 0; cell < _line.Length; cell++)
        {
            // A pace once measured well goes on counting after a change of current.
            if (_paceSigma[cell] < 0.02 * _pace[cell] && nominal > 0) _carriedPace[cell] = _pace[cell] / nominal;
            _line[cell] = default;
        }

        _lineBeganUs = _facts.Time.ElapsedUs;
        _blockBeganUs = long.MinValue;
        (_blockAh, _blockSumA, _blockScans) = (0, 0, 0);
        _sumV.AsSpan().Clear();
        _samples.AsSpan().Clear();
    }

    private static double[] Filled(int count)
    {
        var a = new double[count];
        a.AsSpan().Fill(double.NaN);
        return a;
    }
}
