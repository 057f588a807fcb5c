using CellWatch.Core.Bench.Project;
using CellWatch.Core.Planning;
using CellWatch.Core.Register;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Texts;
using Microsoft.AspNetCore.Components;

namespace CellWatch.Dashboard.BenchPages;

/// <summary>Where each module goes. A change is tried and its difference shown before it is kept; only a freeze is recorded.</summary>
public sealed partial class FittingPlan
{
    private readonly Stack<IReadOnlyList<string>> _undo = new();
    private IReadOnlyList<string> _plan = [];
    private IReadOnlyList<string> _frozen = [];
    private IReadOnlyList<string>? _triedPlan;
    private PlanView? _view;
    private PlanView? _tried;
    private Core.Bench.Project.FittingPlan? _suggested;
    private (int First, int Second, PlanScore Score)? _swap;
    private PriceList? _price;
    private string _noPrice = "";
    private double _ratedAh = double.NaN;
    private string _triedWords = "";
    private string _missing = "";
    private bool _asksSlots;
    private IReadOnlyList<PlanModule> _modules = [];
    private string _spare = "";
    private int? _chosen;
    private int _revision;
    private bool _working;

    [Inject] private PageKeys Keys { get; set; } = null!;

    private PlanView? Shown => _tried ?? _view;

    private bool IsNew => !_plan.SequenceEqual(_frozen);

    private string Hint => _spare.Length > 0 ? T($"{_spare} chosen: press the slot it should go to.")
        : _chosen is { } at ? T($"{_plan[at]} chosen: press another slot to see what a swap would change.")
        : T("From above: forward at the left, port on top. In a slot: number, + and − as they lie, grade and smallest group in Ah, K above the coolest slot; heavy line: limits the pack; dashed frame: where the centre of gravity may lie. Press two to try a swap.");

    /// <inheritdoc/>
    protected override void OnInitialized()
    {
        base.OnInitialized();
        Keys.Pressed += KeyAsync;
    }

    /// <inheritdoc/>
    public override void Dispose()
    {
        Keys.Pressed -= KeyAsync;
        base.Dispose();
    }

    /// <inheritdoc/>
    protected override void Look(BenchProject project)
    {
        try
        {
            var kept = project.Plans.Plan();
            _revision = kept?.Record.Revision ?? 0;
            var frozen = kept?.Value.ModuleOfSlot ?? [];
            // Somebody froze another plan: that one is shown, unless this page has changes of its own.
            if (_undo.Count == 0 || _plan.Count == 0) _plan = frozen.Length > 0 ? frozen : [.. project.Plans.Slots()?.Value.Slots.Select(_ => "") ?? []];
            _frozen = frozen;
            if (_plan.Count == 0)
            {
                (_view, _missing, _asksSlots, _modules) = (null, T("No plan yet: the slots of the craft are not entered."), true, PlanModule.Of(project));
                return;
            }

            _view = project.Plans.View(_plan);
            _swap = project.Plans.BestSwap(_plan);
            (_price, _noPrice) = PriceOf(project, _plan);
            _ratedAh = project.Site.RatedGroupAh;
        }
        catch (RefusedException refused)
        {
            (_view, _missing, _asksSlots, _modules) = (null, refused.Message, false, PlanModule.Of(project));
        }
    }

    private static (PriceList?, string) PriceOf(BenchProject project, IReadOnlyList<string> plan)
    {
        if (plan.Any(m => m.Length == 0)) return (null, T("Known when every slot is filled."));
        try
        {
            return (project.Grades.Price(plan), "");
        }
        catch (RefusedException refused)
        {
            return (null, refused.Message);
        }
    }

    private string Headline(PlanView view)
    {
        if (_plan.All(m => m.Length == 0)) return T("No plan yet. Press Suggest a plan.");
        var figures = T($"{Figures.With(view.Score.UsableAh, 1, "Ah")} limited by {view.Score.LimitedBy}; {Figures.With(view.Score.TotalKg, 1, "kg")}, centre {Figures.With(view.OffTargetMm, 0, "mm")} off its target.");
        if (view.Score.Conflicts.Count > 0) return T($"{BenchWords.Set(view.Score.Conflicts[0])}. Not to be built like this.");
        return IsNew ? T($"Changed, not frozen: {figures}") : T($"Plan revision {_revision} is frozen: {figures}");
    }

    private static string Difference(PlanView before, PlanView after)
    {
        string Part(string name, double was, double now) => Math.Abs(now - was) < 0.005 ? T($"{name} unchanged") : $"{name} {Figures.Number(now - was, 2, signed: true)}";
        var ah = after.Score.UsableAh - before.Score.UsableAh;
        return $"{Part(T("thermal"), before.Score.Thermal, after.Score.Thermal)}, {Part(T("electrical"), before.Score.Electrical, after.Score.Electrical)}, {Part(T("mass"), before.Score.Mass, after.Score.Mass)}; "
            + T($"together {Figures.Number(after.Score.Total - before.Score.Total, 2, signed: true)}: {(after.Score.Total < before.Score.Total - 0.005 ? T("better") : after.Score.Total > before.Score.Total + 0.005 ? T("worse") : T("the same"))}. ")
            + T($"Centre {Figures.With(1000 * (after.Centre.X - before.Centre.X), 0, "mm", signed: true)} aft, {Figures.With(1000 * (after.Centre.Y - before.Centre.Y), 0, "mm", signed: true)} to port")
            + (Math.Abs(ah) < 0.05 ? T("; the pack's Ah unchanged.") : T($"; the pack {Figures.With(ah, 1, "Ah", signed: true)}."));
    }

    private void Choose(string spare) => (_spare, _chosen, _tried, _triedPlan) = (_spare == spare ? "" : spare, null, null, null);

    private Task PressAsync(int at)
    {
        if (_tried is not null) LeaveTried();
        if (_spare.Length > 0)
        {
            var changed = _plan.ToArray();
            changed[at] = _spare;
            TryPlan(changed, _plan[at].Length > 0 ? T($"{_spare} in slot {_view!.Slots[at].Slot.Number}, {_plan[at]} out:") : T($"{_spare} in slot {_view!.Slots[at].Slot.Number}:"));
            (_spare, _chosen) = ("", null);
        }
        else if (_chosen is not { } first) _chosen = at;
        else
        {
            _chosen = null;
            if (first != at) TrySwap(first, at);
        }

        return Task.CompletedTask;
    }

    private void TrySwap(int first, int second)
    {
        var changed = _plan.ToArray();
        (changed[first], changed[second]) = (changed[second], changed[first]);
        TryPlan(changed, T($"{_plan[first]} to slot {_view!.Slots[second].Slot.Number}, {_plan[second]} to slot {_view.Slots[first].Slot.Number}:"));
    }

    // The rule of all slots, and what it means for the module that limits; the table below has every slot.
    private static string Why(PlanView view) => view.Slots.FirstOrDefault(s => s.Module.Length > 0 && view.Score.LimitedBy.StartsWith(s.Module, StringComparison.Ordinal)) is { } weakest
        ? T($"Why there: weak modules into cool slots, grade B where it can be reached, masses towards the target. {weakest.Module}, the weakest, is in slot {weakest.Slot.Number}, {Figures.With(weakest.Slot.WarmerK, 1, "K")} above the coolest: {weakest.Reason}.")
        : "";

    // What a swap can do at all: the best one, and by how much.
    private string SwapWords(PlanView view, (int First, int Second, PlanScore Score) swap)
    {
        var pair = T($"{_plan[swap.First]} with {_plan[swap.Second]}");
        var change = T($"thermal {Figures.Number(swap.Score.Thermal - view.Score.Thermal, 2, signed: true)}, mass {Figures.Number(swap.Score.Mass - view.Score.Mass, 2, signed: true)}, together {Figures.Number(swap.Score.Total - view.Score.Total, 2, signed: true)}");
        var score = T($"Score, lower is better: thermal {Figures.Number(view.Score.Thermal, 2)}, electrical {Figures.Number(view.Score.Electrical, 2)}, mass {Figures.Number(view.Score.Mass, 2)}, together {Figures.Number(view.Score.Total, 2)}.");
        return score + " " + (swap.Score.Total < view.Score.Total - 0.005
            ? T($"Of all swaps of two, {pair} would help most: {change}.")
            : T($"No swap of two helps; {pair} costs least: {change}."));
    }

    private void TryPlan(IReadOnlyList<string> changed, string words)
    {
        if (Try(p => _tried = p.Plans.View(changed))) (_triedPlan, _triedWords) = (changed, words);
    }

    private void KeepTried()
    {
        if (_triedPlan is null) return;
        _undo.Push(_plan);
        _plan = _triedPlan;
        LeaveTried();
        LookAgain();
    }

    private void LeaveTried() => (_tried, _triedPlan) = (null, null);

    private void Undo()
    {
        if (!_undo.TryPop(out var before)) return;
        LeaveTried();
        _plan = before;
        LookAgain();
    }

    private async Task SuggestAsync()
    {
        _working = true;
        StateHasChanged();
        await Task.Run(() => Try(p => _suggested = p.Plans.Compare(null).Suggested));
        _working = false;
        if (_suggested is { } s && !_plan.SequenceEqual(s.ModuleOfSlot)) TryPlan(s.ModuleOfSlot, T("The suggestion:"));
    }

    private async Task<(string Said, bool Taken)> KeepSlotsAsync(SlotSheet sheet)
    {
        await EnterAsync((p, who) => T($"{Figures.Count(p.Plans.SetSlots(sheet, who).Value.Slots.Length, T("slot"), T("slots"))} kept, signed {who.By}."));
        var (said, taken, _) = HandAnswerOver();
        LookAgain();
        return (said, taken);
    }

    private async Task FreezeAsync()
    {
        var plan = _plan;
        if (await EnterAsync((p, who) => T($"Plan revision {p.Plans.Freeze(plan, who).Record.Revision} is frozen, signed {who.By}."))) _undo.Clear();
        LookAgain();
    }

    private Task KeyAsync(string key) => InvokeAsync(() =>
    {
        if (key == "Backspace") Undo();
        else if (key == "Escape") (_chosen, _spare, _tried, _triedPlan) = (null, "", null, null);
        StateHasChanged();
    });
}
