using System.Globalization;
using CellWatch.Core.Pack;
using CellWatch.FrontEnds.Options;

namespace CellWatch.Host.NewSite;

/// <summary>What plain lines seem to carry: the options that read them, and the reasons in words.</summary>
/// <param name="Options">For the site file.</param>
/// <param name="Reasons">One sentence a decision, for the person to agree or not.</param>
public sealed record PlainLineProposal(PlainLineOptions Options, IReadOnlyList<string> Reasons)
{
    // A lithium cell in any usable state, V; the same in mV. Chosen wide; a proposal is looked at by a person before it is used.
    private const double LeastCellV = 1.5;
    private const double MostCellV = 4.5;

    private static readonly string[] Separators = [",", ";", "\t", "blank"];

    /// <summary>Looks at lines and proposes how to read them; null where no separator gives the cells that are expected.</summary>
    /// <param name="lines">Lines as they arrived.</param>
    /// <param name="modules">Topology of each module on this board, in its order.</param>
    /// <param name="temperatures">Temperature sensors of each.</param>
    public static PlainLineProposal? Of(IReadOnlyList<string> lines, IReadOnlyList<ModuleTopology> modules, IReadOnlyList<int> temperatures)
    {
        var cellCount = modules.Sum(m => m.Series);
        foreach (var separator in Separators)
        {
            foreach (var line in lines.Reverse())
            {
                var fields = Split(line, separator);
                var prefix = fields.Length > 0 && !IsNumber(fields[0], out _) ? fields[0] : "";
                var values = prefix.Length > 0 ? fields[1..] : fields;
                if (FindCells(values, cellCount) is not { } found) continue;
                return Propose(separator, prefix, values, found, modules, temperatures);
            }
        }

        return null;
    }

    private static PlainLineProposal Propose(
        string separator, string prefix, string[] values, (int At, double Scale) found, IReadOnlyList<ModuleTopology> modules, IReadOnlyList<int> temperatures)
    {
        var runs = new List<PlainRun>();
        var reasons = new List<string>
        {
            $"fields are parted by {(separator switch { "," => "commas", ";" => "semicolons", "\t" => "tabs", _ => "blanks" })}{(prefix.Length > 0 ? $"; lines begin with '{prefix}'" : "")}",
        };
        var at = found.At;
        for (var m = 0; m < modules.Count; m++)
        {
            runs.Add(new PlainRun { Prefix = prefix, Position = at + 1, Quantity = PlainQuantity.Cells, Module = m + 1, Count = modules[m].Series, Scale = found.Scale });
            at += modules[m].Series;
        }

        reasons.Add(string.Create(CultureInfo.InvariantCulture, $"fields {found.At + 1} to {at} look like {at - found.At} cells in {(found.Scale < 1 ? "mV" : "V")}"));
        var sensors = temperatures.Sum();
        if (sensors > 0 && at + sensors <= values.Length && values.AsSpan(at, sensors).ToArray().All(IsTemperature))
        {
            reasons.Add(string.Create(CultureInfo.InvariantCulture, $"fields {at + 1} to {at + sensors} look like {sensors} temperatures in degC"));
            for (var m = 0; m < temperatures.Count; m++)
            {
                if (temperatures[m] > 0) runs.Add(new PlainRun { Prefix = prefix, Position = at + 1, Quantity = PlainQuantity.Temperatures, Module = m + 1, Count = temperatures[m] });
                at += temperatures[m];
            }
        }

        var options = new PlainLineOptions { Separator = separator, Runs = runs };
        if (at < values.Length || found.At > 0)
        {
            options = options with { FieldCounts = new Dictionary<string, int>(StringComparer.Ordinal) { [prefix] = values.Length } };
            reasons.Add(string.Create(CultureInfo.InvariantCulture, $"{values.Length - (at - found.At)} other fields are left alone"));
        }

        return new PlainLineProposal(options, reasons);
    }

    private static (int At, double Scale)? FindCells(string[] values, int count)
    {
        for (var at = 0; at + count <= values.Length; at++)
        {
            if (All(values.AsSpan(at, count), LeastCellV, MostCellV)) return (at, 1);
            if (All(values.AsSpan(at, count), LeastCellV * 1000, MostCellV * 1000)) return (at, 0.001);
        }

        return null;
    }

    private static bool All(ReadOnlySpan<string> values, double low, double high)
    {
        foreach (var value in values)
            if (!IsNumber(value, out var number) || number < low || number > high) return false;
        return true;
    }

    private static bool IsTemperature(string text) => IsNumber(text, out var value) && value is > -30 and < 90;

    private static bool IsNumber(string text, out double value) => double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out value);

    private static string[] Split(string line, string separator) => separator == "blank"
        ? line.Split((char[])[' ', '\t'], StringSplitOptions.RemoveEmptyEntries)
        : line.Split(separator, StringSplitOptions.TrimEntries);
}
