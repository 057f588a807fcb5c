using CellWatch.Core.Checks;
using CellWatch.Core.Engine;
using CellWatch.Core.Estimation;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Imbalance;

/// <summary>
/// Why does a cell stand out? Gathers each cell's distance from the median cell in Ah over rests, charges and discharges, and reads the causes from
/// how it changes: the same Ah everywhere is a charge offset; in step with charge moved is capacity; in step with time is a leak; in step with
/// current is resistance. A cause is named only when the figures exclude its rivals; else the test that would decide is named.
/// <para>Source: the four signatures of <see cref="FourSignatures"/>; the bounds between causes are rules of this program, set from how far cells of one
/// make differ. Charge bled off is put back before judging. Only steady stretches are read: a hundred seconds of one current, or five minutes of
/// rest.</para>
/// </summary>
internal sealed class CauseFinder
{
    private const long BlockUs = 10_000_000;
    private const double SteadyS = 100;
    private const double RestS = 300;
    private const long RestEveryUs = 300_000_000;

    /// <summary>What cells of one make differ by in their curve, V.</summary>
    private const double CurveDifferenceV = 0.001;

    /// <summary>Shares of the capacity: an offset, and a shortfall of capacity, worth naming.</summary>
    private const double OffsetShare = 0.004, CapacityShare = 0.025;

    /// <summary>Excess resistance worth naming, as a share of the median cell's.</summary>
    private const double ResistanceShare = 0.2;

    /// <summary>A leak worth naming, A, and the hours it takes to show.</summary>
    private const double LeakA = 0.002, LeakHours = 72;

    /// <summary>Part of the capacity that must have moved before capacity and offset can be told apart.</summary>
    private const double SpanShare = 0.2;

    private readonly Facts _facts;
    private readonly CellEstimates _estimates;
    private readonly DeviationSums[] _sums;
    private readonly double[] _sumV;
    private readonly int[] _samples;
    private readonly double[] _levelAh;
    private readonly BleedCount _bled;
    private readonly ExcessHistory _excess;
    private readonly double[] _scratch;
    private long _blockBeganUs = long.MinValue;
    private long _lastRestUs = long.MinValue;
    private long _steadySinceUs;
    private double _steadyA = double.NaN;
    private double _sumA;
    private int _scans;
    private double _countedAh;
    private double _lastA = double.NaN;
    private bool _wholeHistory = true;

    public CauseFinder(Facts facts, CellEstimates estimates)
    {
        var cells = facts.Map.CellCount;
        (_facts, _estimates) = (facts, estimates);
        _sums = new DeviationSums[cells];
        _sumV = new double[cells];
        _samples = new int[cells];
        _levelAh = new double[cells];
        _bled = new BleedCount(facts.Map, facts.Options.BleedOhm);
        _scratch = new double[cells];
        _excess = new ExcessHistory(cells);
    }

    /// <summary>Charge bled off each cell since the start as its flag and resistor say.</summary>
    public BleedCount Bled => _bled;

    /// <summary>Takes one scan.</summary>
    public void Step(Snapshot snapshot)
    {
        _bled.Step(snapshot);
        if (_estimates.Bank is null || !_facts.CurrentKnown)
        {
            _lastA = double.NaN;
            return;
        }

        var now = _facts.Time.ElapsedUs;
        Count();
        if (_estimates.Bank.Resistance.HasNewTen) _excess.Take(_estimates.Bank.Resistance.LatestOhm(ResistanceTime.Ten), MedianOhm(ResistanceTime.Ten));
        if (!(Math.Abs(_facts.CurrentA - _steadyA) <= Math.Max(0.5, 0.03 * Math.Abs(_steadyA)))) (_steadyA, _steadySinceUs, _blockBeganUs) = (_facts.CurrentA, now, long.MinValue);

        var steadyS = (now - _steadySinceUs) * 1e-6;
        var rest = _facts.Mode == PackMode.Rest;
        if (steadyS < (rest ? RestS : SteadyS) || rest && _lastRestUs != long.MinValue && now - _lastRestUs < RestEveryUs) return;
        if (_blockBeganUs == long.MinValue) BeginBlock(now);
        _sumA += _facts.CurrentA;
        _scans++;
        for (var cell = 0; cell < _sumV.Length; cell++)
        {
            if (!_estimates.Usable[cell]) continue;
            _sumV[cell] += snapshot.RawCellVoltageV[cell];
            _samples[cell]++;
        }

        if (now - _blockBeganUs < BlockUs) return;
        CloseBlock(now);
        if (rest) _lastRestUs = now;
        _blockBeganUs = long.MinValue;
    }

    /// <summary>What is on record says about a cell.</summary>
    public CellFinding Find(Snapshot snapshot, int cell)
    {
        var doubt = _facts.Doubts.KindOf(cell);
        if (doubt == Doubt.SharedLead)
            return new(cell, SuspectedCause.BadLead, _facts.Doubts.InWords(_facts.Layout, cell, snapshot.CellQuality[cell]), _facts.Doubts.WhatDecides(_facts.Layout, cell), double.NaN, double.NaN, double.NaN, double.NaN);
        if (_estimates.Bank is null || _facts.Options.CapacityAh is not { } capacityAh)
            return Told(cell, SuspectedCause.Undecided, T("no capacity is stated, so nothing is told in Ah"), T("enter the capacity of a cell in the site file"));
        return CauseReader.Read(Evidence(cell, capacityAh));
    }

    private CauseEvidence Evidence(int cell, double capacityAh)
    {
        ref var sums = ref _sums[cell];
        Span<double> value = stackalloc double[4];
        Span<double> sigma = stackalloc double[4];
        var hasTime = sums.SpanH >= LeakHours;
        var fits = sums.Count >= 8 && (sums.TrySolve(hasTime, true, value, sigma) || sums.TrySolve(false, false, value, sigma));
        var slopeVPerAh = _estimates.Bank!.SlopeMvPerPercent(cell) / 10 / capacityAh;
        var curveAh = CurveDifferenceV / Math.Max(slopeVPerAh, 1e-5);
        var parallel = _facts.Layout.Modules[_facts.Layout.ModuleOfCell(cell)].Topology.Parallel;
        // Where sampling is fast enough a tenth of a second shows a joint apart even from what a cell does within two.
        var early = double.IsNaN(Ohm(cell, ResistanceTime.Tenth)) ? ResistanceTime.Two : ResistanceTime.Tenth;
        return new CauseEvidence
        {
            Cell = cell,
            Fits = fits,
            NominalAh = capacityAh,
            NowAh = _countedAh,
            SpanAh = sums.SpanAh,
            RangeAh = sums.RangeAh,
            SpanH = sums.SpanH,
            HasTime = hasTime,
            BledAh = _bled.CountedAh(cell),
            OffsetAh = fits ? value[0] : double.NaN,
            OffsetSigmaAh = fits ? Math.Max(sigma[0], curveAh) : double.NaN,
            CapacityTerm = fits ? value[1] : double.NaN,
            CapacityTermSigma = fits ? Math.Sqrt(sigma[1] * sigma[1] + Squared(curveAh / Math.Max(1, sums.SpanAh))) : double.NaN,
            LeakA = fits && hasTime ? -value[2] : double.NaN,
            LeakSigmaA = fits && hasTime ? Math.Max(sigma[2], curveAh / Math.Max(1, sums.SpanH)) : double.NaN,
            Ohm10 = Ohm(cell, ResistanceTime.Ten),
            MedianOhm10 = MedianOhm(ResistanceTime.Ten),
            EarlyOhm = Ohm(cell, early),
            MedianEarlyOhm = MedianOhm(early),
            Excess = _excess.Read(cell),
            LevelPercent = _facts.SocPercent,
            Parallel = parallel,
            WholeHistory = _wholeHistory,
            WorthAh = OffsetShare * capacityAh,
            WorthCapacity = CapacityShare,
            WorthOhmShare = ResistanceShare,
            WorthLeakA = LeakA,
            LeakHours = LeakHours,
            SpanNeededAh = SpanShare * capacityAh,
            BleedA = _facts.MedianV / _facts.Options.BleedOhm,
        };
    }

    private void Count()
    {
        if (double.IsFinite(_lastA) && _facts.DtS is > 0 and < 120) _countedAh += ChargeCounter.TrapezoidAh(_lastA, _facts.CurrentA, _facts.DtS);
        else if (double.IsFinite(_lastA) && _facts.DtS >= 120)
        {
            // What flowed unseen is not known: what was gathered before cannot be compared with what comes.
            _sums.AsSpan().Clear();
            _wholeHistory = false;
        }

        _lastA = _facts.CurrentA;
    }

    private void BeginBlock(long now)
    {
        _blockBeganUs = now;
        (_sumA, _scans) = (0, 0);
        _sumV.AsSpan().Clear();
        _samples.AsSpan().Clear();
    }

    private void CloseBlock(long now)
    {
        var currentA = _sumA / _scans;
        var bank = _estimates.Bank!;
        var capacityAh = _facts.Options.CapacityAh!.Value;
        var medianOhm = MedianOhm(ResistanceTime.Ten);
        if (double.IsNaN(medianOhm)) medianOhm = _facts.Options.ResistanceOhm;
        var known = 0;
        for (var cell = 0; cell < _sums.Length; cell++)
        {
            _levelAh[cell] = double.NaN;
            if (_samples[cell] == 0 || bank.CurveDoesNotFit[cell]) continue;
            // What answers within 10 s is known of each cell and taken out; the slow rest is left to be found as dR.
            var ohm = Ohm(cell, ResistanceTime.Ten);
            var lookup = bank.Curve.SocAt(_sumV[cell] / _samples[cell] - currentA * (double.IsNaN(ohm) ? medianOhm : ohm));
            if (!lookup.IsTold) continue;
            _levelAh[cell] = lookup.SocPercent / 100 * capacityAh;
            _scratch[known++] = _levelAh[cell];
        }

        if (known < Math.Max(1, _sums.Length / 2)) return;
        var median = Robust.MedianInPlace(_scratch.AsSpan(0, known));
        var slope = bank.Curve.SlopeAt(Math.Clamp(100 * median / capacityAh, bank.Curve.BottomSocPercent, bank.Curve.TopSocPercent));
        var slopeVPerAh = slope / 10 / capacityAh;
        var hours = (now - _facts.FirstElapsedUs) / 3.6e9;
        var weight = Math.Min(400, slope * slope);
        for (var cell = 0; cell < _sums.Length; cell++)
            if (!double.IsNaN(_levelAh[cell])) _sums[cell].Add(_countedAh, hours, currentA / slopeVPerAh, _levelAh[cell] - median + _bled.CountedAh(cell), weight);
    }

    private double Ohm(int cell, ResistanceTime time) => _estimates.Bank!.Resistance.LatestOhm(time)[cell];

    private double MedianOhm(ResistanceTime time)
    {
        var ohm = _estimates.Bank!.Resistance.LatestOhm(time);
        var known = 0;
        foreach (var r in ohm)
            if (!double.IsNaN(r)) _scratch[known++] = r;
        return known == 0 ? double.NaN : Robust.MedianInPlace(_scratch.AsSpan(0, known));
    }

    private static CellFinding Told(int cell, SuspectedCause cause, string evidence, string decides) => new(cell, cause, evidence, decides, double.NaN, double.NaN, double.NaN, double.NaN);

    private static double Squared(double x) => x * x;
}
