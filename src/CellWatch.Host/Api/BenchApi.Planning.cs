using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Planning;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Host.Bench;

namespace CellWatch.Host.Api;

public static partial class BenchApi
{
    private static void MapPlanning(RouteGroupBuilder reads, RouteGroupBuilder entries)
    {
        reads.MapGet("/limits", (BenchDoor door) => BenchAnswers.Read(door, p => Limits(p.Grades.Limits, []))).WithSummary("Limits of grading with their sources");
        Enter(entries, "/limits", "Changes the limits; sheets made before keep theirs", (BenchProject p, GradeLimits e, Stamp who) =>
        {
            var (kept, reopened) = p.SetLimits(e, who);
            return Limits(kept.Value, reopened);
        });
        reads.MapGet("/grades", (BenchDoor door) => BenchAnswers.Read(door, p =>
            BenchAnswers.Document(p.Grades.Latest() ?? throw new RefusedException("No module is graded yet.")))).WithSummary("The latest grade table");
        reads.MapGet("/grades/history", (BenchDoor door) => BenchAnswers.Read(door, p => p.Grades.History().Select(BenchAnswers.Document))).WithSummary("All grade tables, each with the limits it was made with");
        Enter(entries, "/grades", "Grades all modules", (BenchProject p, ReasonBody _, Stamp who) =>
        {
            var (sheet, difference) = p.Grades.Grade(who);
            return new GradedDocument(BenchAnswers.Document(sheet), difference);
        });
        Enter(entries, "/grades/preview", "Grades under other limits without keeping anything", (BenchProject p, GradeLimits e, Stamp _) =>
        {
            var tried = p.Grades.Preview(e);
            return new { Sheet = tried, Difference = p.Grades.Latest() is { } before ? GradeDifference.Between(before.Value, tried) : null };
        });

        reads.MapGet("/price", (string? modules, BenchDoor door) => BenchAnswers.Read(door, p => p.Grades.Price(Pack(p, modules)))).WithSummary("The price of the weakest: the staircase of swaps");
        reads.MapGet("/sag", (double peakA, double chargePercent, string? modules, BenchDoor door) =>
            BenchAnswers.Read(door, p => p.Grades.Sag(Pack(p, modules), peakA, chargePercent))).WithSummary("Sag of every cell at a peak current");

        Keep(entries, "/slots", "Slots of the site", (BenchProject p, SlotSheet e, Stamp who) => p.Plans.SetSlots(e with { CoolestOnly = e.CoolestOnly.IsDefault ? [] : e.CoolestOnly, Slots = e.Slots.IsDefault ? [] : e.Slots, Weights = e.Weights ?? new PlanWeights() }, who));
        reads.MapGet("/slots", (BenchDoor door) => BenchAnswers.Read(door, p => BenchAnswers.Document(p.Plans.Slots() ?? throw new RefusedException("The slots are not entered yet.")))).WithSummary("Slots of the site");
        Enter(entries, "/plan/compare", "Suggests a plan, with a manual one scored beside it", (BenchProject p, PlanBody e, Stamp _) => p.Plans.Compare(e.ModuleOfSlot));
        Enter(entries, "/plan/view", "Looks at a plan: every slot, score in parts, centre of gravity with its permitted box, trim or supports before and after", (BenchProject p, PlanBody e, Stamp _) => p.Plans.View(e.ModuleOfSlot ?? p.Plans.Pack()));
        Keep(entries, "/plan", "Freezes a plan", (BenchProject p, PlanBody e, Stamp who) => p.Plans.Freeze(e.ModuleOfSlot, who));
        reads.MapGet("/plan", (BenchDoor door) => BenchAnswers.Read(door, p => BenchAnswers.Document(p.Plans.Plan() ?? throw new RefusedException("There is no plan yet.")))).WithSummary("The frozen plan");
        reads.MapGet("/plan/chain", (BenchDoor door) => BenchAnswers.Read(door, p => p.Plans.Chain())).WithSummary("Polarity chain, links, neighbours, the step over 60 V");
        reads.MapGet("/joints", (BenchDoor door) => BenchAnswers.Read(door, Joints)).WithSummary("The joint sheet");
        Enter(entries, "/joints", "A joint as worked on", (BenchProject p, Joint e, Stamp who) =>
        {
            p.Plans.SetJoint(e, who);
            return Joints(p);
        });
        Keep(entries, "/pre-balance", "Plans the pre-balance", (BenchProject p, PreBalanceBody e, Stamp who) => p.Plans.PlanPreBalance(e.Cells, e.TargetPercent, e.SupplyA, e.DrainA, e.Supplies, who));
    }

    private static JointsDocument Joints(BenchProject p)
    {
        var (joints, states) = p.Plans.Joints();
        return new JointsDocument(joints, states);
    }

    private static LimitsDocument Limits(GradeLimits limits, IReadOnlyList<Kept<GateRecord>> reopened) =>
        new(limits, limits.Fingerprint(), limits.Listed(), [.. reopened.Select(r => r.Value.Number)]);

    /// <summary>The modules named, or those of the plan, or else those of the site.</summary>
    private static IReadOnlyList<string> Pack(BenchProject p, string? modules)
    {
        if (!string.IsNullOrWhiteSpace(modules)) return [.. modules.Split(',').Select(m => CheckCharacter.Read(m).Text)];
        return p.Plans.Pack() is { Count: > 0 } plan ? plan : [.. p.Site.Layout.Modules.Select(m => m.Id.Text)];
    }
}
