using System.Globalization;

namespace CellWatch.Host.Site;

/// <summary>
/// What a limit of the site file may be at all, so that a slip of the finger is no limit: own rule, wide enough for every lithium-ion cell
/// on the market. Inside it the cell maker's data sheet decides.
/// </summary>
/// <param name="Name">Name of the limit.</param>
/// <param name="Label">The same in words.</param>
/// <param name="Says">What it does.</param>
/// <param name="Low">Least.</param>
/// <param name="High">Most.</param>
/// <param name="Unit">Unit.</param>
public sealed record LimitRange(string Name, string Label, string Says, double Low, double High, string Unit)
{
    /// <summary>Every limit, in the order of the page.</summary>
    public static IReadOnlyList<LimitRange> All { get; } =
    [
        new("chargeTargetV", "charge target", "Where a charge aims for its highest cell: a target, not a limit.", 2.5, 4.5, "V"),
        new("highWarnV", "high voltage, warning", "While charging.", 2.5, 4.6, "V"),
        new("highStopV", "high voltage, stop", "While charging, held for 1 s.", 2.5, 4.6, "V"),
        new("highAbsoluteV", "high voltage, in any state", "On one valid sample.", 2.5, 4.8, "V"),
        new("lowLoadWarnV", "low voltage under load, warning", "While discharging.", 1.0, 4.0, "V"),
        new("lowLoadStopV", "low voltage under load, stop", "While discharging, held for 2 s.", 1.0, 4.0, "V"),
        new("lowRestWarnV", "low voltage at rest, warning", "Without current.", 1.0, 4.0, "V"),
        new("lowRestStopV", "low voltage at rest, stop", "Without current.", 1.0, 4.0, "V"),
        new("spreadWarnV", "spread at rest, warning", "Highest minus lowest cell; the stricter of this and the next holds.", 0.001, 0.5, "V"),
        new("spreadWarnCharge", "spread at rest in charge, warning", "As a fraction of charge: 0.01 is 1 %.", 0.001, 0.5, "of charge"),
        new("spreadStopV", "spread at rest, no charge above", "Highest minus lowest cell.", 0.001, 1, "V"),
        new("spreadStopCharge", "spread at rest in charge, no charge above", "As a fraction of charge.", 0.001, 0.5, "of charge"),
        new("chargeColdWarnDegC", "cold while charging, warning", "Coldest sensor.", -20, 25, "°C"),
        new("chargeColdStopDegC", "cold, no charge below", "Coldest sensor.", -20, 25, "°C"),
        new("chargeHotWarnDegC", "hot while charging, warning", "Hottest sensor.", 20, 70, "°C"),
        new("chargeHotStopDegC", "hot while charging, stop", "Hottest sensor.", 20, 70, "°C"),
        new("dischargeHotWarnDegC", "hot otherwise, warning", "While discharging or at rest.", 20, 90, "°C"),
        new("dischargeHotStopDegC", "hot otherwise, stop", "While discharging or at rest.", 20, 90, "°C"),
        new("temperatureSpreadWarnK", "spread of temperature, warning", "Hottest minus coldest sensor.", 0.5, 50, "K"),
        new("temperatureSpreadStopK", "spread of temperature, stop", "Hottest minus coldest sensor.", 0.5, 50, "K"),
        new("dataAgeWarnS", "age of data while charging, warning", "Oldest cell.", 0.5, 60, "s"),
        new("dataAgeStopS", "age of data while charging, unsafe", "Oldest cell; from here it counts as not seen.", 0.5, 60, "s"),
        new("plausibleLowV", "no cell reading below", "Lower is an open wire, not a cell.", 0, 2, "V"),
        new("plausibleHighV", "no cell reading above", "Higher is a fault of measurement.", 3, 10, "V"),
        new("plausibleColdDegC", "no temperature below", "Lower is an open sensor.", -60, 0, "°C"),
        new("plausibleHotDegC", "no temperature above", "Higher is a shorted sensor.", 50, 150, "°C"),
    ];

    /// <summary>The range in words: <c>2.5 to 4.5 V</c>.</summary>
    public string InWords => string.Create(CultureInfo.InvariantCulture, $"{Low} to {High} {Unit}");
}
