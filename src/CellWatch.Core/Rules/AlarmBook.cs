using System.Collections.Immutable;
using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Rules;

/// <summary>
/// Judges every rule at every place and keeps each alarm's life, in the terms of IEC 62682 / ANSI/ISA-18.2:
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
internal sealed class AlarmBook
{
    private readonly Facts _facts;
    private readonly Measures _measures;
    private readonly Places _places;
    private readonly AlarmWording _wording;
    private readonly Row[] _rows;
    private readonly List<AlarmTransition> _transitions = [];
    private readonly List<(int Row, int Place)> _open = [];
    private readonly AlarmRates _rates = new();
    private static readonly AlarmFigures Calm = new();

    public AlarmBook(RuleTable table, Facts facts, Measures measures, Places places)
    {
        _facts = facts;
        _measures = measures;
        _places = places;
        _wording = new AlarmWording(facts, places, measures);
        _rows = [.. table.Rules.Select(rule => new Row(rule, measures.PlaceCount(Quantities.PlaceOf(rule.Quantity)), rule.SuppressedBy is { } by ? table.IndexOf(by) : -1))];
    }

    /// <summary>Rates, chatter and long-standing alarms. Ask once a published state: a flood has a memory.</summary>
    public AlarmFigures Figures()
    {
        var now = _facts.Time.ElapsedUs;
        var inDay = _rates.InDay(now);
        var longStanding = ImmutableArray.CreateBuilder<string>();
        foreach (var (row, place) in _open)
            if (_rows[row].Slots[place].Persistence.IsPresent && now - _rows[row].Slots[place].Record!.SinceElapsedUs > AlarmRates.DayUs) longStanding.Add(IdOf(row, place));
        if (inDay == 0 && longStanding.Count == 0) return Calm;
        var (low, medium, high) = _rates.ByPriority();
        return new AlarmFigures
        {
            InTenMinutes = _rates.InTenMinutes(now),
            InDay = inDay,
            Flood = _rates.IsFlood(now),
            LongStanding = longStanding.ToImmutable(),
            Chattering = [.. _rates.Chattering().Select(a => IdOf(a.Row, a.Place))],
            Repeaters = [.. _rates.Repeaters(5).Select(a => new AlarmRepeat(IdOf(a.Row, a.Place), a.Count))],
            Low = low,
            Medium = medium,
            High = high,
        };
    }

    /// <summary>Whether any alarm of that action is present or held, shelved ones included.</summary>
    public bool AnyHeld(RuleAction action)
    {
        foreach (var (row, place) in _open)
            if (_rows[row].Rule.Action == action && IsHeld(_rows[row].Slots[place])) return true;
        return false;
    }

    /// <summary>The first present or held alarm that withdraws the permit, in words; empty where there is none.</summary>
    public string FirstAgainstPermit()
    {
        foreach (var (row, place) in _open)
            if (_rows[row].Rule.Action == RuleAction.WithdrawPermit && IsHeld(_rows[row].Slots[place])) return _places.IdOf(_rows[row].Rule, place);
        return "";
    }

    /// <summary>Whether that rule's alarm is present at any place.</summary>
    public bool IsPresentAnywhere(string rule)
    {
        foreach (var (row, place) in _open)
            if (_rows[row].Rule.Name == rule && _rows[row].Slots[place].Persistence.IsPresent) return true;
        return false;
    }

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
        for (var r = 0; r < _rows.Length; r++) Judge(r, (_rows[r].Rule.Applies & mode) != AppliesWhen.Never, now);
        for (var i = _open.Count - 1; i >= 0; i--) Tend(_open[i].Row, _open[i].Place, now);
    }

    /// <summary>The steps in alarms' lives since the last call.</summary>
    public ImmutableArray<AlarmTransition> TakeTransitions()
    {
        if (_transitions.Count == 0) return [];
        ImmutableArray<AlarmTransition> taken = [.. _transitions];
        _transitions.Clear();
        return taken;
    }

    /// <summary>All alarms that are not normal, the most urgent first, grouped by cause.</summary>
    public ImmutableArray<AlarmView> Views()
    {
        if (_open.Count == 0) return [];
        var views = new List<(AlarmView View, string Group)>(_open.Count);
        foreach (var (row, place) in _open) views.Add((View(row, place), GroupOf(_rows[row].Rule, place)));
        return AlarmGroups.Group(views);
    }

    /// <summary>Acknowledges, shelves, unshelves, resets or takes out of service.</summary>
    /// <param name="id">The alarm.</param>
    /// <param name="act">What to do with it; its answer says what happened.</param>
    public Commands.CommandAnswer Apply(string id, Func<AlarmDoor, Commands.CommandAnswer> act)
    {
        if (!TryFind(id, out var row, out var place)) return new(false, $"There is no alarm '{id}'.");
        return act(new AlarmDoor(this, row, place));
    }

    private void Judge(int r, bool applies, long now)
    {
        var row = _rows[r];
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
            if (outcome >= Outcome.Stale && applies) row.Unseen++;
            var changed = slot.Persistence.Take(outcome, now, row.OnDelayUs, row.OffDelayUs, row.Rule.Samples);
            if (slot.Persistence.IsQuiet != wasQuiet) row.Restless += wasQuiet ? 1 : -1;
            if (changed) ConditionChanged(r, place, now);
        }
    }

    private static Outcome OutcomeOf(Row row, Availability availability, double value) => availability switch
    {
        Availability.Known => double.IsFinite(value) ? row.Comparer.Compare(value) : Outcome.Error,
        Availability.Absent => Outcome.False,
        Availability.Stale => Outcome.Stale,
        _ => Outcome.Error,
    };

    private void ConditionChanged(int r, int place, long now)
    {
        ref var slot = ref _rows[r].Slots[place];
        if (slot.Persistence.IsPresent)
        {
            var record = slot.Record ??= new AlarmRecord();
            record.Raise(_facts.Time, _measures.Values(_rows[r].Rule.Quantity)[place]);
            _rates.Raised(now, r, place, PriorityOf(_rows[r].Rule));
            if (!IsSetAside(slot.State)) Move(r, place, AlarmState.Unacknowledged, "condition");
            return;
        }

        var latching = _rows[r].Rule.Latching;
        if (IsSetAside(slot.State)) slot.HasLatched |= latching;
        else if (slot.State == AlarmState.Unacknowledged) Move(r, place, latching ? AlarmState.LatchedUnacknowledged : AlarmState.ReturnedUnacknowledged, "condition gone");
        else if (slot.State == AlarmState.Acknowledged) Move(r, place, latching ? AlarmState.LatchedAcknowledged : AlarmState.Normal, "condition gone");
    }

    /// <summary>Time and other rules act on an alarm that is not normal.</summary>
    private void Tend(int r, int place, long now)
    {
        ref var slot = ref _rows[r].Slots[place];
        var rule = _rows[r].Rule;
        if (slot.Persistence.IsPresent) slot.Record!.Priority = PriorityOf(rule);

        if (slot.State == AlarmState.Shelved)
        {
            if (now >= slot.Record!.ShelvedUntilUs) JudgeAfresh(r, place, "shelving time over");
            else if (slot.Persistence.IsPresent && PriorityOf(rule) == AlarmPriority.High) JudgeAfresh(r, place, "now among the most urgent, which are not shelved");
            return;
        }

        if (_rows[r].SuppressedBy < 0 || slot.State == AlarmState.OutOfService) return;
        var suppressed = _rows[_rows[r].SuppressedBy].Slots[place].Persistence.IsPresent;
        if (suppressed && slot.State != AlarmState.Suppressed) Move(r, place, AlarmState.Suppressed, $"suppressed by {rule.SuppressedBy}");
        else if (!suppressed && slot.State == AlarmState.Suppressed) JudgeAfresh(r, place, $"{rule.SuppressedBy} is over");
    }

    private void JudgeAfresh(int r, int place, string why)
    {
        ref var slot = ref _rows[r].Slots[place];
        var to = slot.Persistence.IsPresent ? AlarmState.Unacknowledged : slot.HasLatched ? AlarmState.LatchedAcknowledged : AlarmState.Normal;
        slot.HasLatched = false;
        Move(r, place, to, why);
    }

    private void Move(int r, int place, AlarmState to, string why)
    {
        ref var slot = ref _rows[r].Slots[place];
        var from = slot.State;
        if (from == to) return;
        if (from is AlarmState.LatchedAcknowledged or AlarmState.LatchedUnacknowledged && IsSetAside(to)) slot.HasLatched = true;
        slot.State = to;
        slot.Record ??= new AlarmRecord();
        slot.Record.Priority = slot.Persistence.IsPresent ? PriorityOf(_rows[r].Rule) : slot.Record.Priority;
        if (from == AlarmState.Normal) _open.Add((r, place));
        if (to == AlarmState.Normal) _open.Remove((r, place));
        if (to is AlarmState.Unacknowledged or AlarmState.Normal) slot.Record.ForgetPeople();
        _transitions.Add(new AlarmTransition(_places.IdOf(_rows[r].Rule, place), from, to, _facts.Time.ElapsedUs, _facts.Time.WallUnixMs, why, View(r, place)));
    }

    private AlarmView View(int r, int place)
    {
        var rule = _rows[r].Rule;
        ref var slot = ref _rows[r].Slots[place];
        var record = slot.Record!;
        var available = _measures.Availabilities(rule.Quantity)[place] == Availability.Known;
        var value = _measures.Values(rule.Quantity)[place];
        if (slot.Persistence.IsPresent && available && double.IsFinite(value)) record.Value = value;
        var kind = Quantities.PlaceOf(rule.Quantity);
        var heldS = slot.Persistence.IsPresent ? (_facts.Time.ElapsedUs - slot.Persistence.TrueSinceUs) * 1e-6 : 0;
        if (slot.Persistence.IsPresent) record.Message = _wording.Message(rule, place, record.Value, heldS);
        var cell = kind == PlaceKind.Cell ? place : _wording.SubjectCell(rule);
        return new AlarmView
        {
            Id = _places.IdOf(rule, place),
            Rule = rule.Name,
            Priority = record.Priority,
            State = slot.State,
            IsActive = slot.Persistence.IsPresent,
            Word = rule.Word ?? record.Priority switch { AlarmPriority.High => "ACT NOW", AlarmPriority.Medium => "CAUTION", _ => "NOTE" },
            Place = _places.NameOf(kind, place),
            Slot = _places.SlotOf(kind, place),
            Cell = cell,
            Module = _places.ModuleOf(kind, place) ?? (cell is { } c ? _facts.Layout.ModuleOfCell(c) : null),
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

    private string IdOf(int row, int place) => _places.IdOf(_rows[row].Rule, place);

    private AlarmPriority PriorityOf(Rule rule) => _facts.MayBeCharging ? rule.PriorityWhileCharging ?? rule.Priority : rule.Priority;

    private string GroupOf(Rule rule, int place)
    {
        if (rule.Group.Length == 0) return _places.IdOf(rule, place);
        // Two instruments that fall silent, or two modules not believed, are two causes; two cells over a limit are one.
        return Quantities.PlaceOf(rule.Quantity) is PlaceKind.Instrument or PlaceKind.Module
            ? FormattableString.Invariant($"{rule.Group}.{Quantities.PlaceOf(rule.Quantity)}.{place}")
            : rule.Group;
    }

    private bool TryFind(string id, out int row, out int place)
    {
        place = -1;
        for (row = 0; row < _rows.Length; row++)
        {
            var rule = _rows[row].Rule;
            if (!id.StartsWith(rule.Name, StringComparison.Ordinal) || id.Length <= rule.Name.Length || id[rule.Name.Length] != '.') continue;
            for (place = 0; place < _rows[row].Slots.Length; place++)
                if (string.Equals(_places.IdOf(rule, place), id, StringComparison.Ordinal)) return true;
        }

        return false;
    }

    private static bool IsSetAside(AlarmState state) => state is AlarmState.Shelved or AlarmState.Suppressed or AlarmState.OutOfService;

    private static bool IsHeld(in Slot slot) =>
        slot.State != AlarmState.OutOfService
        && (slot.Persistence.IsPresent || slot.HasLatched || slot.State is AlarmState.LatchedAcknowledged or AlarmState.LatchedUnacknowledged);

    internal struct Slot
    {
        public Persistence Persistence;
        public AlarmState State;
        public bool HasLatched;
        public AlarmRecord? Record;
    }

    private sealed class Row
    {
        public Row(Rule rule, int places, int suppressedBy)
        {
            Rule = rule;
            SuppressedBy = suppressedBy;
            Comparer = new Comparer(rule.Comparison, rule.Limit, rule.Deadband);
            OnDelayUs = (long)Math.Round(rule.OnDelayS * 1e6);
            OffDelayUs = (long)Math.Round(rule.OffDelayS * 1e6);
            Slots = new Slot[places];
            Slots.AsSpan().Fill(new Slot { Persistence = Persistence.Absent });
        }

        public Rule Rule { get; }
        public int SuppressedBy { get; }
        public Comparer Comparer { get; }
        public long OnDelayUs { get; }
        public long OffDelayUs { get; }
        public Slot[] Slots { get; }

        /// <summary>Places at which something is pending or present.</summary>
        public int Restless { get; set; }

        /// <summary>Comparisons that could not be made while something was pending or present.</summary>
        public long Unseen { get; set; }
    }

    /// <summary>What a person may do with one alarm.</summary>
    internal readonly struct AlarmDoor(AlarmBook book, int row, int place)
    {
        private ref Slot Slot => ref book._rows[row].Slots[place];

        private Rule Rule => book._rows[row].Rule;

        public Commands.CommandAnswer Acknowledge(string by)
        {
            AlarmState to;
            switch (Slot.State)
            {
                case AlarmState.Unacknowledged: to = AlarmState.Acknowledged; break;
                case AlarmState.ReturnedUnacknowledged: to = AlarmState.Normal; break;
                case AlarmState.LatchedUnacknowledged: to = AlarmState.LatchedAcknowledged; break;
                default: return new(false, "There is nothing to mark as seen: this alarm is not waiting for it.");
            }

            Slot.Record!.SeenUnixMs = book._facts.Time.WallUnixMs;
            Slot.Record.SeenBy = by;
            book.Move(row, place, to, $"acknowledged by {by}");
            return new(true, "Seen.");
        }

        public Commands.CommandAnswer Shelve(double minutes, string reason, string by)
        {
            if (!(minutes is >= 1 and <= 480)) return new(false, FormattableString.Invariant($"{minutes} minutes: allowed are 1 to 480."));
            if (string.IsNullOrWhiteSpace(reason)) return new(false, "Say why it is put aside.");
            if (!Rule.MayBeShelved || book.PriorityOf(Rule) == AlarmPriority.High) return new(false, "The most urgent alarms are never put aside. Remove the cause.");
            if (IsSetAside(Slot.State)) return new(false, "It is set aside already.");
            var record = Slot.Record ??= new AlarmRecord();
            record.ShelvedUntilUs = book._facts.Time.ElapsedUs + (long)(minutes * 60e6);
            record.ShelvedUntilUnixMs = book._facts.Time.WallUnixMs + (long)(minutes * 60e3);
            record.Reason = reason;
            book.Move(row, place, AlarmState.Shelved, $"shelved by {by}: {reason}");
            return new(true, $"Put aside until {Say.Clock(record.ShelvedUntilUnixMs, book._facts.Options.TimeZone)}.");
        }

        public Commands.CommandAnswer Unshelve(string by)
        {
            if (Slot.State != AlarmState.Shelved) return new(false, "It is not put aside.");
            book.JudgeAfresh(row, place, $"unshelved by {by}");
            return new(true, "Taken back.");
        }

        public Commands.CommandAnswer Reset(string by)
        {
            switch (Slot.State)
            {
                case AlarmState.LatchedAcknowledged:
                    book.Move(row, place, AlarmState.Normal, $"reset by {by}");
                    return new(true, "Reset.");
                case AlarmState.LatchedUnacknowledged: return new(false, "Mark it as seen first.");
                case AlarmState.Unacknowledged or AlarmState.Acknowledged: return new(false, "Its condition is still present; it cannot be reset.");
                default: return new(false, "It is not held.");
            }
        }

        public Commands.CommandAnswer SetOutOfService(bool outOfService, string reason, string by)
        {
            if (!outOfService)
            {
                if (Slot.State != AlarmState.OutOfService) return new(false, "It is in service.");
                book.JudgeAfresh(row, place, $"returned to service by {by}");
                return new(true, "Back in service.");
            }

            if (string.IsNullOrWhiteSpace(reason)) return new(false, "Say why it is taken out of service.");
            if (!Rule.MayBeShelved || Rule.PriorityWhileCharging == AlarmPriority.High) return new(false, "The most urgent alarms are never taken out of service.");
            if (Slot.State == AlarmState.OutOfService) return new(false, "It is out of service already.");
            (Slot.Record ??= new AlarmRecord()).Reason = reason;
            book.Move(row, place, AlarmState.OutOfService, $"out of service by {by}: {reason}");
            return new(true, "Out of service.");
        }
    }
}
