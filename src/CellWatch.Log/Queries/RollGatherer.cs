using CellWatch.Core.Snapshots;
using CellWatch.Log.Codec;
using CellWatch.Log.Store;

namespace CellWatch.Log.Queries;

/// <summary>Puts buckets of roll-up blocks into the columns of a grid.</summary>
/// <param name="grid">Where they go.</param>
/// <param name="wanted">What is wanted of each layout.</param>
/// <param name="layoutOf">Gives a layout by its revision.</param>
/// <param name="clock">Gives wall time.</param>
/// <param name="tally">Counts what has answered.</param>
internal sealed class RollGatherer(ColumnGrid grid, Wanted wanted, Func<int, KnownLayout?> layoutOf, ClockTable clock, Tally tally)
{
    private readonly RollUpBlock _blocks = new();

    /// <summary>Whether these are coarser than what was asked for, and answer only for snapshots that nothing finer has.</summary>
    public bool StandsIn { get; set; }

    /// <summary>Adds those buckets of a block that nothing has answered yet.</summary>
    /// <exception cref="DamagedBlockException">The block is damaged; nothing of it was added.</exception>
    public void Add(ReadOnlySpan<byte> block, Uncovered uncovered)
    {
        var layout = layoutOf(RollUpBlock.LayoutOf(block)) ?? throw new DamagedBlockException("its layout is not in the file");
        var series = wanted.SeriesOf(layout);
        var rollUp = _blocks.Decode(block, series, _ => layout.Kinds);
        var lengthUs = rollUp.Seconds * 1_000_000L;
        var (columns, shares) = (new int[rollUp.Buckets.Count], new double[rollUp.Buckets.Count]);
        var lastsUs = LastsUs(rollUp, lengthUs);
        for (var b = 0; b < columns.Length; b++) (columns[b], shares[b]) = Place(rollUp.Buckets[b] * lengthUs, lengthUs, lastsUs, rollUp.Snapshots[b], uncovered);

        for (var i = 0; i < series.Length; i++)
        {
            if (series[i] < 0) continue;
            var perUnit = rollUp.StepsPerUnit[series[i]];
            var into = grid[i];
            var cells = rollUp.Cells[series[i]];
            for (var b = 0; b < columns.Length; b++)
            {
                var cell = cells[b];
                if (columns[b] < 0 || cell.Good == 0) continue;
                var good = shares[b] == 1 ? cell.Good : (int)Math.Round(cell.Good * shares[b]);
                into.Add(columns[b], cell.Min / perUnit, cell.Max / perUnit, cell.Sum / perUnit * good / cell.Good, good);
            }
        }
    }

    /// <summary>The column of a bucket, -1 for none, and the share of its snapshots that nothing finer has answered for.</summary>
    private (int Column, double Share) Place(long us, long lengthUs, long lastsUs, int snapshots, Uncovered uncovered)
    {
        if (!StandsIn)
        {
            if (!uncovered.Contains(us)) return (-1, 0);
            tally.Add(us, snapshots);
            return (grid.Place(us, lastsUs, snapshots, clock.WallMs(us)), 1);
        }

        if (uncovered.FirstIn(us, lengthUs) is not { } first) return (-1, 0);
        var answered = tally.In(us, lengthUs);
        var lacking = snapshots - answered;
        // At the edge of what was asked, what answers beyond it is not all known: there a bucket stands in only where nothing finer does.
        if (lacking <= 0 || (answered > 0 && !uncovered.IsAskedWhole(us, lengthUs))) return (-1, 0);
        tally.Add(us, lacking);
        return (grid.Place(first, us + lastsUs - first, lacking, clock.WallMs(first)), (double)lacking / snapshots);
    }

    /// <summary>
    /// How long a bucket's data stand for: to its end, and on until two and a half periods have passed since its last snapshot, as at full rate.
    /// </summary>
    private static long LastsUs(RollUp rollUp, long lengthUs)
    {
        var n = rollUp.Buckets.Count - 1;
        if (n < 1) return lengthUs;
        var usual = rollUp.Snapshots.Order().ElementAt(n / 2);
        if (usual > 1) return lengthUs + (3 * lengthUs / usual / 2);
        // Snapshots are rarer than buckets: their period is the distance of buckets.
        var steps = new long[n];
        for (var b = 0; b < n; b++) steps[b] = rollUp.Buckets[b + 1] - rollUp.Buckets[b];
        Array.Sort(steps);
        return 5 * steps[n / 2] * lengthUs / 2;
    }
}
