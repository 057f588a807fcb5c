using CellWatch.Core.Proofs;
using CellWatch.Core.Register;

namespace CellWatch.Core.Bench.Project;

/// <summary>
/// The builder's whole job from intake to first charge over one store of records: everything a page, the HTTP door or the command line does
/// goes through here. It holds no state of its own, so two processes may work on one store.
/// </summary>
public sealed class BenchProject
{
    private readonly IRecordStore store;

    /// <summary>Opens a project.</summary>
    /// <param name="store">Where it is kept.</param>
    /// <param name="site">The site.</param>
    public BenchProject(IRecordStore store, BenchSite site)
    {
        this.store = store;
        Site = site;
        Modules = new ModuleRegister(store);
        Runs = new RunBook(store, site, Modules);
        Grades = new GradeBook(store, site, Modules, Runs);
        Plans = new PlanBook(store, site, Modules, Runs, Grades);
        Files = new FileBook(store, Modules, Runs, Plans);
        Safety = new SafetyBook(store, site);
        ProofStates = new ProofRegister(store);
        Gates = new GateBook(store, new GateFacts(site, Modules, Runs, Grades, Plans, ProofStates, Safety));
        Proofs = new ProofBook(site, ProofStates, Gates);
    }

    /// <summary>The site.</summary>
    public BenchSite Site { get; }

    /// <summary>The register.</summary>
    public ModuleRegister Modules { get; }

    /// <summary>Stages 1 to 6.</summary>
    public RunBook Runs { get; }

    /// <summary>Stage 7.</summary>
    public GradeBook Grades { get; }

    /// <summary>Stages 8 and 10.</summary>
    public PlanBook Plans { get; }

    /// <summary>Photographs and files of the modules.</summary>
    public FileBook Files { get; }

    /// <summary>Stages 11 to 19.</summary>
    public SafetyBook Safety { get; }

    /// <summary>Proofs as they stand.</summary>
    public ProofRegister ProofStates { get; }

    /// <summary>Stage 9.</summary>
    public ProofBook Proofs { get; }

    /// <summary>The twenty gates.</summary>
    public GateBook Gates { get; }

    /// <summary>Whether any record holds a simulated figure.</summary>
    public bool AnySimulated => store.All().Any(r => r.Simulated);

    /// <summary>All records, oldest first: what an export holds.</summary>
    public IReadOnlyList<BenchRecord> Records() => store.All();

    /// <summary>Changes the limits of grading; gates that stand on the old ones are re-opened.</summary>
    public (Kept<GradeLimits> Kept, IReadOnlyList<Kept<GateRecord>> Reopened) SetLimits(GradeLimits limits, Stamp who)
    {
        var before = Grades.Limits;
        var kept = Grades.SetLimits(limits, who);
        var changed = before.Listed().Zip(kept.Value.Listed()).Where(p => p.First.Value != p.Second.Value).Select(p => $"{p.First.Name} {p.First.Value:0.###} -> {p.Second.Value:0.###}").ToList();
        return (kept, changed.Count == 0 ? [] : Gates.Reopen(GateEvent.LimitChanged, T($"Limit changed: {string.Join(", ", changed)}."), who.By, who.At, who.Simulated));
    }

    /// <summary>Something else happened that takes the ground from under gates.</summary>
    public IReadOnlyList<Kept<GateRecord>> Happened(GateEvent what, string reason, Stamp who)
    {
        RefusedException.Unless(reason.Trim().Length > 0, T("Say what happened: the gates show it as their reason."));
        RefusedException.Unless(what != GateEvent.ConnectorOpened, T("Name the module whose connector was opened: its proofs are void."));
        return Gates.Reopen(what, reason.Trim(), who.By, who.At, who.Simulated);
    }

    /// <summary>The preconditions of a charge: what the records hold is looked up here; what is live is handed in.</summary>
    public ChargeFacts Facts(
        ChargeKind kind, bool? frontEndsIsolated, double dataAgeS, double? cutOffTriedHoursAgo, double coldestDegC, double hottestDegC, double chargePercent,
        double? presenceMinutesAgo, int people, bool measuredOnly)
    {
        var (proven, sentence) = ProofStates.Supervision(Site.Map);
        var isolation = Safety.IsolationHistory().LastOrDefault()?.Value.Finding;
        var precharge = Safety.PrechargeHistory().LastOrDefault()?.Value.Finding;
        return new ChargeFacts(
            kind, Site.CellType is not null, proven, sentence, frontEndsIsolated, dataAgeS, Site.HandCutOff, cutOffTriedHoursAgo, isolation?.Passed ?? false,
            isolation?.Sentence ?? T("No isolation test is on record."), coldestDegC, hottestDegC, chargePercent, presenceMinutesAgo, people,
            precharge?.Verdict == PrechargeVerdict.Good, Gates.StateOf(14) == GateState.Proven, measuredOnly);
    }
}
