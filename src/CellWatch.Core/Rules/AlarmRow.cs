namespace CellWatch.Core.Rules;

/// <summary>One alarm: a rule at one place.</summary>
internal struct AlarmSlot
{
    public Persistence Persistence;
    public AlarmState State;
    public bool HasLatched;
    public AlarmRecord? Record;

    /// <summary>Shelved, suppressed or out of service: its condition is followed, its state is not.</summary>
    public readonly bool IsSetAside => State is AlarmState.Shelved or AlarmState.Suppressed or AlarmState.OutOfService;

    /// <summary>Present, or held by latching; shelved and suppressed ones included, out of service not.</summary>
    public readonly bool IsHeld =>
        State != AlarmState.OutOfService
        && (Persistence.IsPresent || HasLatched || State is AlarmState.LatchedAcknowledged or AlarmState.LatchedUnacknowledged);
}

/// <summary>A rule with all its alarms, one a place.</summary>
internal sealed class AlarmRow
{
    public AlarmRow(Rule rule, int places, int suppressedBy)
    {
        Rule = rule;
        SuppressedBy = suppressedBy;
        Comparer = new Comparer(rule.Comparison, rule.Limit, rule.Deadband);
        OnDelayUs = (long)Math.Round(rule.OnDelayS * 1e6);
        OffDelayUs = (long)Math.Round(rule.OffDelayS * 1e6);
        Slots = new AlarmSlot[places];
        Slots.AsSpan().Fill(new AlarmSlot { Persistence = Persistence.Absent });
    }

    public Rule Rule { get; }
    public int SuppressedBy { get; }
    public Comparer Comparer { get; }
    public long OnDelayUs { get; }
    public long OffDelayUs { get; }
    public AlarmSlot[] Slots { get; }

    /// <summary>Places at which something is pending or present.</summary>
    public int Restless { get; set; }
}
