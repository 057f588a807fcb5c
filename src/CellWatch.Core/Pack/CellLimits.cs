namespace CellWatch.Core.Pack;

/// <summary>
/// The starting limits for one cell type. Every figure is a setting and the cell maker's data sheet overrides it.
/// Defaults are for a 4.20 V nickel-manganese-cobalt type cell: common practice, no source, except where a line says more.
/// None of them is from a standard.
/// </summary>
public sealed record CellLimits
{
    /// <summary>Where a charge aims for its highest cell, V. A target, not a limit: below the first warning, so a good charge raises nothing.</summary>
    public double ChargeTargetV { get; init; } = 4.10;

    /// <summary>Warning while charging, V.</summary>
    public double HighWarnV { get; init; } = 4.15;

    /// <summary>Stop while charging, V, held 1 s.</summary>
    public double HighStopV { get; init; } = 4.20;

    /// <summary>Stop in any state, V, on one valid sample.</summary>
    public double HighAbsoluteV { get; init; } = 4.25;

    /// <summary>Warning under load, V.</summary>
    public double LowLoadWarnV { get; init; } = 3.10;

    /// <summary>Stop under load, V, held 2 s.</summary>
    public double LowLoadStopV { get; init; } = 2.80;

    /// <summary>Warning at rest, V.</summary>
    public double LowRestWarnV { get; init; } = 3.30;

    /// <summary>Stop at rest, V.</summary>
    public double LowRestStopV { get; init; } = 3.00;

    /// <summary>Spread at rest that warns, V.</summary>
    public double SpreadWarnV { get; init; } = 0.020;

    /// <summary>Spread at rest that stops, V.</summary>
    public double SpreadStopV { get; init; } = 0.050;

    /// <summary>Spread at rest that warns, as a fraction of charge; the stricter of this and <see cref="SpreadWarnV"/> holds.</summary>
    public double SpreadWarnCharge { get; init; } = 0.01;

    /// <summary>Spread at rest that stops, as a fraction of charge.</summary>
    public double SpreadStopCharge { get; init; } = 0.03;

    /// <summary>Coldest cell to charge without a warning, degC.</summary>
    public double ChargeColdWarnDegC { get; init; } = 5;

    /// <summary>No charge below, degC. Data sheets commonly say 0 (from memory).</summary>
    public double ChargeColdStopDegC { get; init; } = 0;

    /// <summary>Warning while charging, degC.</summary>
    public double ChargeHotWarnDegC { get; init; } = 40;

    /// <summary>Stop while charging, degC. Data sheets commonly say 45 (from memory).</summary>
    public double ChargeHotStopDegC { get; init; } = 45;

    /// <summary>Warning while discharging or at rest, degC.</summary>
    public double DischargeHotWarnDegC { get; init; } = 50;

    /// <summary>Stop while discharging or at rest, degC.</summary>
    public double DischargeHotStopDegC { get; init; } = 55;

    /// <summary>Spread of temperature in the pack that warns, K (widely quoted design aim, from memory).</summary>
    public double TemperatureSpreadWarnK { get; init; } = 5;

    /// <summary>Spread of temperature in the pack that stops, K.</summary>
    public double TemperatureSpreadStopK { get; init; } = 10;

    /// <summary>Age of data that warns while charging, s.</summary>
    public double DataAgeWarnS { get; init; } = 2;

    /// <summary>Age of data that counts as unsafe while charging, s.</summary>
    public double DataAgeStopS { get; init; } = 5;

    /// <summary>A cell reading below this is no cell reading, V.</summary>
    public double PlausibleLowV { get; init; } = 0.5;

    /// <summary>A cell reading above this is no cell reading, V.</summary>
    public double PlausibleHighV { get; init; } = 5.0;

    /// <summary>A temperature below this is an open sensor, degC.</summary>
    public double PlausibleColdDegC { get; init; } = -30;

    /// <summary>A temperature above this is a shorted sensor, degC.</summary>
    public double PlausibleHotDegC { get; init; } = 90;
}
