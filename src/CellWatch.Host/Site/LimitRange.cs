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
    /// <summary>Every limit, in the order of the page. Made at each look: a site file is checked before its language is spoken.</summary>
    public static IReadOnlyList<LimitRange> All =>
    [
        new("chargeTargetV", T("charge target"), T("Where a charge aims for its highest cell: a target, not a limit."), 2.5, 4.5, "V"),
        new("highWarnV", T("high voltage, warning"), T("While charging."), 2.5, 4.6, "V"),
        new("highStopV", T("high voltage, stop"), T("While charging, held for 1 s."), 2.5, 4.6, "V"),
        new("highAbsoluteV", T("high voltage, in any state"), T("On one valid sample."), 2.5, 4.8, "V"),
        new("lowLoadWarnV", T("low voltage under load, warning"), T("While discharging."), 1.0, 4.0, "V"),
        new("lowLoadStopV", T("low voltage under load, stop"), T("While discharging, held for 2 s."), 1.0, 4.0, "V"),
        new("lowRestWarnV", T("low voltage at rest, warning"), T("Without current."), 1.0, 4.0, "V"),
        new("lowRestStopV", T("low voltage at rest, stop"), T("Without current."), 1.0, 4.0, "V"),
        new("spreadWarnV", T("spread at rest, warning"), T("Highest minus lowest cell; the stricter of this and the next holds."), 0.001, 0.5, "V"),
        new("spreadWarnCharge", T("spread at rest in charge, warning"), T("As a fraction of charge: 0.01 is 1 %."), 0.001, 0.5, T("of charge")),
        new("spreadStopV", T("spread at rest, no charge above"), T("Highest minus lowest cell."), 0.001, 1, "V"),
        new("spreadStopCharge", T("spread at rest in charge, no charge above"), T("As a fraction of charge."), 0.001, 0.5, T("of charge")),
        new("chargeColdWarnDegC", T("cold while charging, warning"), T("Coldest sensor."), -20, 25, "°C"),
        new("chargeColdStopDegC", T("cold, no charge below"), T("Coldest sensor."), -20, 25, "°C"),
        new("chargeHotWarnDegC", T("hot while charging, warning"), T("Hottest sensor."), 20, 70, "°C"),
        new("chargeHotStopDegC", T("hot while charging, stop"), T("Hottest sensor."), 20, 70, "°C"),
        new("dischargeHotWarnDegC", T("hot otherwise, warning"), T("While discharging or at rest."), 20, 90, "°C"),
        new("dischargeHotStopDegC", T("hot otherwise, stop"), T("While discharging or at rest."), 20, 90, "°C"),
        new("temperatureSpreadWarnK", T("spread of temperature, warning"), T("Hottest minus coldest sensor."), 0.5, 50, "K"),
        new("temperatureSpreadStopK", T("spread of temperature, stop"), T("Hottest minus coldest sensor."), 0.5, 50, "K"),
        new("dataAgeWarnS", T("age of data while charging, warning"), T("Oldest cell."), 0.5, 60, "s"),
        new("dataAgeStopS", T("age of data while charging, unsafe"), T("Oldest cell; from here it counts as not seen."), 0.5, 60, "s"),
        new("plausibleLowV", T("no cell reading below"), T("Lower is an open wire, not a cell."), 0, 2, "V"),
        new("plausibleHighV", T("no cell reading above"), T("Higher is a fault of measurement."), 3, 10, "V"),
        new("plausibleColdDegC", T("no temperature below"), T("Lower is an open sensor."), -60, 0, "°C"),
        new("plausibleHotDegC", T("no temperature above"), T("Higher is a shorted sensor."), 50, 150, "°C"),
    ];

    /// <summary>The range in words: <c>2.5 to 4.5 V</c>.</summary>
    public string InWords => T($"{Low} to {High} {Unit}");
}
