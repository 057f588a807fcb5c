using System.Globalization;
using CellWatch.Core.Bench;
using CellWatch.Core.Proofs;
using CellWatch.Core.Wording;

namespace CellWatch.Dashboard.BenchPages;

/// <summary>Words and dates of the bench's pages.</summary>
public static class BenchWords
{
    /// <summary>State of a gate.</summary>
    public static string Of(GateState state) => BenchWording.Of(state);

    /// <summary>Its class in the style sheet; word and shape carry it too.</summary>
    public static string Class(GateState state) => state switch
    {
        GateState.Proven => "passed",
        GateState.Ready => "scribe",
        GateState.Reopened => "caution",
        _ => "ink2",
    };

    /// <summary>A verdict.</summary>
    public static string Of(Verdict verdict) => BenchWording.Of(verdict);

    /// <summary>Class of a verdict.</summary>
    public static string Class(Verdict verdict) => verdict switch
    {
        Verdict.Accept => "passed",
        Verdict.Reject => "urgent",
        Verdict.Undecided => "ink2",
        _ => "caution",
    };

    /// <summary>A method.</summary>
    public static string Of(RunMethod method) => method switch { RunMethod.Rest => T("rest test"), RunMethod.Capacity => T("capacity discharge"), _ => T("pulse test") };

    /// <summary>A criterion of a grade.</summary>
    public static string Criterion(string name) => BenchWording.Criterion(name);

    /// <summary>A date: <c>2 Mar</c>, with the year where it is not this one.</summary>
    public static string Day(DateTimeOffset at, DateTimeOffset now) => at.ToString(at.Year == now.Year ? "d MMM" : "d MMM yyyy", CultureInfo.InvariantCulture);

    /// <summary>A time of day, with the day where it is another.</summary>
    public static string Clock(DateTimeOffset at, DateTimeOffset now) =>
        at.Date == now.Date ? at.ToString("HH:mm", CultureInfo.InvariantCulture) : at.ToString("d MMM HH:mm", CultureInfo.InvariantCulture);

    /// <summary>A sentence of the records as the pages write figures.</summary>
    public static string Set(string text) => Typeset.Of(text);
}
