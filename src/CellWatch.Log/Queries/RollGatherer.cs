using CellWatch.Core.Snapshots;
using CellWatch.Log.Codec;
using CellWatch.Log.Store;

namespace CellWatch.Log.Queries;

/// <summary>Puts buckets of roll-up blocks into the columns of a grid.</summary>
/// <param name="grid">Where they go.</param>
/// <param name="wanted">What is wanted of each layout.</param>
/// <param name="layoutOf">Gives a layout by its revision.</param>
/// <param name="clock">Gives wall time.</param>
internal sealed class RollGatherer(ColumnGrid grid, Wanted wanted, Func<int, KnownLayout?> layoutOf, ClockTable clock)
{
    private readonly RollUpBlock _blocks = new();

    /// <summary>Adds those buckets of a block that nothing has answered yet.</summary>
    /// <exception cref="DamagedBlockException">The block is damaged; nothing of it was added.</exception>
    public void Add(ReadOnlySpan<byte> block, Uncovered uncovered)
    {
        var layout = layoutOf(RollUpBlock.LayoutOf(block)) ?? throw new DamagedBlockException("its layout is not in the file");
        var series = wanted.SeriesOf(layout);
        var rollUp = _blocks.Decode(block, series, _ => layout.Kinds);
        var lengthUs = rollUp.Seconds * 1_000_000L;
        var columns = new int[rollUp.Buckets.Count];
        for (var b = 0; b < columns.Length; b++)
        {
            var us = rollUp.Buckets[b] * lengthUs;
            columns[b] = uncovered.Contains(us) ? grid.Place(us, lengthUs, rollUp.Snapshots[b], clock.WallMs(us)) : -1;
        }

        for (var i = 0; i < series.Length; i++)
        {
            if (series[i] < 0) continue;
            var perUnit = rollUp.StepsPerUnit[series[i]];
            var into = grid[i];
            var cells = rollUp.Cells[series[i]];
            for (var b = 0; b < columns.Length; b++)
            {
                var cell = cells[b];
                if (columns[b] >= 0 && cell.Good > 0) into.Add(columns[b], cell.Min / perUnit, cell.Max / perUnit, cell.Sum / perUnit, cell.Good);
            }
        }
    }
}
