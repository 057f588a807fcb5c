using CellWatch.Core.Estimation.Ocv;

namespace CellWatch.Core.Bench;

/// <summary>What turns volts and switch times of a night into charge.</summary>
/// <param name="Curve">Open-circuit voltage of the cell type.</param>
/// <param name="CapacityAh">Capacity of a usual cell, Ah, above 0.</param>
public sealed record NightSetup(OcvCurve Curve, double CapacityAh)
{
    /// <summary>Bleed resistor, ohm, above 0.</summary>
    public double BleedOhm { get; init; } = 33;

    /// <summary>Highest current that is still no current, A (own rule: the doubt of a usual sensor about zero).</summary>
    public double RestA { get; init; } = 1;

    /// <summary>Length of a reading before or after, min: its mean takes the noise of single scans out (own rule).</summary>
    public double ReadingMinutes { get; init; } = 20;

    /// <summary>Bleeds further apart than this belong to two nights, h (own rule).</summary>
    public double NightsApartH { get; init; } = 4;

    /// <summary>
    /// A hole in the record during which less than this could have been bled does not spoil the count, Ah (own rule: below the doubt of one
    /// reading). It is listed all the same, and nothing is added for it.
    /// </summary>
    public double HoleAh { get; init; } = 0.02;

    /// <summary>How far below the night's level a rest must lie to tell capacity from charge, % (own rule).</summary>
    public double LowBelowPercent { get; init; } = 10;

    /// <summary>Current must have been off this long before a low rest is read, min (common practice, no source).</summary>
    public double LowRestMinutes { get; init; } = 45;

    /// <summary>Rules of the review.</summary>
    public NightRules Rules { get; init; } = new();
}
