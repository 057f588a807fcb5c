using CellWatch.Core.Bench.Project;
using CellWatch.Core.Register;
using CellWatch.Core.Wording;

namespace CellWatch.Host.Reports;

/// <summary>A report that can be made now.</summary>
/// <param name="Kind">Kind, as in the address.</param>
/// <param name="Title">Title.</param>
/// <param name="About">What it can be about; empty where there is only one.</param>
/// <param name="Date">Date of the newest.</param>
public sealed record ReportEntry(string Kind, string Title, string About, DateTimeOffset Date);

/// <summary>Which reports there are, and the making of one.</summary>
/// <param name="project">The project.</param>
public sealed partial class BenchReports(BenchProject project)
{
    /// <summary>Kinds with their titles.</summary>
    public static IReadOnlyDictionary<string, string> Kinds { get; } = new Dictionary<string, string>(StringComparer.Ordinal)
    {
        ["passport"] = "Module passport",
        ["certificate"] = "Test certificate",
        ["grades"] = "Grade table",
        ["plan"] = "Fitting plan",
        ["proofs"] = "Proof certificate",
        ["charge"] = "Charge record",
        ["night"] = "Night page",
        ["health"] = "Health check",
        ["fault"] = "Fault file",
        ["fade"] = "One-year fade",
        ["labels"] = "Module labels",
    };

    /// <summary>Everything that can be made now.</summary>
    public IReadOnlyList<ReportEntry> List()
    {
        var list = new List<ReportEntry>();
        void Add(string kind, string about, DateTimeOffset at) => list.Add(new ReportEntry(kind, Kinds[kind], about, at));
        foreach (var m in project.Modules.All()) Add("passport", m.Value.Identity, m.Record.At);
        foreach (var r in project.Runs.Runs().Where(r => r.Value.State == Core.Bench.RunState.Ended)) Add("certificate", r.Value.Id, r.Record.At);
        if (project.Grades.Latest() is { } grades) Add("grades", "", grades.Record.At);
        if (project.Plans.Plan() is { } plan) Add("plan", "", plan.Record.At);
        if (project.ProofStates.Latest() is { Count: > 0 } proofs) Add("proofs", "", proofs.Max(p => p.Record.At));
        foreach (var c in project.Safety.Charges()) Add("charge", c.Value.Id, c.Record.At);
        foreach (var n in project.Safety.Nights()) Add("night", n.Record.Key, n.Record.At);
        if (project.Safety.HealthHistory() is [.., var health])
        {
            Add("health", "", health.Record.At);
            Add("fade", "", health.Record.At);
        }

        foreach (var f in project.Safety.Faults()) Add("fault", f.Value.Id, f.Record.At);
        if (project.Modules.All() is { Count: > 0 } modules) Add("labels", "", modules.Max(m => m.Record.At));
        return list;
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
        new(kind, Kinds[kind], about, project.Site.Layout.SiteName, date, fingerprint, project.Site.SoftwareVersion, uncertainty, simulated, sections);

    private static ReportSection Words(string heading, params string[] lines) => new(heading, [.. lines.Where(l => l.Length > 0)]);

    private static string Known(double? value, string format, string unit) => value is { } v && double.IsFinite(v) ? $"{v.ToString(format, System.Globalization.CultureInfo.InvariantCulture)} {unit}".TrimEnd() : "not known";
}
