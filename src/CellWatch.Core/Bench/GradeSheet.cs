namespace CellWatch.Core.Bench;

/// <summary>Grades of used modules. A: no limits found. B: usable with stated limits. C: spare or low power. R: not to be used.</summary>
public enum Grade
{
    /// <summary>A line is missing or undecided: no grade is given.</summary>
    None,

    /// <summary>No limits found.</summary>
    A,

    /// <summary>Accepted with limits.</summary>
    B,

    /// <summary>Spare or low-power use.</summary>
    C,

    /// <summary>Rejected.</summary>
    R,
}

/// <summary>One criterion of a grade card.</summary>
/// <param name="Criterion">What was judged.</param>
/// <param name="Value">Its figure with uncertainty.</param>
/// <param name="Siblings">The siblings' figure.</param>
/// <param name="Limit">The limit that decided.</param>
/// <param name="Setting">Name of that limit among the settings; empty where the verdict is a person's.</param>
/// <param name="Verdict">What it says.</param>
/// <param name="Remark">In words.</param>
/// <param name="Evidence">Where the figure comes from; null when there is none.</param>
public sealed record GradeLine(string Criterion, string Value, string Siblings, string Limit, string Setting, Verdict Verdict, string Remark, EvidenceLink? Evidence);

/// <summary>The grade of one module with its lines.</summary>
/// <param name="Identity">The module.</param>
/// <param name="Grade">The worst line's.</param>
/// <param name="DecidedBy">The criterion that decided; empty for A.</param>
/// <param name="Lines">All criteria.</param>
/// <param name="LimitingProbability">Chance that this module limits the pack, 0 to 1; NaN without a capacity.</param>
/// <param name="OriginGap">What is not known of its course.</param>
public sealed record GradeCard(string Identity, Grade Grade, string DecidedBy, IReadOnlyList<GradeLine> Lines, double LimitingProbability, string OriginGap);

/// <summary>A grade table with the limits it was made with. It is stored as it is; a later change makes another.</summary>
/// <param name="Statement">What it is and what it is not.</param>
/// <param name="Cards">One a module, by identity.</param>
/// <param name="Limits">The limits, with their sources.</param>
/// <param name="Fingerprint">Of the limits.</param>
/// <param name="SoftwareVersion">Version of the program.</param>
/// <param name="Seed">Seed of the draws.</param>
/// <param name="Draws">Number of draws.</param>
public sealed record GradeSheet(
    string Statement, IReadOnlyList<GradeCard> Cards, IReadOnlyList<LimitSetting> Limits, string Fingerprint, string SoftwareVersion, ulong Seed, int Draws)
{
    /// <summary>The sentence on every grade table and certificate.</summary>
    public const string StatementText =
        "Method and limits: own, listed below. Not an evaluation to UL 1974 or IEC 63330. Grades describe used modules; A = no limits found.";
}

/// <summary>A module whose grade differs between two sheets.</summary>
public sealed record GradeChange(string Identity, Grade Before, Grade After, string DecidedBefore, string DecidedAfter);

/// <summary>A limit that differs between two sheets.</summary>
public sealed record LimitChange(LimitSetting Before, LimitSetting After);

/// <summary>What a re-grade changed: limits and grades. The old sheet stays as it is.</summary>
public sealed record GradeDifference(IReadOnlyList<LimitChange> Limits, IReadOnlyList<GradeChange> Modules)
{
    /// <summary>Compares two sheets.</summary>
    public static GradeDifference Between(GradeSheet before, GradeSheet after)
    {
        var limits = before.Limits.Join(after.Limits, l => l.Name, l => l.Name, (b, a) => new LimitChange(b, a), StringComparer.Ordinal).Where(c => c.Before.Value != c.After.Value).ToList();
        var old = before.Cards.ToDictionary(c => c.Identity, StringComparer.Ordinal);
        var changes = after.Cards
            .Where(c => !old.TryGetValue(c.Identity, out var was) || was.Grade != c.Grade)
            .Select(c => new GradeChange(c.Identity, old.GetValueOrDefault(c.Identity)?.Grade ?? Grade.None, c.Grade, old.GetValueOrDefault(c.Identity)?.DecidedBy ?? "", c.DecidedBy));
        return new GradeDifference(limits, [.. changes]);
    }
}
