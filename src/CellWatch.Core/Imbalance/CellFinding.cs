namespace CellWatch.Core.Imbalance;

/// <summary>Why a cell stands out.</summary>
public enum SuspectedCause : byte
{
    /// <summary>Nothing worth naming.</summary>
    None,

    /// <summary>Something, but its rivals are not excluded: the deciding test is named.</summary>
    Undecided,

    /// <summary>More or less charge than its siblings by the same Ah at every level: bleed or top up once.</summary>
    ChargeOffset,

    /// <summary>Less capacity: level where it was balanced, off elsewhere. Bleeding does not help.</summary>
    LowCapacity,

    /// <summary>More resistance, inside the cell.</summary>
    HighResistance,

    /// <summary>A joint inside the sensed loop: more resistance, all of it at once.</summary>
    LooseJoint,

    /// <summary>It loses charge over days.</summary>
    SelfDischarge,

    /// <summary>Its bleed switch seems to be on while it is commanded off, or its leak is as large.</summary>
    StuckBleed,

    /// <summary>The measurement: a tap or lead shared with a neighbour.</summary>
    BadLead,

    /// <summary>One of its parallel cells has dropped out.</summary>
    LostParallelCell,
}

/// <summary>What the evidence on record says about one cell, in figures; NaN where a figure is not told.</summary>
/// <param name="Cell">Cell index.</param>
/// <param name="Cause">The cause.</param>
/// <param name="Evidence">Figures for it and against its rivals.</param>
/// <param name="Decides">What would decide, or what to do.</param>
/// <param name="OffsetAh">Charge above (+) the median cell at the level of the latest evidence, Ah.</param>
/// <param name="CapacityAh">Its capacity as the deviations say, Ah.</param>
/// <param name="LeakA">Charge it loses beyond its siblings, A; positive loses.</param>
/// <param name="ExtraOhm">Resistance above the median cell, ohm.</param>
public sealed record CellFinding(
    int Cell, SuspectedCause Cause, string Evidence, string Decides, double OffsetAh, double CapacityAh, double LeakA, double ExtraOhm);
