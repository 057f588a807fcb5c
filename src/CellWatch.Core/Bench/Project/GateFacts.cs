using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Core.Wording;

namespace CellWatch.Core.Bench.Project;

/// <summary>What the records say for each gate.</summary>
/// <param name="site">The site.</param>
/// <param name="register">Modules.</param>
/// <param name="runs">Stages 1 to 6.</param>
/// <param name="grades">Stage 7.</param>
/// <param name="plans">Stage 8.</param>
/// <param name="proofs">Stage 9.</param>
/// <param name="safety">Stages 11 to 19.</param>
public sealed class GateFacts(
    BenchSite site, ModuleRegister register, RunBook runs, GradeBook grades, PlanBook plans, ProofRegister proofs, SafetyBook safety) : IGateFacts
{
    // More names than a person takes in at a glance say nothing that the count does not.
    private const int FewNames = 6;

    private int Needed => site.Layout.Modules.Length;

    /// <inheritdoc/>
    public GateFact FactFor(string name) => name switch
    {
        "quarantine" => runs.QuarantineState() is { } q ? new(q.Passed, q.Sentence) : new(false, T("the quarantine log has not begun")),
        "register" => Registered(),
        "inspections" => EachModule(T("inspection"), m => runs.InspectionOf(m) is { } i && i.Value.Outcome.Verdict != Verdict.Reject),
        "restTests" => EachModule(T("rest test"), m => runs.RestOf(m) is { Value.Outcome: { Refused.Count: 0, Verdict: not Verdict.Undecided } }),
        "capacityTests" => EachModule(T("capacity test"), m => runs.CapacityOf(m) is { Value.Outcome.IsFit: true }),
        "pulseTests" => EachModule(T("pulse test"), m => runs.PulseOf(m) is { Value.Outcome.Comparable: true }),
        "grades" => Graded(),
        "plan" => Planned(),
        "modulesProven" => ModulesProven(),
        "channels" => proofs.Supervision(site.Map) is var (all, sentence) ? new(all, sentence) : default!,
        "isolation" => safety.IsolationHistory() is [.., var last] ? new(last.Value.Finding.Passed, last.Value.Finding.Sentence) : new(false, T("no isolation test is on record")),
        "precharge" => Precharged(),
        "acCharge" => Charged(ChargeKind.Ac),
        "dcCharge" => Charged(ChargeKind.Dc),
        "night" => safety.Nights().FirstOrDefault(n => n.Value.Review.Withheld.Count == 0) is { } night ? new(true, night.Value.Review.Sentence) : new(false, T("no night with comparable readings is on record; a night is kept on Night review")),
        "healthCheck" => safety.HealthHistory().LastOrDefault() is { Value.Outcome.Cells.Count: > 0 } h ? new(true, h.Value.Outcome.Sentence) : new(false, T("no health check compares like with like")),
        "fade" => Faded(),
        _ => throw new ArgumentException($"No record is known for '{name}'.", nameof(name)),
    };

    /// <summary>Modules that count: those not rejected, or those of the plan once there is one.</summary>
    private List<string> Modules() => plans.Pack() is { Count: > 0 } pack ? [.. pack] : [.. register.All().Where(m => m.Value.Status != ModuleStatus.Rejected).Select(m => m.Value.Identity)];

    private GateFact Registered()
    {
        var all = register.All();
        var lacking = all.Where(m => m.Value.MassKg is null || m.Value.Origin.OriginalPlace.Length == 0).Select(m => m.Value.Identity).ToList();
        if (all.Count < Needed) return new(false, T($"the register holds {all.Count} of {Needed} modules"));
        return lacking.Count == 0 ? new(true, T($"{all.Count} modules with mass and original place.")) : new(false, T($"mass or original place is missing for {Figures.List(lacking)}"));
    }

    private GateFact EachModule(string what, Func<string, bool> has)
    {
        var modules = Modules();
        var missing = modules.Where(m => !has(m)).ToList();
        if (modules.Count - missing.Count >= Needed && plans.Pack().Count == 0) return new(true, T($"{modules.Count - missing.Count} modules have their {what}{(missing.Count > 0 ? T($"; without: {Figures.List(missing)}") : "")}."));
        if (missing.Count == 0 && modules.Count >= Needed) return new(true, T($"{modules.Count} modules have their {what}."));
        var have = T($"{modules.Count - missing.Count} of {Needed} modules have their {what}");
        if (plans.Pack().Count == 0 && modules.Count > Needed) have = T($"{have}; any {Needed} of the {modules.Count} on the register that are not rejected will do");
        return new(false, missing.Count is > 0 and <= FewNames ? T($"{have}; without: {Figures.List(missing)}") : have);
    }

    private GateFact Graded()
    {
        if (grades.Latest() is not { } sheet) return new(false, T("no module is graded"));
        if (sheet.Value.Fingerprint != grades.Limits.Fingerprint()) return new(false, T("the limits were changed after the last grading: grade again"));
        var usable = sheet.Value.Cards.Count(c => c.Grade is Grade.A or Grade.B);
        return usable >= Needed
            ? new(true, T($"{usable} modules of grade A or B for {Needed} slots, limits {sheet.Value.Fingerprint}."))
            : new(false, T($"{usable} modules are grade A or B, {Needed} are needed"));
    }

    private GateFact Planned() => plans.Plan() is not { Value.Frozen: true } plan
        ? new(false, T("no plan is frozen"))
        : new(plan.Value.Score.Conflicts.Count == 0, T($"Plan revision {plan.Record.Revision}: {plan.Value.Score.UsableAh:0.0} Ah limited by {plan.Value.Score.LimitedBy}, centre of gravity {plan.Value.Score.CentreX:0.000} m aft, {plan.Value.Score.TotalKg:0.0} kg."));

    private GateFact ModulesProven()
    {
        var proven = proofs.ProvenModules(site.Map);
        var missing = site.Layout.Modules.Select(m => m.Id.Text).Where(m => !proven.Contains(m)).ToList();
        return missing.Count == 0 ? new(true, T($"all {proven.Count} modules proven.")) : new(false, T($"channels not proven: {Figures.List(missing)}"));
    }

    private GateFact Precharged() => safety.PrechargeHistory() is not [.., var last]
        ? new(false, T("no pre-charge is on record"))
        : new(last.Value.Finding.Verdict == PrechargeVerdict.Good && last.Value.Curve.BusAfterOpeningV is not null, last.Value.Finding.Sentence);

    private GateFact Charged(ChargeKind kind)
    {
        var of = safety.Charges().Where(c => c.Value.Kind == kind).ToList();
        if (of.Find(c => c.Value.Supervised) is { } good)
            return new(true, T($"{good.Value.Id}: {good.Value.InAh:0.0} Ah, {(good.Value.LimitedBy.Length > 0 ? T($"limited by {good.Value.LimitedBy} at {good.Value.LimitedAtV:0.000} V and {good.Value.LimitedAtA:0} A") : T("no cell reached its target"))}, hand cut-off tried {good.Value.CutOffTriedAt:HH:mm}{(good.Record.Simulated ? T("; SIMULATED") : "")}."));
        return new(false, of.Count == 0 ? T($"no {kind.ToString().ToUpperInvariant()} charge is on record") : T($"{of[^1].Value.Id} was not supervised from start to end: {string.Join(", ", Missing(of[^1].Value))}"));
    }

    private static IEnumerable<string> Missing(ChargeRecord c)
    {
        foreach (var p in c.Preconditions.Where(p => !p.Met)) yield return p.Name;
        if (!(c.CutOffTriedAt >= c.StartedAt)) yield return T("hand cut-off not tried in it");
        foreach (var stop in c.Stops) yield return stop;
        if (c.Kind == ChargeKind.Dc && !c.CurrentObeyed) yield return c.LimitedBy.Length > 0 ? T("the current did not obey the limit") : T("no cell reached its target, so it is not shown that the current obeys");
    }

    private GateFact Faded()
    {
        if (safety.HealthHistory() is not [.., var last]) return new(false, T("no health check is on record"));
        var days = (last.Value.LastAt - last.Value.FirstAt).TotalDays;
        return days >= 365 && last.Value.Outcome.Cells.Count > 0 ? new(true, T($"{days:0} days: {last.Value.Outcome.Sentence}")) : new(false, T($"the tests span {days:0} days, 365 are needed"));
    }
}
