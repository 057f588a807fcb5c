using CellWatch.Core.Engine;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Checks;

/// <summary>
/// Two neighbours that move apart by the same amount in opposite directions share a bad lead: the middle tap moved, not two cells.
/// <para>With one of them bleeding, bleed current times lead resistance shows at once (0.124 A through 0.5 ohm is 62 mV). Without bleeding
/// only a change at a steady current counts, because two cells of unlike resistance also move apart under load. An end tap has only
/// one neighbour and cannot be told this way.</para>
/// </summary>
internal sealed class MirrorCheck
{
    /// <summary>Smaller than this is ordinary lead drop and noise.</summary>
    private const double LeastV = 0.010;

    /// <summary>Without a level from before, both must stand this far out while one bleeds.</summary>
    private const double LeastStandingV = 0.020;

    private const double ToleranceV = 0.002;
    private const double ToleranceShare = 0.1;
    private const double SteadyA = 2;

    /// <summary>How slowly the level from before follows, s.</summary>
    private const double BaselineS = 120;

    /// <summary>How long a level must have been followed before a change from it counts, s.</summary>
    private const double SettledS = 60;

    private readonly PackLayout _layout;
    private readonly double[] _deviation;
    private readonly double[] _baseline;
    private readonly double[] _followedS;
    private readonly bool[] _good;
    private readonly bool[] _mirrored;
    private readonly double[] _scratch = new double[ModuleTopology.MaxSeries];
    private double _baselineA = double.NaN;

    public MirrorCheck(PackLayout layout)
    {
        _layout = layout;
        _deviation = new double[layout.CellCount];
        _baseline = new double[layout.CellCount];
        _followedS = new double[layout.CellCount];
        _good = new bool[layout.CellCount];
        _mirrored = new bool[layout.CellCount];
    }

    public void Step(SnapshotBuffer snapshot, Facts facts)
    {
        if (!(Math.Abs(facts.CurrentA - _baselineA) <= SteadyA))
        {
            // Another current is another pattern of drops: begin anew.
            _baselineA = facts.CurrentA;
            _followedS.AsSpan().Clear();
        }

        for (var module = 0; module < _layout.Modules.Length; module++)
        {
            var first = _layout.FirstCell(module);
            var count = _layout.FirstCell(module + 1) - first;
            if (count < 3) continue;
            Deviations(snapshot, first, count);
            _mirrored.AsSpan(first, count).Clear();
            for (var cell = first; cell < first + count - 1; cell++)
                if (_good[cell] && _good[cell + 1] && IsMirrored(snapshot, cell)) _mirrored[cell] = _mirrored[cell + 1] = Mark(snapshot, facts, cell);
            Follow(snapshot, facts.DtS, first, count);
        }
    }

    private void Deviations(SnapshotBuffer snapshot, int first, int count)
    {
        var known = 0;
        for (var cell = first; cell < first + count; cell++)
        {
            _good[cell] = snapshot.Qualities[cell] == Quality.Good;
            if (_good[cell]) _scratch[known++] = snapshot.Values[cell];
        }

        if (known < 3) _good.AsSpan(first, count).Clear();
        var median = Robust.MedianInPlace(_scratch.AsSpan(0, known));
        for (var cell = first; cell < first + count; cell++) _deviation[cell] = snapshot.Values[cell] - median;
    }

    private bool IsMirrored(SnapshotBuffer snapshot, int cell)
    {
        var bleeds = snapshot.View.IsBleeding(cell) || snapshot.View.IsBleeding(cell + 1);
        var hasBefore = _followedS[cell] >= SettledS && _followedS[cell + 1] >= SettledS;
        if (!bleeds && !hasBefore) return false;
        var below = hasBefore ? _deviation[cell] - _baseline[cell] : _deviation[cell];
        var above = hasBefore ? _deviation[cell + 1] - _baseline[cell + 1] : _deviation[cell + 1];
        var size = Math.Min(Math.Abs(below), Math.Abs(above));
        if (size < (hasBefore ? LeastV : LeastStandingV)) return false;
        return below * above < 0 && Math.Abs(below + above) <= Math.Max(ToleranceV, ToleranceShare * size);
    }

    private static bool Mark(SnapshotBuffer snapshot, Facts facts, int cell)
    {
        facts.Doubts.Lower(snapshot, cell, Doubt.SharedLead, Quality.Doubtful, cell + 1);
        facts.Doubts.Lower(snapshot, cell + 1, Doubt.SharedLead, Quality.Doubtful, cell);
        return true;
    }

    /// <summary>Follows the level while nothing bleeds beside it and nothing is mirrored.</summary>
    private void Follow(SnapshotBuffer snapshot, double dtS, int first, int count)
    {
        var keep = Math.Exp(-dtS / BaselineS);
        for (var cell = first; cell < first + count; cell++)
        {
            if (!_good[cell] || _mirrored[cell] || snapshot.View.IsBleeding(cell)) continue;
            if (cell > first && snapshot.View.IsBleeding(cell - 1) || cell < first + count - 1 && snapshot.View.IsBleeding(cell + 1)) continue;
            _baseline[cell] = _followedS[cell] == 0 ? _deviation[cell] : keep * _baseline[cell] + (1 - keep) * _deviation[cell];
            _followedS[cell] += dtS > 0 ? dtS : 1e-3;
        }
    }
}
