using System.Collections.Immutable;
using CellWatch.Core.Commands;
using CellWatch.Core.Engine;
using CellWatch.Core.Live;

namespace CellWatch.Core.Rules;

/// <summary>
/// Judges every rule at every place on the measures of a step, and is the one face of the alarms to the rest of the engine. What is known of each
/// alarm is in the <see cref="AlarmRoll"/>, how it goes from state to state in <see cref="AlarmLife"/>, what it looks like in
/// <see cref="AlarmPictures"/>, what a person may do with it in <see cref="AlarmDoor"/>. No allocation while nothing changes.
/// </summary>
internal sealed class AlarmBook
{
    private static readonly AlarmFigures Calm = new();
    private readonly Facts _facts;
    private readonly Measures _measures;
    private readonly AlarmRoll _roll;
    private readonly AlarmRates _rates = new();
    private readonly AlarmPictures _pictures;
    private readonly AlarmLife _life;

    public AlarmBook(RuleTable table, Facts facts, Measures measures, Places places)
    {
        (_facts, _measures) = (facts, measures);
        _roll = new AlarmRoll(table, measures, places);
        _pictures = new AlarmPictures(_roll, facts, measures, places);
        _life = new AlarmLife(_roll, facts, measures, _rates, _pictures);
    }

    /// <summary>What is present or held.</summary>
    public AlarmRoll Roll => _roll;

    /// <summary>Judges all rules on the measures of this step.</summary>
    public void Step()
    {
        var now = _facts.Time.ElapsedUs;
        var mode = _facts.Mode switch
        {
            PackMode.Rest => AppliesWhen.Rest,
            PackMode.Charging => AppliesWhen.Charging,
            PackMode.Discharging => AppliesWhen.Discharging,
            _ => AppliesWhen.Unknown,
        };
        for (var r = 0; r < _roll.Rows.Length; r++) Judge(r, (_roll.Rows[r].Rule.Applies & mode) != AppliesWhen.Never, now);
        for (var i = _roll.Open.Count - 1; i >= 0; i--) _life.Tend(_roll.Open[i].Row, _roll.Open[i].Place, now);
    }

    /// <summary>The steps in alarms' lives since the last call.</summary>
    public ImmutableArray<AlarmTransition> TakeTransitions() => _life.TakeTransitions();

    /// <summary>All alarms that are not normal, the most urgent first, grouped by cause.</summary>
    public ImmutableArray<AlarmView> Views() => _pictures.All();

    /// <summary>Rates, chatter and long-standing alarms. Ask once a published state: a flood has a memory.</summary>
    public AlarmFigures Figures()
    {
        var now = _facts.Time.ElapsedUs;
        var inDay = _rates.InDay(now);
        var longStanding = ImmutableArray.CreateBuilder<string>();
        foreach (var (row, place) in _roll.Open)
            if (_roll.Slot(row, place).Persistence.IsPresent && now - _roll.Slot(row, place).Record!.SinceElapsedUs > AlarmRates.DayUs) longStanding.Add(_roll.IdOf(row, place));
        if (inDay == 0 && longStanding.Count == 0) return Calm;
        var (low, medium, high) = _rates.ByPriority();
        return new AlarmFigures
        {
            InTenMinutes = _rates.InTenMinutes(now),
            InDay = inDay,
            Flood = _rates.IsFlood(now),
            LongStanding = longStanding.ToImmutable(),
            Chattering = [.. _rates.Chattering().Select(a => _roll.IdOf(a.Row, a.Place))],
            Repeaters = [.. _rates.Repeaters(5).Select(a => new AlarmRepeat(_roll.IdOf(a.Row, a.Place), a.Count))],
            Low = low,
            Medium = medium,
            High = high,
        };
    }

    /// <summary>Acknowledges, shelves, unshelves, resets or takes out of service.</summary>
    /// <param name="id">The alarm.</param>
    /// <param name="act">What to do with it; its answer says what happened.</param>
    public CommandAnswer Apply(string id, Func<AlarmDoor, CommandAnswer> act) =>
        _roll.TryFind(id, out var row, out var place) ? act(new AlarmDoor(_roll, _life, _pictures, _facts, row, place)) : new(false, T($"There is no alarm '{id}'."));

    private void Judge(int r, bool applies, long now)
    {
        var row = _roll.Rows[r];
        if (!applies && row.Restless == 0) return;
        var values = _measures.Values(row.Rule.Quantity);
        var available = _measures.Availabilities(row.Rule.Quantity);
        var outside = row.Rule.HoldsOutside ? Outcome.Stale : Outcome.False;
        for (var place = 0; place < row.Slots.Length; place++)
        {
            ref var slot = ref row.Slots[place];
            var outcome = applies ? OutcomeOf(row, available[place], values[place]) : outside;
            var wasQuiet = slot.Persistence.IsQuiet;
            if (wasQuiet && outcome != Outcome.True) continue;
            var changed = slot.Persistence.Take(outcome, now, row.OnDelayUs, row.OffDelayUs, row.Rule.Samples);
            if (slot.Persistence.IsQuiet != wasQuiet) row.Restless += wasQuiet ? 1 : -1;
            if (changed) _life.ConditionChanged(r, place, now);
        }
    }

    private static Outcome OutcomeOf(AlarmRow row, Availability availability, double value) => availability switch
    {
        Availability.Known => double.IsFinite(value) ? row.Comparer.Compare(value) : Outcome.Error,
        Availability.Absent => Outcome.False,
        Availability.Stale => Outcome.Stale,
        _ => Outcome.Error,
    };
}
