using System.Collections.Immutable;
using CellWatch.Core.Engine;

namespace CellWatch.Core.Rules;

/// <summary>Pictures of alarms as pages, messages and the log show them: words, figures, urgency, grouped by cause.</summary>
internal sealed class AlarmPictures(AlarmRoll roll, Facts facts, Measures measures, Places places)
{
    private readonly AlarmWording _wording = new(facts, places, measures);

    /// <summary>How urgent a rule's alarms are now.</summary>
    public AlarmPriority PriorityOf(Rule rule) => facts.MayBeCharging ? rule.PriorityWhileCharging ?? rule.Priority : rule.Priority;

    /// <summary>All alarms that are not normal, the most urgent first, grouped by cause.</summary>
    public ImmutableArray<AlarmView> All()
    {
        if (roll.Open.Count == 0) return [];
        var views = new List<(AlarmView View, string Group)>(roll.Open.Count);
        List<(int Index, bool IsInstrument)>? silent = null;
        foreach (var (row, place) in roll.Open)
        {
            var rule = roll.Rows[row].Rule;
            views.Add((View(row, place), GroupOf(rule, place)));
            if (rule.Quantity is Quantity.Unseen or Quantity.CurrentUnknown) (silent ??= []).Add((views.Count - 1, rule.Quantity == Quantity.Unseen));
        }

        if (silent is { Count: > 1 }) SilencesAtOnce.Join(views, silent, _wording.CutOffIfCharging);
        return AlarmGroups.Group(views);
    }

    /// <summary>One alarm.</summary>
    public AlarmView View(int r, int place)
    {
        var rule = roll.Rows[r].Rule;
        ref var slot = ref roll.Slot(r, place);
        var record = slot.Record!;
        var available = measures.Availabilities(rule.Quantity)[place] == Availability.Known;
        var value = measures.Values(rule.Quantity)[place];
        if (slot.Persistence.IsPresent && available && double.IsFinite(value)) record.Value = value;
        var kind = Quantities.PlaceOf(rule.Quantity);
        var heldS = slot.Persistence.IsPresent ? (facts.Time.ElapsedUs - slot.Persistence.TrueSinceUs) * 1e-6 : 0;
        if (slot.Persistence.IsPresent) record.Message = _wording.Message(rule, place, record.Value, heldS);
        var cell = kind == PlaceKind.Cell ? place : _wording.SubjectCell(rule);
        return new AlarmView
        {
            Id = places.IdOf(rule, place),
            Rule = rule.Name,
            Group = rule.Group,
            Priority = record.Priority,
            State = slot.State,
            IsActive = slot.Persistence.IsPresent,
            Word = rule.Word ?? record.Priority switch { AlarmPriority.High => "ACT NOW", AlarmPriority.Medium => "CAUTION", _ => "NOTE" },
            Place = places.NameOf(kind, place),
            Slot = places.SlotOf(kind, place),
            Cell = cell,
            Module = places.ModuleOf(kind, place) ?? (cell is { } c ? facts.Layout.ModuleOfCell(c) : null),
            Value = record.Value,
            Limit = rule.Limit,
            Unit = Quantities.UnitOf(rule.Quantity),
            Message = record.Message,
            DoFirst = _wording.DoFirst(rule, place),
            LikelyCause = rule.LikelyCause,
            SinceUnixMs = record.SinceUnixMs,
            SinceElapsedUs = record.SinceElapsedUs,
            SeenUnixMs = record.SeenUnixMs,
            SeenBy = record.SeenBy,
            ShelvedUntilUnixMs = slot.State == AlarmState.Shelved ? record.ShelvedUntilUnixMs : null,
            ShelvedReason = record.Reason,
            Count = record.Count,
        };
    }

    private string GroupOf(Rule rule, int place)
    {
        if (rule.Group.Length == 0) return places.IdOf(rule, place);
        // Two instruments that fall silent, or two modules not believed, are two causes; two cells over a limit are one.
        return Quantities.PlaceOf(rule.Quantity) is PlaceKind.Instrument or PlaceKind.Module
            ? FormattableString.Invariant($"{rule.Group}.{Quantities.PlaceOf(rule.Quantity)}.{place}")
            : rule.Group;
    }
}
