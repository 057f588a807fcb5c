namespace CellWatch.Core.Rules;

/// <summary>How urgent an alarm is.</summary>
public enum AlarmPriority : byte
{
    /// <summary>For the list and the log only.</summary>
    Low,

    /// <summary>CAUTION.</summary>
    Medium,

    /// <summary>ACT NOW.</summary>
    High,
}

/// <summary>
/// Where an alarm stands, in the terms of IEC 62682 / ANSI/ISA-18.2 as restated in OPC 10000-9 (the standards themselves were not opened).
/// </summary>
public enum AlarmState : byte
{
    /// <summary>Condition absent, nothing to acknowledge.</summary>
    Normal,

    /// <summary>Condition present, not acknowledged.</summary>
    Unacknowledged,

    /// <summary>Condition present, acknowledged.</summary>
    Acknowledged,

    /// <summary>Condition gone, not yet acknowledged.</summary>
    ReturnedUnacknowledged,

    /// <summary>Condition gone, held until a person resets it; not acknowledged.</summary>
    LatchedUnacknowledged,

    /// <summary>Condition gone, held until a person resets it; acknowledged.</summary>
    LatchedAcknowledged,

    /// <summary>Put aside by a person for a time, with a reason.</summary>
    Shelved,

    /// <summary>Held back by another rule, by design.</summary>
    Suppressed,

    /// <summary>Taken out of service.</summary>
    OutOfService,
}

/// <summary>One alarm as pages, MQTT and the log see it; immutable.</summary>
public sealed record AlarmView
{
    /// <summary>Identity, the same for as long as the rule and the place are the same: <c>cell-high.B11.2</c>.</summary>
    public required string Id { get; init; }

    /// <summary>The rule that raised it.</summary>
    public required string Rule { get; init; }

    /// <summary>The group of causes its rule belongs to: <c>over-charge</c>, <c>no-data</c>, <c>measurement</c>; empty where it belongs to none.</summary>
    public string Group { get; init; } = "";

    /// <summary>How urgent it is now.</summary>
    public required AlarmPriority Priority { get; init; }

    /// <summary>Where it stands.</summary>
    public required AlarmState State { get; init; }

    /// <summary>Whether its condition is present now.</summary>
    public bool IsActive { get; init; }

    /// <summary>The word a page shows: ACT NOW, CAUTION, NO DATA.</summary>
    public required string Word { get; init; }

    /// <summary>The place as a person reads it: <c>B11.2</c>, <c>instrument 2</c>, <c>pack</c>.</summary>
    public required string Place { get; init; }

    /// <summary>The place's slot in words; empty where it has none.</summary>
    public string Slot { get; init; } = "";

    /// <summary>Cell index it is about; null where it is not about one cell.</summary>
    public int? Cell { get; init; }

    /// <summary>Module index it is about; null where it is not about one module.</summary>
    public int? Module { get; init; }

    /// <summary>The value that was judged, in <see cref="Unit"/>; null where there is none.</summary>
    public double? Value { get; init; }

    /// <summary>The limit it was judged by.</summary>
    public double? Limit { get; init; }

    /// <summary>Unit of value and limit.</summary>
    public string Unit { get; init; } = "";

    /// <summary>What is the matter, in one sentence with figures.</summary>
    public required string Message { get; init; }

    /// <summary>What to do first, in one sentence.</summary>
    public required string DoFirst { get; init; }

    /// <summary>What probably causes it; empty where nothing is known.</summary>
    public string LikelyCause { get; init; } = "";

    /// <summary>When the condition was first true in this occurrence, ms since 1970.</summary>
    public long SinceUnixMs { get; init; }

    /// <summary>The same on the elapsed clock, µs.</summary>
    public long SinceElapsedUs { get; init; }

    /// <summary>When it was acknowledged, ms since 1970; null while it was not.</summary>
    public long? SeenUnixMs { get; init; }

    /// <summary>Who acknowledged it.</summary>
    public string SeenBy { get; init; } = "";

    /// <summary>Shelved until, ms since 1970.</summary>
    public long? ShelvedUntilUnixMs { get; init; }

    /// <summary>Why it was shelved or taken out of service.</summary>
    public string ShelvedReason { get; init; } = "";

    /// <summary>Alarms of the same cause that are grouped under this one.</summary>
    public int Grouped { get; init; }

    /// <summary>The alarm this one is grouped under; empty where it stands for itself.</summary>
    public string GroupedUnder { get; init; } = "";

    /// <summary>Occurrences since the start.</summary>
    public int Count { get; init; }
}

/// <summary>One step in an alarm's life, for the log and for MQTT.</summary>
/// <param name="Id">The alarm.</param>
/// <param name="From">State before.</param>
/// <param name="To">State after.</param>
/// <param name="ElapsedUs">When, µs.</param>
/// <param name="WallUnixMs">When, ms since 1970.</param>
/// <param name="Why">What caused the step: <c>condition</c>, <c>acknowledged by ...</c>.</param>
/// <param name="Alarm">The alarm after the step.</param>
public sealed record AlarmTransition(string Id, AlarmState From, AlarmState To, long ElapsedUs, long WallUnixMs, string Why, AlarmView Alarm);
