using CellWatch.Core.History;
using CellWatch.Core.Statistics;

namespace CellWatch.Dashboard.Strips;

/// <summary>A cell that left its place among the others.</summary>
/// <param name="Channel">The cell.</param>
/// <param name="UnixMs">First column in which it had.</param>
/// <param name="MovedV">How far it had gone by then, V; positive is up.</param>
public readonly record struct Moved(string Channel, long UnixMs, double MovedV);

/// <summary>
/// All cells over the same columns, each with its mean: they can be set against each other, which the least and greatest of a column cannot
/// where the pack's voltage moves within it.
/// </summary>
/// <param name="Cells">One trace a cell, in string order.</param>
public sealed record Crowd(Core.History.Traces Cells)
{
    /// <summary>What counts as moved, V (own rule: five times the last digit shown, above the noise of a scan).</summary>
    public const double MovedBeyondV = 0.005;

    /// <summary>A cell must stay moved over so many columns: one odd column is noise.</summary>
    public const int ForColumns = 3;

    private const int PlaceColumns = 10;

    /// <summary>Median of the cells in each column, V; NaN where none was known.</summary>
    public double[] MedianV { get; } = Middle(Cells);

    /// <summary>The columns.</summary>
    public TimeColumns Columns => Cells.Columns;

    /// <summary>Distance of a cell from the median in a column, V; NaN where it was not known.</summary>
    public double DeviationV(int cell, int column) => Cells.Channels[cell].Mean[column] - MedianV[column];

    /// <summary>Least and greatest distance from the median in a column, V; NaN where no cell was known.</summary>
    public (double Least, double Greatest) Reach(int column)
    {
        var (least, greatest) = (double.NaN, double.NaN);
        for (var cell = 0; cell < Cells.Channels.Length; cell++)
        {
            var v = DeviationV(cell, column);
            if (!(v >= least)) least = double.IsNaN(v) ? least : v;
            if (!(v <= greatest)) greatest = double.IsNaN(v) ? greatest : v;
        }

        return (least, greatest);
    }

    /// <summary>The column in which the cells lie widest apart; null where none was known.</summary>
    public (int Column, double SpreadV)? Widest()
    {
        (int Column, double SpreadV)? widest = null;
        for (var i = 0; i < Columns.Count; i++)
            if (Reach(i) is var (least, greatest) && greatest - least is var spread && spread > (widest?.SpreadV ?? -1)) widest = (i, spread);
        return widest;
    }

    /// <summary>Cells that left the place they had in the first columns, the first to leave first.</summary>
    public IReadOnlyList<Moved> FirstToMove()
    {
        var moved = new List<Moved>();
        for (var cell = 0; cell < Cells.Channels.Length; cell++)
        {
            var place = Place(cell);
            var run = 0;
            for (var i = 0; i < Columns.Count && double.IsFinite(place); i++)
            {
                run = Math.Abs(DeviationV(cell, i) - place) > MovedBeyondV ? run + 1 : 0;
                if (run < ForColumns) continue;
                moved.Add(new Moved(Cells.Channels[cell].Channel, Columns.StartUnixMs[i - ForColumns + 1], DeviationV(cell, i) - place));
                break;
            }
        }

        return [.. moved.OrderBy(m => m.UnixMs).ThenByDescending(m => Math.Abs(m.MovedV))];
    }

    private double Place(int cell)
    {
        var first = Enumerable.Range(0, Columns.Count).Select(i => DeviationV(cell, i)).Where(double.IsFinite).Take(PlaceColumns).ToArray();
        return first.Length == 0 ? double.NaN : Robust.Median(first);
    }

    private static double[] Middle(Core.History.Traces cells)
    {
        var median = new double[cells.Columns.Count];
        for (var i = 0; i < median.Length; i++)
        {
            var known = cells.Channels.Select(c => c.Mean[i]).Where(double.IsFinite).ToArray();
            median[i] = known.Length == 0 ? double.NaN : Robust.Median(known);
        }

        return median;
    }
}
