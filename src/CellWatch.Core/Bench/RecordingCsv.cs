using System.Globalization;
using CellWatch.Core.Wording;

namespace CellWatch.Core.Bench;

/// <summary>
/// A recording as a CSV file: comma, decimal point, one header row with units in the names. Columns: <c>time_s</c>, <c>current_A</c> (positive
/// charges), <c>cell1_V</c> and on (or <c>voltage_V</c> for one cell), <c>temp1_degC</c> and on, <c>tester_Ah</c>. Other columns are passed over; an
/// empty field has no value.
/// </summary>
/// <param name="TimeS">Seconds.</param>
/// <param name="CurrentA">Current.</param>
/// <param name="CellV">One array a cell.</param>
/// <param name="HottestDegC">Hottest probe of each row; null where none was recorded.</param>
/// <param name="TesterAh">The tester's counter; null where there is none.</param>
public sealed record RecordingCsv(double[] TimeS, double[] CurrentA, double[][] CellV, double[]? HottestDegC, double[]? TesterAh)
{
    /// <summary>Reads a file's text.</summary>
    /// <exception cref="Register.RefusedException">A column is missing or a field is no number; the message says where.</exception>
    public static RecordingCsv Parse(string text)
    {
        var lines = text.Split('\n').Select(l => l.TrimEnd('\r')).ToList();
        while (lines.Count > 0 && lines[^1].Length == 0) lines.RemoveAt(lines.Count - 1);
        Register.RefusedException.Unless(lines.Count > 1, T("The file holds no rows: a header row and at least one row of figures are needed."));
        var header = lines[0].TrimStart('\uFEFF').Split(',');
        var time = Needed(header, "time_s");
        var current = Needed(header, "current_A");
        var cells = Numbered(header, "cell", "_V");
        if (cells.Count == 0 && Array.IndexOf(header, "voltage_V") is var single and >= 0) cells.Add(single);
        Register.RefusedException.Unless(cells.Count > 0, T($"The header names no cell voltage: cell1_V and on, or voltage_V. It holds: {string.Join(", ", header)}."));
        var probes = Numbered(header, "temp", "_degC");
        var tester = Array.IndexOf(header, "tester_Ah");
        var rows = lines.Count - 1;
        var result = new RecordingCsv(new double[rows], new double[rows], [.. cells.Select(_ => new double[rows])], probes.Count == 0 ? null : new double[rows], tester < 0 ? null : new double[rows]);
        for (var i = 0; i < rows; i++)
        {
            var fields = lines[i + 1].Split(',');
            Register.RefusedException.Unless(fields.Length >= header.Length, T($"Line {i + 2} holds {fields.Length} fields, the header {header.Length}: the file is cut, or a comma stands for a decimal point."));
            double At(int column) => Figure(fields[column], header[column], i + 2);
            result.TimeS[i] = At(time);
            result.CurrentA[i] = At(current);
            for (var c = 0; c < cells.Count; c++) result.CellV[c][i] = At(cells[c]);
            if (result.HottestDegC is { } degC) degC[i] = probes.Select(At).Where(double.IsFinite).DefaultIfEmpty(double.NaN).Max();
            if (result.TesterAh is { } ah) ah[i] = At(tester);
        }

        return result;
    }

    /// <summary>As a discharge.</summary>
    public DischargeRecording Discharge => new(TimeS, CurrentA, CellV, HottestDegC, TesterAh);

    /// <summary>The longest hole under current, s: rows further apart than this many usual steps. 0 where there is none.</summary>
    public double LongestHoleS(double usualSteps = 20)
    {
        var used = CapacityTest.ForwardRows(TimeS, out _);
        if (used.Count < 3) return 0;
        var steps = new double[used.Count - 1];
        for (var i = 0; i < steps.Length; i++) steps[i] = TimeS[used[i + 1]] - TimeS[used[i]];
        var usual = Math.Max(1, Statistics.Robust.Median(steps));
        var longest = 0.0;
        for (var i = 0; i < steps.Length; i++)
        {
            var underCurrent = Math.Abs(CurrentA[used[i]]) > 0.1 || Math.Abs(CurrentA[used[i + 1]]) > 0.1;
            if (underCurrent && steps[i] > usualSteps * usual) longest = Math.Max(longest, steps[i]);
        }

        return longest;
    }

    private static int Needed(string[] header, string name)
    {
        var index = Array.IndexOf(header, name);
        Register.RefusedException.Unless(index >= 0, T($"The header lacks '{name}'{NearestName.Suggestion(name, header)}. It holds: {string.Join(", ", header)}."));
        return index;
    }

    private static List<int> Numbered(string[] header, string prefix, string suffix)
    {
        var found = new List<int>();
        for (var n = 1; Array.IndexOf(header, string.Create(CultureInfo.InvariantCulture, $"{prefix}{n}{suffix}")) is var index and >= 0; n++) found.Add(index);
        return found;
    }

    private static double Figure(string field, string name, int line)
    {
        if (field.Length == 0) return double.NaN;
        if (double.TryParse(field, NumberStyles.Float, CultureInfo.InvariantCulture, out var value)) return value;
        throw new Register.RefusedException(T($"Line {line}, {name}: '{field}' is no number. Use a decimal point."));
    }
}
