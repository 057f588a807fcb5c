using System.Collections.Immutable;
using CellWatch.Core.Engine;

namespace CellWatch.Core.Rules;

/// <summary>
/// The life of an alarm, in the terms of IEC 62682 / ANSI/ISA-18.2:
/// <code>
///                 condition                 acknowledge               gone
///   normal ───────────────▶ unacknowledged ─────────────▶ acknowledged ────▶ normal  (latching: latched acknowledged)
///                                 │ gone                                        ▲ reset
///                                 ▼                                             │
///                 returned unacknowledged (latching: latched unacknowledged) ───┘ acknowledge
///   from any: shelved (person, time, reason) · suppressed (by another rule) · out of service; on leaving these it is judged afresh
/// </code>
/// Source of states and transitions: OPC 10000-9 and a public guide to ISA-18.2; the standards themselves were not opened. Judging afresh
/// on leaving, and never shelving the most urgent, are rules of this program. No allocation while nothing changes.
/// </summary>
internal sealed class AlarmLife(AlarmRoll roll, Facts facts, Measures measures, AlarmRates rates, AlarmPictures pictures)
{
    private readonly List<AlarmTransition> _transitions = [];

    /// <summary>The steps in alarms' lives since the last call.</summary>
    public ImmutableArray<AlarmTransition> TakeTransitions()
    {
        if (_transitions.Count == 0) return [];
        ImmutableArray<AlarmTransition> taken = [.. _transitions];
        _transitions.Clear();
        return taken;
    }

    /// <summary>A condition has come or gone.</summary>
    public void ConditionChanged(int r, int place, long now)
    {
        ref var slot = ref roll.Slot(r, place);
        if (slot.Persistence.IsPresent)
        {
            var record = slot.Record ??= new AlarmRecord();
            record.Raise(facts.Time, measures.Values(roll.Rows[r].Rule.Quantity)[place]);
            rates.Raised(now, r, place, pictures.PriorityOf(roll.Rows[r].Rule));
            if (!slot.IsSetAside) Move(r, place, AlarmState.Unacknowledged, "condition");
            return;
        }

        var latching = roll.Rows[r].Rule.Latching;
        if (slot.IsSetAside) slot.HasLatched |= latching;
        else if (slot.State == AlarmState.Unacknowledged) Move(r, place, latching ? AlarmState.LatchedUnacknowledged : AlarmState.ReturnedUnacknowledged, "condition gone");
        else if (slot.State == AlarmState.Acknowledged) Move(r, place, latching ? AlarmState.LatchedAcknowledged : AlarmState.Normal, "condition gone");
    }

    /// <summary>Time and other rules act on an alarm that is not normal.</summary>
    public void Tend(int r, int place, long now)
    {
        ref var slot = ref roll.Slot(r, place);
        var rule = roll.Rows[r].Rule;
        if (slot.Persistence.IsPresent) slot.Record!.Priority = pictures.PriorityOf(rule);

        if (slot.State == AlarmState.Shelved)
        {
            if (now >= slot.Record!.ShelvedUntilUs) JudgeAfresh(r, place, "shelving time over");
            else if (slot.Persistence.IsPresent && pictures.PriorityOf(rule) == AlarmPriority.High) JudgeAfresh(r, place, "now among the most urgent, which are not shelved");
            return;
        }

        if (roll.Rows[r].SuppressedBy < 0 || slot.State == AlarmState.OutOfService) return;
        var suppressed = roll.Rows[roll.Rows[r].SuppressedBy].Slots[place].Persistence.IsPresent;
        if (suppressed && slot.State != AlarmState.Suppressed) Move(r, place, AlarmState.Suppressed, $"suppressed by {rule.SuppressedBy}");
        else if (!suppressed && slot.State == AlarmState.Suppressed) JudgeAfresh(r, place, $"{rule.SuppressedBy} is over");
    }

    /// <summary>What was set aside is set aside no longer.</summary>
    public void JudgeAfresh(int r, int place, string why)
    {
        ref var slot = ref roll.Slot(r, place);
        var to = slot.Persistence.IsPresent ? AlarmState.Unacknowledged : slot.HasLatched ? AlarmState.LatchedAcknowledged : AlarmState.Normal;
        slot.HasLatched = false;
        Move(r, place, to, why);
    }

    /// <summary>One step of its life.</summary>
    public void Move(int r, int place, AlarmState to, string why)
    {
        ref var slot = ref roll.Slot(r, place);
        var from = slot.State;
        if (from == to) return;
        slot.State = to;
        if (from is AlarmState.LatchedAcknowledged or AlarmState.LatchedUnacknowledged && slot.IsSetAside) slot.HasLatched = true;
        slot.Record ??= new AlarmRecord();
        slot.Record.Priority = slot.Persistence.IsPresent ? pictures.PriorityOf(roll.Rows[r].Rule) : slot.Record.Priority;
        if (from == AlarmState.Normal) roll.Opened(r, place);
        if (to == AlarmState.Normal) roll.Closed(r, place);
        if (to is AlarmState.Unacknowledged or AlarmState.Normal) slot.Record.ForgetPeople();
        _transitions.Add(new AlarmTransition(roll.IdOf(r, place), from, to, facts.Time.ElapsedUs, facts.Time.WallUnixMs, why, pictures.View(r, place)));
    }
}
