using System.Collections.Immutable;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Strips;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Pages;

/// <summary>One row of the carpet as figures, mV from the median.</summary>
public sealed record CarpetRow(string Channel, string Mean, string Least, string LeastAt, string Greatest, string GreatestAt, string InUse, bool IsHoley);

/// <summary>The carpet in words and rows.</summary>
public static class CarpetWords
{
    /// <summary>Its scale, the cell farthest out, and the cells to doubt.</summary>
    public static string Summary(Carpet carpet, TraceReading reading, Picture picture)
    {
        var crowd = reading.Crowd;
        var scale = T($"Colours go from {Figures.Number(-carpet.ReachMv, 0)} to {Figures.With(carpet.ReachMv, 0, "mV", signed: true)}{(carpet.IsCut ? T(", some cells beyond") : "")}; hatched: nothing recorded or believed.");
        var farthest = Farthest(crowd, carpet.Rows) is var (cell, column)
            ? T($" Farthest of {Figures.Count(carpet.Rows.Length, T("cell"), T("cells"))}: {reading.Map.NameOf(cell)} {Figures.Deviation(crowd.DeviationV(cell, column))} at {TraceWords.When(crowd.Columns.StartUnixMs[column], reading, picture)}.")
            : "";
        var doubted = TraceFilter.NotAllBelieved(crowd).Where(carpet.Rows.Contains).Select(reading.Map.NameOf).ToList();
        var doubt = doubted.Count == 0 ? T(" Every scan was believed.")
            : T($" Underlined: not every scan was believed, of {(doubted.Count <= 6 ? string.Join(", ", doubted) : T($"{string.Join(", ", doubted.Take(5))} and {doubted.Count - 5} more"))}.");
        return scale + farthest + doubt;
    }

    /// <summary>What to do where the filter lets no cell through.</summary>
    public static string Nobody(TraceReading reading)
    {
        var filter = reading.Address.Filter;
        var state = TraceFilter.States.First(s => s.Key == filter.State).Words;
        return T($"No cell{(filter.Module.Length > 0 ? T($" of {filter.Module}") : "")} to show with “{state}” in this range. Choose another state, or show all cells.");
    }

    /// <summary>The figures, one row a cell.</summary>
    public static IEnumerable<CarpetRow> Rows(ImmutableArray<int> cells, TraceReading reading, Picture picture)
    {
        var crowd = reading.Crowd;
        var scans = crowd.Columns.Snapshots.Sum(s => (long)s);
        foreach (var cell in cells)
        {
            var known = Enumerable.Range(0, crowd.Columns.Count).Where(i => double.IsFinite(crowd.DeviationV(cell, i))).ToList();
            var share = scans > 0 ? crowd.Cells.Channels[cell].Good.Sum(g => (long)g) / (double)scans : 0;
            if (known.Count == 0)
            {
                yield return new CarpetRow(reading.Map.NameOf(cell), T("no value"), T("no value"), "", T("no value"), "", TraceWords.Share(share), true);
                continue;
            }

            var (least, greatest) = (known.MinBy(i => crowd.DeviationV(cell, i)), known.MaxBy(i => crowd.DeviationV(cell, i)));
            yield return new CarpetRow(
                reading.Map.NameOf(cell), Mv(known.Average(i => crowd.DeviationV(cell, i))),
                Mv(crowd.DeviationV(cell, least)), TraceWords.When(crowd.Columns.StartUnixMs[least], reading, picture),
                Mv(crowd.DeviationV(cell, greatest)), TraceWords.When(crowd.Columns.StartUnixMs[greatest], reading, picture),
                TraceWords.Share(share), share < 0.9995);
        }
    }

    private static (int Cell, int Column)? Farthest(Crowd crowd, ImmutableArray<int> cells)
    {
        (int Cell, int Column)? farthest = null;
        var most = -1.0;
        foreach (var cell in cells)
            for (var i = 0; i < crowd.Columns.Count; i++)
                if (Math.Abs(crowd.DeviationV(cell, i)) > most) (most, farthest) = (Math.Abs(crowd.DeviationV(cell, i)), (cell, i));
        return farthest;
    }

    private static string Mv(double deviationV) => Figures.Number(1000 * deviationV, 1, signed: true);
}
