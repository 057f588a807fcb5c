using System.Globalization;
using System.Text.RegularExpressions;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.SignalDatabase;

namespace CellWatch.Host.NewSite;

/// <summary>Which signals of a database seem to be which channels, and the reasons in words.</summary>
/// <param name="Options">For the site file.</param>
/// <param name="Reasons">One sentence a decision.</param>
public sealed partial record SignalProposal(SignalMapOptions Options, IReadOnlyList<string> Reasons)
{
    /// <summary>Looks for two numbers in the names of signals in V (module and cell) and in degC (module and sensor).</summary>
    /// <returns>Null where no family of signals has the shape of cells.</returns>
    public static SignalProposal? Of(CanDatabase database)
    {
        var signals = database.Messages.SelectMany(m => m.Signals).ToList();
        var reasons = new List<string>();
        if (Largest(signals.Where(s => s.Unit == "V").Select(s => s.Name), "cell") is not { } cells) return null;
        reasons.Add($"{cells.Count} signals in V look like cells: {cells.Pattern}, for example {cells.Example}");
        var options = new SignalMapOptions { Cells = cells.Pattern, FirstModule = cells.FirstModule };
        if (Largest(signals.Where(s => s.Unit is "degC" or "°C" or "C").Select(s => s.Name), "sensor") is { } temperatures)
        {
            reasons.Add($"{temperatures.Count} signals in degC look like temperatures: {temperatures.Pattern}");
            options = options with { Temperatures = temperatures.Pattern };
        }

        if (Only(signals.Where(s => s.Unit == "A").Select(s => s.Name)) is { } current)
        {
            reasons.Add($"{current} is the only signal in A: taken for the string's current; check its sign (positive must charge)");
            options = options with { PackCurrent = current };
        }

        return new SignalProposal(options, reasons);
    }

    private static string? Only(IEnumerable<string> names)
    {
        var list = names.Take(2).ToList();
        return list.Count == 1 ? list[0] : null;
    }

    private static (string Pattern, int Count, int FirstModule, string Example)? Largest(IEnumerable<string> names, string place)
    {
        var family = names.Select(name => TwoNumbers().Match(name)).Where(match => match.Success)
            .GroupBy(match => (match.Groups["a"].Value, match.Groups["b"].Value, match.Groups["c"].Value))
            .MaxBy(group => group.Count());
        if (family is null || family.Count() < 2) return null;
        var first = family.First();
        var (a, b, c) = family.Key;
        return ($"{a}{Place("module", first.Groups["m"].Value)}{b}{Place(place, first.Groups["n"].Value)}{c}", family.Count(),
            family.Min(match => int.Parse(match.Groups["m"].Value, CultureInfo.InvariantCulture)), first.Value);
    }

    private static string Place(string word, string digits) => digits.Length > 1 ? $"{{{word}:{new string('0', digits.Length)}}}" : $"{{{word}}}";

    [GeneratedRegex(@"^(?<a>\D*)(?<m>\d{1,3})(?<b>\D+)(?<n>\d{1,3})(?<c>\D*)$", RegexOptions.ExplicitCapture, matchTimeoutMilliseconds: 1000)]
    private static partial Regex TwoNumbers();
}
