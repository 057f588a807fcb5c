using CellWatch.Core.Engine;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Checks;

/// <summary>
/// Neighbours whose values are equal to the last digit through twenty changes: the multiplexer reads one cell twice. Which of the two is
/// the copy cannot be told, so both are doubted. Where many pairs do so the readings are merely coarse, and none is.
/// </summary>
internal sealed class CopyCheck
{
    private const int ChangesToTell = 20;

    /// <summary>One pair in this many may be equal by a fault; more are equal by coarse readings.</summary>
    private const int PairsToOne = 20;

    private readonly double[] _last;
    private readonly int[] _equalChanges;
    private readonly bool[] _isPair;

    public CopyCheck(PackLayout layout)
    {
        _last = new double[layout.CellCount];
        _last.AsSpan().Fill(double.NaN);
        _equalChanges = new int[layout.CellCount];
        _isPair = new bool[layout.CellCount];
        for (var cell = 0; cell < layout.CellCount - 1; cell++) _isPair[cell] = layout.ModuleOfCell(cell) == layout.ModuleOfCell(cell + 1);
    }

    public void Step(SnapshotBuffer snapshot, Facts facts)
    {
        var values = snapshot.Values;
        var qualities = snapshot.Qualities;
        int copies = 0, pairs = 0;
        for (var cell = 0; cell < _last.Length; cell++)
        {
            if (_isPair[cell] && qualities[cell] == Quality.Good && qualities[cell + 1] == Quality.Good)
            {
                pairs++;
                if (values[cell] != values[cell + 1]) _equalChanges[cell] = 0;
                else if (values[cell] != _last[cell] && _equalChanges[cell] < ChangesToTell) _equalChanges[cell]++;
                if (_equalChanges[cell] >= ChangesToTell) copies++;
            }

            _last[cell] = values[cell];
        }

        if (copies == 0 || copies * PairsToOne > Math.Max(PairsToOne, pairs)) return;
        for (var cell = 0; cell < _last.Length; cell++)
        {
            if (_equalChanges[cell] < ChangesToTell) continue;
            facts.Doubts.Lower(snapshot, cell, Doubt.Copy, Quality.Doubtful, cell + 1);
            facts.Doubts.Lower(snapshot, cell + 1, Doubt.Copy, Quality.Doubtful, cell);
        }
    }
}
