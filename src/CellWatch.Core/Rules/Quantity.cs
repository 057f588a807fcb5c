namespace CellWatch.Core.Rules;

/// <summary>What a rule is evaluated for: one alarm a place.</summary>
public enum PlaceKind : byte
{
    /// <summary>Every cell.</summary>
    Cell,

    /// <summary>Every temperature sensor.</summary>
    Sensor,

    /// <summary>Every module.</summary>
    Module,

    /// <summary>Every instrument.</summary>
    Instrument,

    /// <summary>Every smoke input.</summary>
    SmokeInput,

    /// <summary>The pack as a whole.</summary>
    Pack,
}

/// <summary>What a rule compares.</summary>
public enum Quantity : byte
{
    /// <summary>Voltage of a cell, V.</summary>
    CellVoltage,

    /// <summary>Temperature of a sensor, degC.</summary>
    Temperature,

    /// <summary>Highest minus lowest cell, V.</summary>
    Spread,

    /// <summary>The same as a share of charge, %.</summary>
    SpreadCharge,

    /// <summary>Hottest minus coldest sensor, K.</summary>
    TemperatureSpread,

    /// <summary>Age of the oldest cell value, s.</summary>
    DataAge,

    /// <summary>Cells and sensors of an instrument that are not seen.</summary>
    Unseen,

    /// <summary>Time since the current was last known, s; 0 while it is known.</summary>
    CurrentUnknown,

    /// <summary>Time the highest cell has been at its charge target without the current falling, s.</summary>
    AtTarget,

    /// <summary>Measured rise of a module over the rise its current explains.</summary>
    HeatRatio,

    /// <summary>Rise of a module at rest, K/min.</summary>
    RiseAtRest,

    /// <summary>A smoke input: 1 smoke, 0 none.</summary>
    Smoke,

    /// <summary>Time past the moment a person should have confirmed presence, s.</summary>
    PresenceOverdue,

    /// <summary>Cells of a module whose values are not believed.</summary>
    Disbelieved,

    /// <summary>Sum of all cells against the string's voltage, after the link ledger's offset and slope, % of it.</summary>
    SumMismatch,

    /// <summary>Noise of an instrument's cells now over what it was before the charger started.</summary>
    NoiseRatio,

    /// <summary>How surely the current sensor counts the wrong way, current steps that say so less those that do not.</summary>
    ReversedSteps,

    /// <summary>What a current sensor reads that was turned round while current flowed, without its sign, A; 0 while none was.</summary>
    CurrentTurned,

    /// <summary>Whether a module has exchanged its readings with a later one: 1 it has.</summary>
    Exchanged,

    /// <summary>Charge current above what the temperature allows, A.</summary>
    CurrentOverTemperatureAllowance,

    /// <summary>Rise of the links' total resistance over its first record, µOhm.</summary>
    LinkRise,
}

/// <summary>Facts about quantities.</summary>
public static class Quantities
{
    /// <summary>All of them.</summary>
    public static IReadOnlyList<Quantity> All { get; } = Enum.GetValues<Quantity>();

    /// <summary>What a quantity is measured for.</summary>
    public static PlaceKind PlaceOf(Quantity quantity) => quantity switch
    {
        Quantity.CellVoltage => PlaceKind.Cell,
        Quantity.Temperature => PlaceKind.Sensor,
        Quantity.HeatRatio or Quantity.RiseAtRest or Quantity.Disbelieved or Quantity.Exchanged => PlaceKind.Module,
        Quantity.Unseen or Quantity.NoiseRatio => PlaceKind.Instrument,
        Quantity.Smoke => PlaceKind.SmokeInput,
        _ => PlaceKind.Pack,
    };

    /// <summary>Unit of a quantity; empty for a count, <c>1</c> for a ratio.</summary>
    public static string UnitOf(Quantity quantity) => quantity switch
    {
        Quantity.CellVoltage or Quantity.Spread => "V",
        Quantity.Temperature => "degC",
        Quantity.TemperatureSpread => "K",
        Quantity.RiseAtRest => "K/min",
        Quantity.SpreadCharge or Quantity.SumMismatch => "%",
        Quantity.DataAge or Quantity.CurrentUnknown or Quantity.AtTarget or Quantity.PresenceOverdue => "s",
        Quantity.CurrentOverTemperatureAllowance or Quantity.CurrentTurned => "A",
        Quantity.LinkRise => "µOhm",
        Quantity.HeatRatio or Quantity.NoiseRatio => "1",
        _ => "",
    };
}
