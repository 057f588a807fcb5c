using CellWatch.Core.Engine;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Checks;

/// <summary>
/// Noise as a sign of life: a value that is the same to the last digit in twenty scans in which most of its module's other cells moved is not
/// measured, whatever the current does. Where a board's steps are coarser than its noise most cells repeat, and such scans do not count.
/// <para>Chance: with noise of 1 mV a reading repeats with 28 % at steps of 1 mV and 3 % at 0.1 mV; twenty in a row come once in 10^11
/// tries. A value must change three times before it is believed again. Own rule; it finds in seconds what a change of current finds later.</para>
/// </summary>
internal sealed class StillnessCheck(int cells)
{
    private const int ScansToDoubt = 20;
    private const int ChangesToBelieve = 3;
    private const int LeastOthers = 3;
    private const double MostOfThem = 0.75;

    private readonly double[] _last = new double[cells];
    private readonly byte[] _same = new byte[cells];
    private readonly byte[] _disbelief = new byte[cells];

    public void Step(SnapshotBuffer snapshot, Facts facts)
    {
        var layout = facts.Layout;
        for (var module = 0; module < layout.Modules.Length; module++) StepModule(snapshot, facts, layout.FirstCell(module), layout.FirstCell(module + 1));
    }

    private void StepModule(SnapshotBuffer snapshot, Facts facts, int first, int end)
    {
        var (seen, moved) = (0, 0);
        for (var cell = first; cell < end; cell++)
        {
            if (snapshot.Qualities[cell] is Quality.Missing or Quality.Stale) continue;
            seen++;
            if (snapshot.Values[cell] != _last[cell]) moved++;
        }

        for (var cell = first; cell < end; cell++)
        {
            if (snapshot.Qualities[cell] is Quality.Missing or Quality.Stale) continue;
            if (snapshot.Values[cell] != _last[cell])
            {
                (_last[cell], _same[cell]) = (snapshot.Values[cell], 0);
                if (_disbelief[cell] > 0) _disbelief[cell]--;
            }
            else if (seen - 1 >= LeastOthers && moved >= MostOfThem * (seen - 1) && ++_same[cell] >= ScansToDoubt)
            {
                (_same[cell], _disbelief[cell]) = (ScansToDoubt - 1, ChangesToBelieve);
            }

            if (_disbelief[cell] > 0 && snapshot.Qualities[cell] == Quality.Good) facts.Doubts.Lower(snapshot, cell, Doubt.StandsStill, Quality.Stuck);
        }
    }
}
