using CellWatch.Core.Statistics;

namespace CellWatch.Core.Bench;

/// <summary>
/// Grades modules by their worst line, never by an average: a good figure cannot excuse a bad one. Siblings are compared by median and MAD,
/// because one bad module spoils a mean.
/// </summary>
public static class Grading
{
    /// <summary>Grades a set of modules against each other.</summary>
    /// <param name="modules">All modules to be compared.</param>
    /// <param name="limits">The limits.</param>
    /// <param name="softwareVersion">Printed on the sheet.</param>
    /// <param name="seed">Seed of the draws; the same seed gives the same sheet.</param>
    /// <param name="draws">Number of draws.</param>
    /// <param name="inPack">Modules of the pack: only they can limit it; null for all.</param>
    public static GradeSheet Judge(
        IReadOnlyList<ModuleEvidence> modules, GradeLimits limits, string softwareVersion, ulong seed = 1, int draws = LimitingModule.UsualDraws, IReadOnlySet<string>? inPack = null)
    {
        var siblings = Siblings.Of(modules);
        var chance = LimitingModule.Probabilities([.. modules.Select(m => inPack?.Contains(m.Identity) ?? true ? m.Capacity?.GroupAh ?? [] : [])], draws, seed);
        var cards = modules.Select((m, i) => Card(m, siblings, limits, chance[i])).OrderBy(c => c.Identity, StringComparer.Ordinal);
        return new GradeSheet(GradeSheet.StatementText, [.. cards], limits.Listed(), limits.Fingerprint(), softwareVersion, seed, draws);
    }

    /// <summary>One module's card as it would be now; nothing is drawn, so its chance of limiting the pack is not known.</summary>
    /// <param name="module">The module.</param>
    /// <param name="all">All modules it is compared with, itself too.</param>
    /// <param name="limits">The limits.</param>
    public static GradeCard CardOf(ModuleEvidence module, IReadOnlyList<ModuleEvidence> all, GradeLimits limits) => Card(module, Siblings.Of(all), limits, double.NaN);

    private static GradeCard Card(ModuleEvidence m, Siblings siblings, GradeLimits limits, double chance)
    {
        GradeLine[] lines =
        [
            Inspection(m), GradeLines.Rest(m, limits), GradeLines.Capacity(m, siblings, limits), GradeLines.Resistance(m, siblings, limits), GradeLines.Isolation(m, limits),
        ];
        // A rejection stands whatever is missing; else a missing line leaves the module without a grade.
        var rejected = lines.FirstOrDefault(l => l.Verdict == Verdict.Reject);
        var undecided = lines.FirstOrDefault(l => l.Verdict == Verdict.Undecided);
        var worst = rejected ?? undecided ?? lines.MaxBy(l => (int)l.Verdict)!;
        return new GradeCard(m.Identity, GradeOf(worst.Verdict), worst.Verdict == Verdict.Accept ? "" : worst.Criterion, lines, chance, m.OriginGap);
    }

    private static Grade GradeOf(Verdict verdict) => verdict switch
    {
        Verdict.Accept => Grade.A,
        Verdict.AcceptWithLimits => Grade.B,
        Verdict.LowPowerOnly => Grade.C,
        Verdict.Reject => Grade.R,
        _ => Grade.None,
    };

    private static GradeLine Inspection(ModuleEvidence m) => m.Inspection is not { } found
        ? GradeLines.Missing("inspection")
        : new GradeLine("inspection", found.Words, "-", "-", "", found.Verdict, found.Words, found.Link);
}

/// <summary>The siblings' figures every module is compared with.</summary>
/// <param name="WorstGroupAh">Median of the worst group of each module, and MAD.</param>
/// <param name="MadAh">MAD of it.</param>
/// <param name="TenSecondMilliohm">Median over all groups.</param>
/// <param name="OhmicMilliohm">Median over all groups.</param>
/// <param name="CapacityDegC">Median temperature of the capacity tests.</param>
/// <param name="ResistanceDegC">Median temperature of the pulse tests.</param>
public sealed record Siblings(double WorstGroupAh, double MadAh, double TenSecondMilliohm, double OhmicMilliohm, double CapacityDegC, double ResistanceDegC)
{
    /// <summary>Of a set of modules; NaN where none has the figure.</summary>
    public static Siblings Of(IReadOnlyList<ModuleEvidence> modules)
    {
        var worst = modules.Where(m => m.Capacity is { GroupAh.Count: > 0 }).Select(m => m.Capacity!.GroupAh.Min(g => g.Value)).ToArray();
        var median = Robust.Median(worst);
        return new Siblings(
            median, Robust.Mad(worst, median, new double[worst.Length]),
            Median(modules.Where(m => m.Resistance is not null).SelectMany(m => m.Resistance!.TenSecondMilliohm)),
            Median(modules.Where(m => m.Resistance is not null).SelectMany(m => m.Resistance!.OhmicMilliohm)),
            Median(modules.Where(m => m.Capacity is not null).Select(m => m.Capacity!.TemperatureDegC)),
            Median(modules.Where(m => m.Resistance is not null).Select(m => m.Resistance!.TemperatureDegC)));
    }

    private static double Median(IEnumerable<double> values) => Robust.Median(values.ToArray());
}
