using System.Globalization;

namespace CellWatch.Core.Assess;

/// <summary>One column of a measured file.</summary>
/// <param name="Name">As in the header row.</param>
/// <param name="Numbers">One a row; NaN where the field is empty or not a number.</param>
/// <param name="Texts">One a row as written, for columns that hold something else than numbers; null where all fields are numbers or empty.</param>
public sealed record MeasuredColumn(string Name, double[] Numbers, string[]? Texts);

/// <summary>
/// A comma-separated file with one header row, read into columns (RFC 4180 with LF or CRLF, a byte-order mark is skipped). Rows with
/// another number of fields than the header are kept out and counted: testers end their files with a line of words.
/// </summary>
/// <param name="Columns">In the order of the file.</param>
/// <param name="RowCount">Rows in the columns.</param>
/// <param name="Malformed">Line numbers (header = 1) of rows with another number of fields.</param>
public sealed record MeasuredTable(IReadOnlyList<MeasuredColumn> Columns, int RowCount, IReadOnlyList<int> Malformed)
{
    /// <summary>The column of that name, ignoring case; null where there is none.</summary>
    public MeasuredColumn? Find(string name) => Columns.FirstOrDefault(c => string.Equals(c.Name, name, StringComparison.OrdinalIgnoreCase));

    /// <summary>Numbers of the first of these columns that exists; null where there is none.</summary>
    public double[]? FindNumbers(params ReadOnlySpan<string> names)
    {
        foreach (var name in names)
            if (Find(name) is { } column) return column.Numbers;
        return null;
    }

    /// <summary>Reads all rows. The reader is the caller's; nothing is opened or closed here.</summary>
    /// <exception cref="FormatException">There is no header row.</exception>
    public static MeasuredTable Read(TextReader reader)
    {
        var header = reader.ReadLine() ?? throw new FormatException("The file is empty: a header row with column names is needed.");
        var names = Split(header.TrimStart('\uFEFF')).ConvertAll(n => n.Trim());
        var numbers = names.ConvertAll(_ => new List<double>());
        var texts = names.ConvertAll(_ => (List<string>?)null);
        List<int> malformed = [];
        var line = 1;
        while (reader.ReadLine() is { } row)
        {
            line++;
            if (row.Length == 0) continue;
            var fields = Split(row);
            if (fields.Count != names.Count)
            {
                malformed.Add(line);
                continue;
            }

            for (var c = 0; c < names.Count; c++) Add(fields[c], numbers[c], ref texts, c);
        }

        var columns = names.Select((n, c) => new MeasuredColumn(n, [.. numbers[c]], texts[c]?.ToArray())).ToArray();
        return new MeasuredTable(columns, numbers.Count == 0 ? 0 : numbers[0].Count, malformed);
    }

    private static void Add(string field, List<double> numbers, ref List<List<string>?> texts, int c)
    {
        var isNumber = double.TryParse(field, NumberStyles.Float, CultureInfo.InvariantCulture, out var value);
        if (!isNumber && field.Length > 0)
            // From the first word on the column is kept as text too; the numbers before it are written back as they were read.
            texts[c] ??= [.. numbers.Select(n => double.IsNaN(n) ? "" : n.ToString("R", CultureInfo.InvariantCulture))];
        numbers.Add(isNumber ? value : double.NaN);
        texts[c]?.Add(field);
    }

    private static List<string> Split(string row)
    {
        List<string> fields = [];
        if (!row.Contains('"', StringComparison.Ordinal))
        {
            fields.AddRange(row.Split(','));
            return fields;
        }

        var field = new System.Text.StringBuilder();
        var isQuoted = false;
        for (var i = 0; i < row.Length; i++)
        {
            if (isQuoted && row[i] == '"' && i + 1 < row.Length && row[i + 1] == '"') field.Append(row[i++]);
            else if (row[i] == '"') isQuoted = !isQuoted;
            else if (row[i] == ',' && !isQuoted)
            {
                fields.Add(field.ToString());
                field.Clear();
            }
            else field.Append(row[i]);
        }

        fields.Add(field.ToString());
        return fields;
    }
}
