using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Pack;
using CellWatch.Core.Register;
using CellWatch.Core.Wording;

namespace CellWatch.Host.Reports;

/// <summary>What a report changed against the one before it, read off the records; a report without one before it says that it is the first.</summary>
public sealed partial class BenchReports
{
    private string SincePassport(Kept<ModuleRecord> module, IReadOnlyList<Kept<GradeSheet>> sheets)
    {
        var history = project.Modules.History(new ModuleId(module.Value.Identity));
        var parts = new List<string>();
        if (history is [.., var before, var now])
        {
            if (before.Value.Status != now.Value.Status) parts.Add(T($"status {Status(before.Value.Status)} to {Status(now.Value.Status)}"));
            if (before.Value.MassKg != now.Value.MassKg) parts.Add(T($"mass {Known(before.Value.MassKg, "0.00", "kg")} to {Known(now.Value.MassKg, "0.00", "kg")}"));
            if (before.Value.Slot != now.Value.Slot) parts.Add(T($"slot {Known(before.Value.Slot, "0", "")} to {Known(now.Value.Slot, "0", "")}"));
            if (now.Value.Notes.Length > before.Value.Notes.Length) parts.Add(T("a remark added"));
            if (now.Value.Attachments.Length > before.Value.Attachments.Length) parts.Add(T("a picture or file added"));
        }

        if (sheets is [.., var last, var newest] && GradeOf(last, module.Value.Identity) is var was && GradeOf(newest, module.Value.Identity) is var grade && was != grade)
            parts.Add(T($"grade {Graded(was)} to {Graded(grade)}"));
        return parts.Count > 0 ? string.Join(", ", parts) : history.Count > 1 ? T("its register entry was revised; status, mass, slot and grade are as before") : T("the first of this module");
    }

    private string SinceRun(Kept<Run> run) =>
        project.Runs.Runs().Where(r => r.Value.State == RunState.Ended && r.Value.Module == run.Value.Module && r.Value.Method == run.Value.Method && r.Record.Sequence < run.Record.Sequence).MaxBy(r => r.Record.Sequence) is { } before
            ? T($"{before.Value.Id} said: {before.Value.Finding}")
            : T("the first of this module by this method");

    private string SincePlan() => project.Plans.Plans() is [.., var before, _]
        ? T($"the plan before it: {before.Value.Score.UsableAh:0.0} Ah limited by {before.Value.Score.LimitedBy}, {before.Value.Score.TotalKg:0.0} kg")
        : T("the first plan");

    private string SinceProofs()
    {
        var newest = project.ProofStates.Latest().MaxBy(p => p.Record.Sequence)!;
        var voided = project.ProofStates.LatestVoids().Where(v => v.Record.Sequence > newest.Record.Sequence).Select(v => v.Value.Module).ToList();
        if (voided.Count > 0) return T($"void since the newest proof: {Figures.List(voided)}");
        return newest.Value.Passed ? T($"newest proof: {ChannelWords(newest.Value.Subject)}, passed") : T($"newest proof: {ChannelWords(newest.Value.Subject)}, not passed");
    }

    private string SinceCharge(Kept<ChargeRecord> charge) =>
        project.Safety.Charges().Where(c => c.Value.Kind == charge.Value.Kind && c.Record.Sequence < charge.Record.Sequence).MaxBy(c => c.Record.Sequence) is { } before
            ? T($"{before.Value.Id}: {before.Value.InAh:0.0} Ah, {(before.Value.LimitedBy.Length > 0 ? T($"limited by {before.Value.LimitedBy}") : T("no cell reached its target"))}")
            : T($"the first {charge.Value.Kind.ToString().ToUpperInvariant()} charge");

    private string SinceNight(Kept<NightKept> night) =>
        project.Safety.Nights().Where(n => n.Record.Sequence < night.Record.Sequence).MaxBy(n => n.Record.Sequence) is { } before
            ? T($"night {before.Record.Key} said: {before.Value.Review.Sentence}")
            : T("the first night");

    private string SinceHealth() => project.Safety.HealthHistory() is [.., var before, _] ? T($"the check before it said: {before.Value.Outcome.Sentence}") : T("the first check");

    private static string SinceFault(Kept<FaultFile> fault) => fault.Record.Revision > 1 ? T($"entry {fault.Record.Revision} of this file; the earlier ones are printed with it") : T("the first entry of this file");

    private static Grade? GradeOf(Kept<GradeSheet> sheet, string module) => sheet.Value.Cards.FirstOrDefault(c => c.Identity == module)?.Grade;

    private static string Graded(Grade? grade) => grade is null or Grade.None ? T("none") : $"{grade}";

    private static string Status(ModuleStatus status) => status switch
    {
        ModuleStatus.Quarantined => T("quarantined"),
        ModuleStatus.OnBench => T("on the bench"),
        ModuleStatus.Graded => T("graded"),
        ModuleStatus.Fitted => T("fitted"),
        ModuleStatus.Spare => T("spare"),
        _ => T("rejected"),
    };
}
