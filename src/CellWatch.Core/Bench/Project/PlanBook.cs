using System.Collections.Immutable;
using CellWatch.Core.Planning;
using CellWatch.Core.Register;

namespace CellWatch.Core.Bench.Project;

/// <summary>The slots of the site with weights and target.</summary>
/// <param name="Slots">In electrical order.</param>
/// <param name="Weights">What weighs how much.</param>
/// <param name="TargetX">Target of the centre of gravity; null for the middle.</param>
/// <param name="TargetY">Likewise.</param>
/// <param name="TerminalM">Distance between a module's terminals.</param>
/// <param name="NeighbourM">Slots nearer than this are neighbours.</param>
/// <param name="CoolestOnly">Modules with the limit "coolest slots only".</param>
/// <param name="Permitted">Where the centre of gravity may lie; null where nothing limits it.</param>
/// <param name="Boat">A boat's figures for trim and list; null for none.</param>
/// <param name="Supports">Supports or axles with what they carry now; null for none.</param>
/// <param name="Removed">Masses taken out of the craft for good; null for none.</param>
public sealed record SlotSheet(
    ImmutableArray<Slot> Slots, PlanWeights Weights, double? TargetX, double? TargetY, double TerminalM, double NeighbourM, ImmutableArray<string> CoolestOnly,
    CentreBox? Permitted = null, BoatStability? Boat = null, Supports? Supports = null, IReadOnlyList<PointMass>? Removed = null);

/// <summary>A fitting plan as kept.</summary>
/// <param name="ModuleOfSlot">Identity in each slot, in slot order.</param>
/// <param name="Score">Its score in parts.</param>
/// <param name="LowerBound">No plan can score below this; NaN for a manual plan.</param>
/// <param name="GapPercent">Distance from the bound.</param>
/// <param name="Suggested">Whether the program made it.</param>
/// <param name="Frozen">Frozen plans are what is built.</param>
/// <param name="NotInside">Where no plan lies inside the permitted box: that and how near this one comes; empty otherwise.</param>
public sealed record FittingPlan(ImmutableArray<string> ModuleOfSlot, PlanScore Score, double LowerBound, double GapPercent, bool Suggested, bool Frozen, string NotInside = "");

/// <summary>A plan with the manual one beside it.</summary>
/// <param name="Suggested">The program's; null when not asked.</param>
/// <param name="Manual">The builder's; null when there is none.</param>
/// <param name="Chain">Electrical side.</param>
/// <param name="Reasons">Why each module sits where it does.</param>
public sealed record PlanComparison(FittingPlan? Suggested, FittingPlan? Manual, PolarityChain Chain, IReadOnlyList<string> Reasons);

/// <summary>Stage 8 and 10: slots, plans, joints, pre-balance.</summary>
/// <param name="store">Where it is kept.</param>
/// <param name="site">The site.</param>
/// <param name="register">The modules.</param>
/// <param name="runs">Their tests.</param>
/// <param name="grades">Their grades.</param>
public sealed class PlanBook(IRecordStore store, BenchSite site, ModuleRegister register, RunBook runs, GradeBook grades)
{
    private readonly Shelf<SlotSheet> slots = new(store, "slots");
    private readonly Shelf<FittingPlan> plans = new(store, "plan");
    private readonly Shelf<Joint> joints = new(store, "joint");
    private readonly Shelf<PreBalancePlan> preBalance = new(store, "pre-balance");

    /// <summary>The slots; null before they are entered.</summary>
    public Kept<SlotSheet>? Slots() => slots.Latest("site");

    /// <summary>Keeps the slots.</summary>
    /// <exception cref="RefusedException">Two slots share a number or a place.</exception>
    public Kept<SlotSheet> SetSlots(SlotSheet sheet, Stamp who)
    {
        RefusedException.Unless(sheet.Slots.Length > 0, T("Enter at least one slot."));
        RefusedException.Unless(sheet.Slots.Select(s => s.Number).Distinct().Count() == sheet.Slots.Length, T("Two slots have the same number."));
        foreach (var s in sheet.Slots)
        {
            RefusedException.Unless(Math.Abs(s.X) < 100 && Math.Abs(s.Y) < 20 && Math.Abs(s.Z) < 20, T($"Slot {s.Number}: places are in metres from the datum; {s.X:0.#}, {s.Y:0.#}, {s.Z:0.#} look like millimetres."));
            var same = sheet.Slots.FirstOrDefault(o => o.Number != s.Number && o.X == s.X && o.Y == s.Y && o.Z == s.Z);
            RefusedException.Unless(same is null, T($"Slots {s.Number} and {same?.Number} are at one place."));
        }

        RefusedException.Unless(sheet.Permitted?.Fault is null, sheet.Permitted?.Fault ?? "");
        RefusedException.Unless(sheet.Boat is null or { DisplacementKg: > 0, TrimMomentKgMPerCm: > 0, MetacentricHeightM: > 0 }, T("A boat needs its displacement, its moment for 1 cm of trim and its metacentric height, all above 0: they stand in its drawings, or an inclining test gives them."));
        RefusedException.Unless(sheet.Supports is null or { BaseM: > 0, FrontKg: >= 0, RearKg: >= 0 }, T("Supports need their distance in metres, above 0, and what each carries now in kg."));
        return slots.Put("site", sheet, Slots()?.Record.Revision ?? 0, who.By, who.At, who.Simulated);
    }

    /// <summary>The latest plan; null before.</summary>
    public Kept<FittingPlan>? Plan() => plans.Latest("site");

    /// <summary>All plans, oldest first.</summary>
    public IReadOnlyList<Kept<FittingPlan>> Plans() => plans.History("site");

    /// <summary>Suggests a plan, with the score of a manual one beside it.</summary>
    public PlanComparison Compare(IReadOnlyList<string>? manual)
    {
        var task = Task(out var sheet);
        var suggestion = FittingSolver.Suggest(task);
        var suggested = new FittingPlan([.. suggestion.CandidateOfSlot.Select(c => task.Candidates[c].Identity)], suggestion.Score, suggestion.LowerBound, suggestion.GapPercent, true, false, suggestion.NotInside);
        return new PlanComparison(suggested, manual is null ? null : Manual(task, manual), Chain(sheet), Reasons(task, suggestion.CandidateOfSlot));
    }

    /// <summary>Looks at a plan without keeping it: every slot, the score in parts, mass and balance. Quick; nothing is searched.</summary>
    /// <param name="moduleOfSlot">Identity in each slot; empty where nothing is.</param>
    /// <exception cref="RefusedException">A name is no graded module.</exception>
    public PlanView View(IReadOnlyList<string> moduleOfSlot)
    {
        var task = Task(out var sheet);
        var view = PlanView.Of(task, Indices(task, moduleOfSlot), Chain(sheet));
        return view with { Balance = BalanceOf(sheet, [.. view.Slots.Select(s => new PointMass(s.MassKg, s.Slot.X, s.Slot.Y, s.Slot.Z))]) };
    }

    /// <summary>The best exchange of two slots of a plan, as indices of its slots; null where there is none to be had.</summary>
    public (int First, int Second, PlanScore Score)? BestSwap(IReadOnlyList<string> moduleOfSlot)
    {
        var task = Task(out _);
        return PlanScoring.BestSwap(task, Indices(task, moduleOfSlot));
    }

    /// <summary>What masses at the slots do to the craft; null where its figures are not entered.</summary>
    public static BalanceView? BalanceOf(SlotSheet sheet, IReadOnlyList<PointMass> modules) => BalanceView.Of(sheet.Supports, sheet.Boat, sheet.Removed ?? [], modules);

    /// <summary>Freezes a plan: the suggested one, or the builder's.</summary>
    /// <exception cref="RefusedException">It breaks a constraint.</exception>
    public Kept<FittingPlan> Freeze(IReadOnlyList<string>? manual, Stamp who)
    {
        var compared = Compare(manual);
        var plan = (manual is null ? compared.Suggested : compared.Manual)!;
        RefusedException.Unless(plan.Score.Conflicts.Count == 0, T($"The plan is not frozen: {string.Join("; ", plan.Score.Conflicts)}."));
        return plans.Put("site", plan with { Frozen = true }, Plan()?.Record.Revision ?? 0, who.By, who.At, who.Simulated);
    }

    /// <summary>Modules now in the plan, in slot order; empty before a plan.</summary>
    public IReadOnlyList<string> Pack() => Plan()?.Value.ModuleOfSlot ?? [];

    /// <summary>The polarity chain of the site.</summary>
    public PolarityChain Chain() => Chain(Slots()?.Value ?? throw NoSlots());

    /// <summary>Keeps a joint as worked on.</summary>
    public Kept<Joint> SetJoint(Joint joint, Stamp who)
    {
        var key = JointKey(joint.Number);
        return joints.Put(key, joint, joints.Latest(key)?.Record.Revision ?? 0, who.By, who.At, who.Simulated);
    }

    /// <summary>The record of a joint as last worked on; null before.</summary>
    public BenchRecord? JointRecord(int number) => joints.Latest(JointKey(number))?.Record;

    private static string JointKey(int number) => number.ToString("000", System.Globalization.CultureInfo.InvariantCulture);

    /// <summary>The joint sheet: every joint of the plan with what it still needs.</summary>
    public (IReadOnlyList<Joint> Joints, IReadOnlyList<JointState> States) Joints()
    {
        var known = joints.Latest().Select(j => j.Value).ToDictionary(j => j.Number);
        var pack = Pack();
        var all = Enumerable.Range(1, Math.Max(0, pack.Count - 1))
            .Select(n => known.GetValueOrDefault(n) ?? new Joint(n, T($"{pack[n - 1]}+ to {pack[n]}-"), "M8", double.NaN, null, null, null, null, null, ""))
            .Concat(known.Values.Where(j => j.Number >= pack.Count)).OrderBy(j => j.Number).ToList();
        return (all, JointSheet.Judge(all));
    }

    /// <summary>Plans and keeps the pre-balance.</summary>
    public Kept<PreBalancePlan> PlanPreBalance(IReadOnlyList<CellLevel> levels, double? targetPercent, double supplyA, double drainA, int supplies, Stamp who) =>
        preBalance.Put("pack", PreBalancePlan.Of(levels, targetPercent, supplyA, drainA, supplies), preBalance.Latest("pack")?.Record.Revision ?? 0, who.By, who.At, who.Simulated);

    /// <summary>The pre-balance plan; null before.</summary>
    public Kept<PreBalancePlan>? PreBalance() => preBalance.Latest("pack");

    private PlanTask Task(out SlotSheet sheet)
    {
        sheet = Slots()?.Value ?? throw NoSlots();
        var graded = grades.Latest()?.Value ?? throw new RefusedException(T("No module is graded yet: grade them first."));
        var coolest = sheet.CoolestOnly.IsDefault ? [] : sheet.CoolestOnly;
        var candidates = new List<Candidate>();
        foreach (var card in graded.Cards)
        {
            if (grades.CapacityOf(card.Identity) is not { } capacity) continue;
            var module = register.Get(new Pack.ModuleId(card.Identity)).Value;
            RefusedException.Unless(module.MassKg is not null || card.Grade is not (Bench.Grade.A or Bench.Grade.B), T($"{card.Identity} has no mass: weigh it first."));
            var milliohm = runs.PulseOf(card.Identity)?.Value.Outcome.Groups.Sum(g => g.TenSecondMilliohm) ?? double.NaN;
            candidates.Add(new Candidate(card.Identity, card.Grade, capacity.LowestAh, milliohm, module.MassKg ?? 0, coolest.Contains(card.Identity)));
        }

        var target = sheet.TargetX is { } x && sheet.TargetY is { } y ? ((double, double)?)(x, y) : null;
        return new PlanTask(sheet.Slots, candidates, sheet.Weights, target, sheet.Permitted);
    }

    private static FittingPlan Manual(PlanTask task, IReadOnlyList<string> manual) =>
        new([.. manual], PlanScoring.Score(task, Indices(task, manual)), double.NaN, double.NaN, false, false);

    private static int[] Indices(PlanTask task, IReadOnlyList<string> manual)
    {
        RefusedException.Unless(manual.Count == task.Slots.Count, T($"The plan names {manual.Count} modules for {task.Slots.Count} slots."));
        return
        [
            .. manual.Select(id =>
            {
                if (string.IsNullOrWhiteSpace(id)) return -1;
                var index = task.Candidates.ToList().FindIndex(c => c.Identity == id);
                RefusedException.Unless(index >= 0, T($"'{id}' is no graded module{Wording.NearestName.Suggestion(id, task.Candidates.Select(c => c.Identity))}."));
                return index;
            }),
        ];
    }

    private PolarityChain Chain(SlotSheet sheet)
    {
        var perModule = site.Layout.CellCount / site.Layout.Modules.Length * site.Limits.HighStopV;
        return PolarityChain.Of(sheet.Slots, sheet.TerminalM, perModule, sheet.NeighbourM);
    }

    private static IReadOnlyList<string> Reasons(PlanTask task, IReadOnlyList<int> plan) =>
    [
        .. plan.Select((c, s) =>
        {
            var (slot, module) = (task.Slots[s], task.Candidates[c]);
            return T($"slot {slot.Number} (cooling rank {slot.CoolingRank}, +{slot.WarmerK:0.0} K): {module.Identity}, {module.LowestAh:0.0} Ah, {PlanView.Reason(task, module)}");
        }),
    ];

    private static RefusedException NoSlots() => new(T("The slots are not entered yet: number, box, place in metres, cooling rank, reachable."));
}
