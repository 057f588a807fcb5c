namespace CellWatch.Core.Rules;

/// <summary>Which side of a limit is the wrong one.</summary>
public enum Comparison : byte
{
    /// <summary>True at or above the limit.</summary>
    AtLeast,

    /// <summary>True at or below the limit.</summary>
    AtMost,
}

/// <summary>In which modes of the pack a rule is judged.</summary>
[Flags]
public enum AppliesWhen : byte
{
    /// <summary>Never; no row may say so.</summary>
    Never = 0,

    /// <summary>At rest.</summary>
    Rest = 1,

    /// <summary>While charging.</summary>
    Charging = 2,

    /// <summary>While discharging.</summary>
    Discharging = 4,

    /// <summary>While the current is not known. Unknown counts as unsafe, so rules that guard a charge say this too.</summary>
    Unknown = 8,

    /// <summary>Always.</summary>
    Always = Rest | Charging | Discharging | Unknown,
}

/// <summary>What a rule does besides raising its alarm.</summary>
public enum RuleAction : byte
{
    /// <summary>Nothing else.</summary>
    AlarmOnly,

    /// <summary>The charge request is reduced.</summary>
    ReduceRequest,

    /// <summary>The charge permit is withdrawn.</summary>
    WithdrawPermit,
}

/// <summary>
/// One row of the rule table: one comparison of one quantity, and what follows when it holds for long enough.
/// Active when the comparison holds for at least <see cref="OnDelayS"/> and <see cref="Samples"/>; clears when the value has been
/// beyond the deadband for at least <see cref="OffDelayS"/>. Comparisons are made in whole millionths of the unit.
/// </summary>
public sealed record Rule
{
    /// <summary>Its name, part of each alarm's identity: <c>cell-high</c>. Lower-case letters, digits and hyphens.</summary>
    public required string Name { get; init; }

    /// <summary>What is compared.</summary>
    public required Quantity Quantity { get; init; }

    /// <summary>Which side is wrong.</summary>
    public Comparison Comparison { get; init; } = Comparison.AtLeast;

    /// <summary>The limit, in the quantity's unit.</summary>
    public required double Limit { get; init; }

    /// <summary>Distance back from the limit at which it clears, in the quantity's unit, 0 or above.</summary>
    public double Deadband { get; init; }

    /// <summary>Seconds it must hold, 0 to 86400.</summary>
    public double OnDelayS { get; init; }

    /// <summary>Seconds it must be well again, 0 to 86400.</summary>
    public double OffDelayS { get; init; }

    /// <summary>Samples in a row that must hold, 1 to 1000.</summary>
    public int Samples { get; init; } = 1;

    /// <summary>How urgent.</summary>
    public required AlarmPriority Priority { get; init; }

    /// <summary>How urgent while charging, where that differs.</summary>
    public AlarmPriority? PriorityWhileCharging { get; init; }

    /// <summary>Whether it is held until a person resets it. The most urgent must.</summary>
    public bool Latching { get; init; }

    /// <summary>When it is judged.</summary>
    public AppliesWhen Applies { get; init; } = AppliesWhen.Always;

    /// <summary>Whether it stays as it is while it is not judged; else it counts as well then.</summary>
    public bool HoldsOutside { get; init; }

    /// <summary>Name of an earlier row of the same kind of place whose alarm says the same more strongly: while that is active this one is suppressed by design.</summary>
    public string? SuppressedBy { get; init; }

    /// <summary>Alarms of one group have one cause and are shown as one.</summary>
    public string Group { get; init; } = "";

    /// <summary>What else it does.</summary>
    public RuleAction Action { get; init; }

    /// <summary>The word a page shows; null for ACT NOW, CAUTION or NOTE by priority.</summary>
    public string? Word { get; init; }

    /// <summary>What is the matter, with {placeholders} of <see cref="AlarmWording"/>.</summary>
    public required string Message { get; init; }

    /// <summary>What to do first.</summary>
    public required string DoFirst { get; init; }

    /// <summary>What probably causes it; empty where nothing is known.</summary>
    public string LikelyCause { get; init; } = "";

    /// <summary>Whether a person may put it aside: never the most urgent.</summary>
    public bool MayBeShelved => Priority != AlarmPriority.High;
}
