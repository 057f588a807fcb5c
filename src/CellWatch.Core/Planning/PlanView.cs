using CellWatch.Core.Bench;

namespace CellWatch.Core.Planning;

/// <summary>A slot with what is planned into it.</summary>
/// <param name="Slot">The slot.</param>
/// <param name="Module">Identity; empty where nothing is.</param>
/// <param name="Grade">Its grade.</param>
/// <param name="LowestAh">Its smallest group; NaN where nothing is.</param>
/// <param name="MassKg">Its mass.</param>
/// <param name="Turned">Whether it is turned round: + to starboard.</param>
/// <param name="InHandPercent">What it has in hand against the best of the candidates: 100 is the best; NaN where nothing is.</param>
/// <param name="Reason">Why it may sit there, in words.</param>
/// <param name="Conflict">Why it may not; empty when it may.</param>
public sealed record SlotView(Slot Slot, string Module, Grade Grade, double LowestAh, double MassKg, bool Turned, double InHandPercent, string Reason, string Conflict);

/// <summary>Mass in one box.</summary>
public sealed record BoxMass(string Box, int Modules, double MassKg);

/// <summary>A plan as it is looked at: every slot, the score in parts, mass and balance, and what could go in instead.</summary>
/// <param name="Slots">In electrical order.</param>
/// <param name="Score">Score in parts.</param>
/// <param name="Centre">Centre of gravity, m from the datum.</param>
/// <param name="Target">Where it should lie.</param>
/// <param name="Boxes">Mass by box.</param>
/// <param name="Hottest">The warmest slot.</param>
/// <param name="Chain">Electrical side.</param>
/// <param name="Spares">Usable modules that are in no slot, the largest first.</param>
/// <param name="Permitted">Where the centre may lie; null where that is not entered.</param>
/// <param name="Balance">What the plan does to the craft; null where its figures are not entered.</param>
public sealed record PlanView(
    IReadOnlyList<SlotView> Slots, PlanScore Score, CentreOfGravity Centre, (double X, double Y) Target, IReadOnlyList<BoxMass> Boxes, SlotView Hottest, PolarityChain Chain,
    IReadOnlyList<Candidate> Spares, CentreBox? Permitted = null, BalanceView? Balance = null)
{
    /// <summary>Distance of the centre of gravity from its target, mm.</summary>
    public double OffTargetMm => 1000 * Math.Sqrt(Math.Pow(Centre.X - Target.X, 2) + Math.Pow(Centre.Y - Target.Y, 2));

    /// <summary>Looks at a plan.</summary>
    /// <param name="task">Slots and candidates.</param>
    /// <param name="plan">Candidate of each slot; negative where a slot is empty.</param>
    /// <param name="chain">Electrical side of the slots.</param>
    public static PlanView Of(PlanTask task, IReadOnlyList<int> plan, PolarityChain chain)
    {
        var slots = task.Slots.Select((slot, i) => plan[i] < 0
            ? new SlotView(slot, "", Grade.None, double.NaN, 0, chain.Turned[i], double.NaN, "", T($"slot {slot.Number} is empty"))
            : Filled(task, slot, task.Candidates[plan[i]], chain.Turned[i])).ToList();
        var centre = CentreOfGravity.Of(slots.Select(s => new PointMass(s.MassKg, s.Slot.X, s.Slot.Y, s.Slot.Z)));
        var placed = plan.ToHashSet();
        return new PlanView(
            slots, PlanScoring.Score(task, [.. plan]), centre, task.Target,
            [.. slots.GroupBy(s => s.Slot.Box, StringComparer.Ordinal).Select(g => new BoxMass(g.Key, g.Count(s => s.Module.Length > 0), g.Sum(s => s.MassKg)))],
            slots.MaxBy(s => s.Slot.WarmerK)!, chain,
            [.. task.Candidates.Where((c, i) => !placed.Contains(i) && c.Grade is Grade.A or Grade.B).OrderByDescending(c => c.LowestAh)], task.Permitted);
    }

    /// <summary>Why a module sits in a slot, in words.</summary>
    public static string Reason(PlanTask task, Candidate module) =>
        module.CoolestOnly ? T("coolest slots only") : module.Grade == Grade.B ? T("grade B, reachable") : T($"{InHand(task, module):0} % in hand");

    private static SlotView Filled(PlanTask task, Slot slot, Candidate c, bool turned) => new(
        slot, c.Identity, c.Grade, c.LowestAh, c.MassKg, turned, InHand(task, c), Reason(task, c), PlanScoring.Conflict(c, slot, task.Weights) ?? "");

    private static double InHand(PlanTask task, Candidate c) => 100 * (1 - PlanScoring.Weakness(c, task));
}
