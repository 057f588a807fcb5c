using CellWatch.Core.Engine;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Checks;

/// <summary>
/// A value that is the same to the last digit for two minutes while the current changes by 50 A (half the capacity in A for small
/// cells) is not measured. When all cells of an instrument stand still through such a change for five seconds, its frame repeats.
/// A value must change three times before it is believed again.
/// </summary>
internal sealed class StuckCheck
{
    private const long StuckUs = 120_000_000;
    private const long RepeatedUs = 5_000_000;
    private const int ChangesToBelieve = 3;
    private const int LeastCellsOfAFrame = 3;

    private readonly double[] _value;
    private readonly long[] _sameSinceUs;
    private readonly double[] _lowestA;
    private readonly double[] _highestA;
    private readonly byte[] _disbelief;
    private readonly int[] _still;
    private readonly int[] _seen;

    public StuckCheck(int cells, int instruments)
    {
        _value = new double[cells];
        _value.AsSpan().Fill(double.NaN);
        _sameSinceUs = new long[cells];
        _lowestA = new double[cells];
        _highestA = new double[cells];
        _disbelief = new byte[cells];
        _still = new int[instruments];
        _seen = new int[instruments];
    }

    public void Step(SnapshotBuffer snapshot, Facts facts)
    {
        var now = facts.Time.ElapsedUs;
        var changeA = Math.Min(50, 0.5 * (facts.Options.CapacityAh ?? 100));
        _still.AsSpan().Clear();
        _seen.AsSpan().Clear();
        var values = snapshot.Values;
        var qualities = snapshot.Qualities;
        for (var cell = 0; cell < _value.Length; cell++)
        {
            if (qualities[cell] is Quality.Missing or Quality.Stale) continue;
            if (values[cell] != _value[cell])
            {
                _value[cell] = values[cell];
                _sameSinceUs[cell] = now;
                (_lowestA[cell], _highestA[cell]) = (facts.CurrentA, facts.CurrentA);
                if (_disbelief[cell] > 0) _disbelief[cell]--;
            }
            else if (facts.CurrentKnown && !facts.CurrentInDoubt)
            {
                // Comparisons with NaN are false, so a current first seen now starts the range.
                if (!(_lowestA[cell] <= facts.CurrentA)) _lowestA[cell] = facts.CurrentA;
                if (!(_highestA[cell] >= facts.CurrentA)) _highestA[cell] = facts.CurrentA;
            }

            var instrument = facts.Instruments.OfChannel(cell);
            _seen[instrument]++;
            var moved = _highestA[cell] - _lowestA[cell] >= changeA;
            if (moved && now - _sameSinceUs[cell] >= RepeatedUs) _still[instrument]++;
            if (moved && now - _sameSinceUs[cell] >= StuckUs) _disbelief[cell] = ChangesToBelieve;
            if (_disbelief[cell] > 0) facts.Doubts.Lower(snapshot, cell, Doubt.DoesNotMove, Quality.Stuck);
        }

        for (var instrument = 0; instrument < _still.Length; instrument++)
            if (_seen[instrument] >= LeastCellsOfAFrame && _still[instrument] == _seen[instrument]) Repeats(snapshot, facts, instrument);
    }

    private void Repeats(SnapshotBuffer snapshot, Facts facts, int instrument)
    {
        for (var cell = 0; cell < _value.Length; cell++)
            if (facts.Instruments.OfChannel(cell) == instrument) facts.Doubts.Lower(snapshot, cell, Doubt.RepeatedFrame, Quality.Stuck);
    }
}
