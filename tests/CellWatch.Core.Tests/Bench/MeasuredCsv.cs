using System.Globalization;
using CellWatch.Testing;

namespace CellWatch.Core.Tests.Bench;

/// <summary>Columns of a measured CSV file by name; an empty field is NaN.</summary>
internal sealed class MeasuredCsv
{
    private readonly Dictionary<string, int> columns;
    private readonly string[][] rows;

    public MeasuredCsv(string file)
    {
        var lines = File.ReadAllLines(SharedMaterial.PathOf($"data/{file}"));
        columns = lines[0].Split(',').Select((name, i) => (name, i)).ToDictionary(c => c.name, c => c.i);
        rows = [.. lines.Skip(1).Where(l => l.Length > 0).Select(l => l.Split(','))];
    }

    private MeasuredCsv(Dictionary<string, int> columns, string[][] rows) => (this.columns, this.rows) = (columns, rows);

    public double[] this[string name] => [.. rows.Select(r => r[columns[name]] is { Length: > 0 } t ? double.Parse(t, CultureInfo.InvariantCulture) : double.NaN)];

    public string[] Text(string name) => [.. rows.Select(r => r[columns[name]])];

    public MeasuredCsv Where(string name, Func<string, bool> keep) => new(columns, [.. rows.Where(r => keep(r[columns[name]]))]);
}
