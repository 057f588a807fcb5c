namespace CellWatch.Core.Bench;

/// <summary>What decides whether a reading of all cells may be compared: at rest, bleed off, how warm.</summary>
/// <param name="AtRest">No current.</param>
/// <param name="BleedOffMinutes">Since the last bleed.</param>
/// <param name="TemperatureDegC">Of the pack.</param>
public sealed record RestConditions(bool AtRest, double BleedOffMinutes, double TemperatureDegC);

/// <summary>One night: deviations before and after, and what the bleeds did. Arrays have one entry a cell, in string order.</summary>
/// <param name="Hours">From the reading before to the reading after.</param>
/// <param name="HoursSinceFirst">From the reading before the first night to the reading after this one.</param>
/// <param name="BeforeAh">Deviation from the median in charge, before; positive is fuller.</param>
/// <param name="AfterAh">After.</param>
/// <param name="PlannedAh">Charge the bleed was to remove.</param>
/// <param name="IntegratedAh">Charge it removed by its own count (V/R times on-time); NaN where the count has a hole.</param>
/// <param name="Before">Conditions before.</param>
/// <param name="After">Conditions after.</param>
/// <param name="Gaps">Holes in the record, in words; charge removed in them is not known.</param>
/// <param name="HottestBoardDegC">Hottest bleed board; NaN where not measured.</param>
public sealed record NightRecord(
    double Hours, double HoursSinceFirst, double[] BeforeAh, double[] AfterAh, double[] PlannedAh, double[] IntegratedAh,
    RestConditions Before, RestConditions After, IReadOnlyList<string> Gaps, double HottestBoardDegC);

/// <summary>A reading of all cells low on the curve, to tell capacity from charge.</summary>
/// <param name="DeviationAh">Deviation from the median in charge, as read from the rest voltages.</param>
/// <param name="OutAh">Charge taken from the reference level down to this one.</param>
/// <param name="CapacityAh">Capacity of a usual cell.</param>
/// <param name="ChargePercent">Level of the median.</param>
public sealed record LowReading(double[] DeviationAh, double OutAh, double CapacityAh, double ChargePercent);

/// <summary>Rules of the review.</summary>
public sealed record NightRules
{
    /// <summary>Doubt of one deviation, Ah (0.5 mV at 8 mV/% on 110 Ah is 0.07).</summary>
    public double ReadingSigmaAh { get; init; } = 0.05;

    /// <summary>Bleed current at the level of the night, A.</summary>
    public double BleedA { get; init; } = 0.124;

    /// <summary>Doubt of the count of removed charge, share: resistor, on-time, voltage (own rule).</summary>
    public double CountShare { get; init; } = 0.05;

    /// <summary>Bleed must be off this long before a reading counts, min (common practice, no source).</summary>
    public double BleedOffMinutes { get; init; } = 30;

    /// <summary>Before and after may differ by this, K.</summary>
    public double ComparableK { get; init; } = 3;

    /// <summary>A cell within this is level, Ah.</summary>
    public double LevelAh { get; init; } = 0.15;

    /// <summary>Limit of a bleed board, degC (common practice, no source).</summary>
    public double BoardLimitDegC { get; init; } = 70;
}

/// <summary>Causes the review can name.</summary>
public enum NightCause
{
    /// <summary>Level; listed only where it was bled.</summary>
    Level,

    /// <summary>A charge offset: bleed it once.</summary>
    ChargeOffset,

    /// <summary>Less capacity: bleeding will not help.</summary>
    LowCapacity,

    /// <summary>It loses charge by itself.</summary>
    Leak,

    /// <summary>Its bleed stays on.</summary>
    BleedStuckOn,

    /// <summary>Its bleed does nothing.</summary>
    BleedDead,

    /// <summary>More than one cause fits: the deciding test is named.</summary>
    Undecided,
}

/// <summary>One cell in the review.</summary>
/// <param name="Cell">Its name.</param>
/// <param name="PlannedAh">Sum of the nights.</param>
/// <param name="IntegratedAh">Sum; NaN where a night has a hole.</param>
/// <param name="SeenAh">What the deviations say was removed.</param>
/// <param name="LeftAh">Left above the lowest level aimed at; positive is to be bled.</param>
/// <param name="NightsLeft">Only for a charge offset.</param>
/// <param name="Cause">The cause.</param>
/// <param name="Evidence">The figure that excludes the rivals.</param>
/// <param name="DecidingTest">The test that would decide; empty when nothing is open.</param>
public sealed record NightCell(
    string Cell, double PlannedAh, double IntegratedAh, double SeenAh, double LeftAh, int? NightsLeft, NightCause Cause, string Evidence, string DecidingTest)
{
    /// <summary>Standard deviation of the charge counted, Ah; NaN where a night has a hole.</summary>
    public double IntegratedSigmaAh { get; init; } = double.NaN;

    /// <summary>Standard deviation of the charge seen, Ah: two readings, and the count of the median cell.</summary>
    public double SeenSigmaAh { get; init; } = double.NaN;

    /// <summary>Whether planned, counted and seen agree within two of their deviations; null where the count has a hole.</summary>
    public bool? Agree { get; init; }

    /// <summary>How what is left went from night to night, and whether it comes in: a sentence; empty with one night.</summary>
    public string Convergence { get; init; } = "";
}

/// <summary>The review.</summary>
/// <param name="Withheld">Why figures are withheld; empty when they stand.</param>
/// <param name="Cells">Cells with something to say, most charge left first.</param>
/// <param name="SpreadBeforeAh">Before the last night, without cells whose bleed stays on.</param>
/// <param name="SpreadAfterAh">After it.</param>
/// <param name="Sentence">The verdict.</param>
public sealed record NightReviewOutcome(IReadOnlyList<string> Withheld, IReadOnlyList<NightCell> Cells, double SpreadBeforeAh, double SpreadAfterAh, string Sentence);
