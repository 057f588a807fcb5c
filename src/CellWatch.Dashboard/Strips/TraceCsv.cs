using System.Globalization;
using System.Text;
using CellWatch.Core.History;

namespace CellWatch.Dashboard.Strips;

/// <summary>
/// What is seen as a file of comma separated values (RFC 4180, read from memory): settings in lines that begin with #, units in heads, UTC in
/// ISO 8601. Where a column is one scan it holds the value as it came and its quality, else least, mean and greatest of the good values. An
/// empty field is a missing value; a line that says gap stands where nothing was recorded.
/// </summary>
public static class TraceCsv
{
    /// <summary>Writes a view.</summary>
    /// <param name="reading">The view.</param>
    /// <param name="site">Name of the site.</param>
    /// <param name="version">Version of the program.</param>
    /// <param name="simulated">Whether any value comes from a model.</param>
    public static string Write(TraceReading reading, string site, string version, bool simulated)
    {
        var csv = Head(reading, site, version, simulated);
        var columns = reading.Lines.Columns;
        csv.Append(CultureInfo.InvariantCulture, $"# {(reading.IsRaw ? "each line is one scan, with the value as it came and its quality" : $"each line is {columns.ColumnMs / 1000:0.###} s: least, mean and greatest of the good values")}\r\n");
        csv.Append("# positive current charges; an empty field is a missing value, never zero\r\n");
        csv.Append("time_utc");
        foreach (var trace in reading.Lines.Channels)
        {
            var unit = trace.Unit.Length > 0 ? $" [{trace.Unit}]" : "";
            csv.Append(reading.IsRaw ? $",{trace.Channel}{unit},{trace.Channel} quality" : $",{trace.Channel} least{unit},{trace.Channel} mean{unit},{trace.Channel} greatest{unit}");
        }

        csv.Append(",all cells least [V],all cells mean [V],all cells greatest [V]\r\n");
        var crowd = new Dictionary<long, int>();
        for (var i = 0; i < reading.Cells.Columns.Count; i++) crowd[reading.Cells.Columns.StartUnixMs[i]] = i;
        for (var i = 0; i < columns.Count; i++)
        {
            if (i > 0 && columns.BreakBefore[i]) csv.Append(CultureInfo.InvariantCulture, $"# gap until {Iso(columns.StartUnixMs[i])}\r\n");
            csv.Append(Iso(columns.StartUnixMs[i]));
            foreach (var trace in reading.Lines.Channels)
            {
                if (reading.IsRaw) csv.Append(CultureInfo.InvariantCulture, $",{Value(trace.Raw?[i] ?? trace.Mean[i])},{trace.Quality?[i].ToString() ?? ""}");
                else csv.Append(CultureInfo.InvariantCulture, $",{Value(trace.Min[i])},{Value(trace.Mean[i])},{Value(trace.Max[i])}");
            }

            csv.Append(crowd.TryGetValue(columns.StartUnixMs[i], out var c)
                ? $",{Value(reading.Cells.Min[c])},{Value(reading.Cells.Mean[c])},{Value(reading.Cells.Max[c])}\r\n"
                : ",,,\r\n");
        }

        return csv.ToString();
    }

    /// <summary>Writes the cells of the carpet, each as its distance from the median of all: what is drawn there, before it is made into colours.</summary>
    /// <param name="reading">The view; its filter says which cells.</param>
    /// <param name="site">Name of the site.</param>
    /// <param name="version">Version of the program.</param>
    /// <param name="simulated">Whether any value comes from a model.</param>
    public static string WriteCells(TraceReading reading, string site, string version, bool simulated)
    {
        var crowd = reading.Crowd;
        var cells = reading.Address.Filter.Cells(reading);
        var csv = Head(reading, site, version, simulated);
        csv.Append(CultureInfo.InvariantCulture, $"# {(crowd.Columns.ColumnMs == 0 ? "each line is one scan" : $"each line is {crowd.Columns.ColumnMs / 1000:0.###} s: mean of the good values")}, as distance from the median of all {reading.Map.CellCount} cells at that time\r\n");
        if (!reading.Address.Filter.IsOff) csv.Append(CultureInfo.InvariantCulture, $"# only {(reading.Address.Filter.Module.Length > 0 ? "module " + reading.Address.Filter.Module : "all modules")}, {TraceFilter.States.First(s => s.Key == reading.Address.Filter.State).Words}\r\n");
        csv.Append("# not believed: scans of the line in which the value was missing or not believed; an empty field is a missing value, never zero\r\n");
        csv.Append("time_utc,median [V],scans");
        foreach (var cell in cells) csv.Append(CultureInfo.InvariantCulture, $",{reading.Map.NameOf(cell)} deviation [mV],{reading.Map.NameOf(cell)} not believed");
        csv.Append("\r\n");
        for (var i = 0; i < crowd.Columns.Count; i++)
        {
            if (i > 0 && crowd.Columns.BreakBefore[i]) csv.Append(CultureInfo.InvariantCulture, $"# gap until {Iso(crowd.Columns.StartUnixMs[i])}\r\n");
            csv.Append(CultureInfo.InvariantCulture, $"{Iso(crowd.Columns.StartUnixMs[i])},{Value(crowd.MedianV[i])},{crowd.Columns.Snapshots[i]}");
            foreach (var cell in cells)
                csv.Append(CultureInfo.InvariantCulture, $",{Value(Math.Round(1000 * crowd.DeviationV(cell, i), 3))},{crowd.Columns.Snapshots[i] - crowd.Cells.Channels[cell].Good[i]}");
            csv.Append("\r\n");
        }

        return csv.ToString();
    }

    private static StringBuilder Head(TraceReading reading, string site, string version, bool simulated)
    {
        var csv = new StringBuilder();
        if (simulated) csv.Append("# SIMULATED DATA - no real cells\r\n");
        csv.Append(CultureInfo.InvariantCulture, $"# site {site}, CellWatch {version}\r\n");
        return csv.Append(CultureInfo.InvariantCulture, $"# from {Iso(reading.Address.Range.FromUnixMs)} to {Iso(reading.Address.Range.ToUnixMs)}, end not included\r\n");
    }

    private static string Value(double value) => double.IsFinite(value) ? value.ToString("0.######", CultureInfo.InvariantCulture) : "";

    private static string Iso(long unixMs) => DateTimeOffset.FromUnixTimeMilliseconds(unixMs).ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture);
}
