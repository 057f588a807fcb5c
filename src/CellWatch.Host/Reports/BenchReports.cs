using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Register;
using CellWatch.Core.Wording;

namespace CellWatch.Host.Reports;

/// <summary>Which reports there are, and the making of one.</summary>
/// <param name="project">The project.</param>
public sealed partial class BenchReports(BenchProject project)
{
    /// <summary>Kinds with their titles. Made at each look: the command line names the kinds before a language is spoken.</summary>
    public static IReadOnlyDictionary<string, string> Kinds => new Dictionary<string, string>(StringComparer.Ordinal)
    {
        ["passport"] = T("Module passport"),
        ["certificate"] = T("Test certificate"),
        ["grades"] = T("Grade table"),
        ["plan"] = T("Fitting plan"),
        ["proofs"] = T("Proof certificate"),
        ["charge"] = T("Charge record"),
        ["night"] = T("Night page"),
        ["health"] = T("Health check"),
        ["fault"] = T("Fault file"),
        ["fade"] = T("One-year fade"),
        ["labels"] = T("Module labels"),
    };

    private static string OneSigma => T("one standard deviation");

    private static string FromDraws => T("one standard deviation; chances counted in random draws within it");

    private static string NightUncertainty => T("0.05 Ah in a deviation");

    /// <summary>Everything that can be made now, the newest first.</summary>
    public IReadOnlyList<ReportEntry> List()
    {
        var list = new List<ReportEntry>();
        var grades = project.Grades.History();
        var (fingerprint, settings) = (grades.Count > 0 ? grades[^1].Value.Fingerprint : "", SettingsFingerprint);
        void Add(string kind, string about, BenchRecord record, string note, string since, string uncertainty = "", string limits = "") =>
            list.Add(new ReportEntry(kind, Kinds[kind], about, record.At, record.Revision, limits.Length > 0 ? limits : settings, uncertainty, note, record.Simulated, since));
        var modules = project.Modules.All();
        foreach (var m in modules) Add("passport", m.Value.Identity, m.Record, GradeWords(grades, m.Value.Identity), SincePassport(m, grades), OneSigma, fingerprint);
        foreach (var r in project.Runs.Runs().Where(r => r.Value.State == RunState.Ended)) Add("certificate", r.Value.Id, r.Record, r.Value.Finding, SinceRun(r), OneSigma);
        if (grades.Count > 0) Add("grades", "", grades[^1].Record, Changed(grades), "", FromDraws, fingerprint);
        if (project.Plans.Plan() is { } plan) Add("plan", "", plan.Record, T($"{plan.Value.Score.UsableAh:0.0} Ah limited by {plan.Value.Score.LimitedBy}, {plan.Value.Score.TotalKg:0.0} kg"), SincePlan(), "", fingerprint);
        if (project.ProofStates.Latest() is { Count: > 0 } proofs) Add("proofs", "", proofs.MaxBy(p => p.Record.At)!.Record, project.ProofStates.Supervision(project.Site.Map).Sentence, SinceProofs());
        foreach (var c in project.Safety.Charges())
            Add("charge", c.Value.Id, c.Record, c.Value.LimitedBy.Length > 0 ? T($"limited by {c.Value.LimitedBy} at {c.Value.LimitedAtV:0.000} V") : T($"{c.Value.InAh:0.0} Ah, no cell reached its target"), SinceCharge(c));
        foreach (var n in project.Safety.Nights()) Add("night", n.Record.Key, n.Record, n.Value.Review.Sentence, SinceNight(n), NightUncertainty);
        if (project.Safety.HealthHistory() is [.., var health])
        {
            Add("health", "", health.Record, health.Value.Outcome.Sentence, SinceHealth(), OneSigma);
            Add("fade", "", health.Record, "", SinceHealth(), OneSigma);
        }

        foreach (var f in project.Safety.Faults()) Add("fault", f.Value.Id, f.Record, f.Value.Closed ? T("closed with a measurement") : T("open"), SinceFault(f));
        if (modules.Count > 0) Add("labels", "", modules.MaxBy(m => m.Record.At)!.Record, T($"{modules.Count} modules, two labels each"), T("made anew from the register at each print"));
        return [.. list.OrderByDescending(r => r.Date).ThenBy(r => r.Title, StringComparer.Ordinal).ThenBy(r => r.About, StringComparer.Ordinal)];
    }

    private static string GradeWords(IReadOnlyList<Kept<GradeSheet>> sheets, string module) =>
        sheets.Count == 0 || sheets[^1].Value.Cards.FirstOrDefault(c => c.Identity == module) is not { } card ? T("not graded yet")
        : card.Grade == Grade.None ? T($"no grade: {BenchWording.Criterion(card.DecidedBy)} is missing or undecided")
        : card.DecidedBy.Length > 0 ? T($"grade {card.Grade}, decided by {BenchWording.Criterion(card.DecidedBy)}") : T($"grade {card.Grade}");

    /// <summary>What the last grading changed against the one before it.</summary>
    private static string Changed(IReadOnlyList<Kept<GradeSheet>> sheets)
    {
        if (sheets.Count < 2) return T("the first grading; own method, not certified");
        var difference = GradeDifference.Between(sheets[^2].Value, sheets[^1].Value);
        var parts = difference.Modules.Select(m => T($"{m.Identity} {m.Before} to {m.After}")).Concat(difference.Limits.Select(l => $"{l.After.Name} {l.Before.Value:0.###} to {l.After.Value:0.###}")).ToList();
        return parts.Count == 0 ? T("as the one before") : T($"since the last: {string.Join(", ", parts)}");
    }

    /// <summary>Makes one.</summary>
    /// <exception cref="RefusedException">There is no such report yet; the message says what it needs.</exception>
    public ReportDocument Make(string kind, string about) => kind switch
    {
        "passport" => Passport(about),
        "certificate" => Certificate(about),
        "grades" => Grades(),
        "plan" => Plan(),
        "proofs" => Proofs(),
        "charge" => Charge(about),
        "night" => Night(about),
        "health" => Health(),
        "fade" => Fade(),
        "fault" => Fault(about),
        "labels" => Labels(),
        _ => throw new RefusedException($"There is no report '{kind}'{NearestName.Suggestion(kind, Kinds.Keys)}. Known: {string.Join(", ", Kinds.Keys)}."),
    };

    private ReportDocument Document(string kind, string about, DateTimeOffset date, string fingerprint, string uncertainty, bool simulated, IReadOnlyList<ReportSection> sections) =>
        new(kind, Kinds[kind], about, project.Site.Layout.SiteName, date, fingerprint.Length > 0 ? fingerprint : SettingsFingerprint, project.Site.SoftwareVersion, uncertainty, simulated, sections);

    /// <summary>Of all settings that can decide anything here: cell limits, rated capacity, nominal voltage, rules of the tests, limits of grading.</summary>
    private string SettingsFingerprint
    {
        get
        {
            var all = new { project.Site.CellType, project.Site.Limits, project.Site.NominalV, project.Site.RatedGroupAh, Capacity = project.Runs.CapacitySettings, Rest = new RestTestSettings(), Night = new NightRules(), Grades = project.Grades.Limits };
            return Fingerprint(all);
        }
    }

    private static string Fingerprint(object settings) =>
        Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(System.Text.Json.JsonSerializer.SerializeToUtf8Bytes(settings, settings.GetType(), RecordJson.Options)))[..8];

    private static ReportSection Words(string heading, params string[] lines) => new(heading, [.. lines.Where(l => l.Length > 0)]);

    private static string Known(double? value, string format, string unit) => value is { } v && double.IsFinite(v) ? $"{v.ToString(format, System.Globalization.CultureInfo.InvariantCulture)} {unit}".TrimEnd() : "not known";
}
