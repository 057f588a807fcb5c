using System.Globalization;
using System.Text.RegularExpressions;
using CellWatch.Core.Bench;
using CellWatch.Core.Proofs;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.BenchPages;

/// <summary>Words and dates of the bench's pages.</summary>
public static partial class BenchWords
{
    /// <summary>State of a gate.</summary>
    public static string Of(GateState state) => state switch
    {
        GateState.Proven => "PROVEN",
        GateState.Ready => "READY",
        GateState.Reopened => "RE-OPENED",
        _ => "OPEN",
    };

    /// <summary>Its class in the style sheet; word and shape carry it too.</summary>
    public static string Class(GateState state) => state switch
    {
        GateState.Proven => "passed",
        GateState.Ready => "scribe",
        GateState.Reopened => "caution",
        _ => "ink2",
    };

    /// <summary>A verdict.</summary>
    public static string Of(Verdict verdict) => verdict switch
    {
        Verdict.Accept => "accept",
        Verdict.AcceptWithLimits => "accept with limits",
        Verdict.LowPowerOnly => "low power only",
        Verdict.Reject => "reject",
        _ => "undecided",
    };

    /// <summary>Class of a verdict.</summary>
    public static string Class(Verdict verdict) => verdict switch
    {
        Verdict.Accept => "passed",
        Verdict.Reject => "urgent",
        Verdict.Undecided => "ink2",
        _ => "caution",
    };

    /// <summary>A method.</summary>
    public static string Of(RunMethod method) => method switch { RunMethod.Rest => "rest test", RunMethod.Capacity => "capacity discharge", _ => "pulse test" };

    /// <summary>A date: <c>2 Mar</c>, with the year where it is not this one.</summary>
    public static string Day(DateTimeOffset at, DateTimeOffset now) => at.ToString(at.Year == now.Year ? "d MMM" : "d MMM yyyy", CultureInfo.InvariantCulture);

    /// <summary>A time of day, with the day where it is another.</summary>
    public static string Clock(DateTimeOffset at, DateTimeOffset now) =>
        at.Date == now.Date ? at.ToString("HH:mm", CultureInfo.InvariantCulture) : at.ToString("d MMM HH:mm", CultureInfo.InvariantCulture);

    /// <summary>A sentence of the records as the pages write figures: a thin space before units, true minus, plus-minus and arrow signs.</summary>
    public static string Set(string text)
    {
        var t = text.Replace("+-", "\u00b1", StringComparison.Ordinal).Replace("->", "\u2192", StringComparison.Ordinal).Replace(">=", "\u2265", StringComparison.Ordinal).Replace("<=", "\u2264", StringComparison.Ordinal);
        t = Minus().Replace(t, "\u2212");
        t = t.Replace("degC", "°C", StringComparison.Ordinal).Replace("mOhm", "mΩ", StringComparison.Ordinal).Replace("MOhm", "MΩ", StringComparison.Ordinal)
            .Replace("kOhm", "kΩ", StringComparison.Ordinal).Replace("micro-ohm", "µΩ", StringComparison.Ordinal);
        return Unit().Replace(t, "$1" + Figures.Thin + "$2");
    }

    [GeneratedRegex(@"(?<=^|[\s(])-(?=\d)")]
    private static partial Regex Minus();

    [GeneratedRegex(@"(\d) (Ah|A|V|mV|mA|kg|kWh|Wh|m|mm|h|d|days|min|s|K|K/min|%|°C|mΩ|MΩ|kΩ|µΩ|Nm)(?![\w])")]
    private static partial Regex Unit();
}
