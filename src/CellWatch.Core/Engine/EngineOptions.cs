using System.Collections.Immutable;
using CellWatch.Core.Estimation;

namespace CellWatch.Core.Engine;

/// <summary>Who sets the charge current; it words the advice.</summary>
public enum CurrentSetBy
{
    /// <summary>A person turns it by hand: "turn down to 41 A".</summary>
    Person,

    /// <summary>A charge controller that can be asked for a current: "ask for 41 A".</summary>
    ChargeController,

    /// <summary>Nobody can change it: only the hand cut-off is left.</summary>
    Nobody,
}

/// <summary>One instrument and the channels it provides, so that its silence is one alarm and not one a cell.</summary>
/// <param name="Name">Its name as identities and topics carry it: <c>instrument 2</c>.</param>
/// <param name="Channels">Flat channel numbers.</param>
/// <param name="InWords">The same as a person reads it; null where it is the name.</param>
public sealed record Instrument(string Name, ImmutableArray<int> Channels, string? InWords = null);

/// <summary>
/// What the engine must be told besides the pack and its cell type. Every figure is a setting.
/// </summary>
public sealed record EngineOptions
{
    /// <summary>The hand cut-off by its name: <c>red button on the station</c>. It is read out in every stop sentence.</summary>
    public string HandCutOff { get; init; } = T("your hand cut-off");

    /// <summary>Who sets the charge current.</summary>
    public CurrentSetBy CurrentSetBy { get; init; } = CurrentSetBy.Person;

    /// <summary>Capacity of one cell (group) as stated or measured, Ah, above 0; null while nobody knows it: then nothing is told in Ah.</summary>
    public double? CapacityAh { get; init; }

    /// <summary>Resistance of one cell (group) over about 10 s to start from, ohm, 0 or above; replaced by what the current steps show.</summary>
    public double ResistanceOhm { get; init; } = 0.001;

    /// <summary>Current at which a charge counts as ended, A; null for a twentieth of the capacity, or 5 A where that is unknown (common practice).</summary>
    public double? TerminationA { get; init; }

    /// <summary>Minutes after which a person must confirm presence at a charge, 1 to 240; 30 is common practice.</summary>
    public double PresenceMinutes { get; init; } = 30;

    /// <summary>Time constant a taper is expected to have before it is measured, s. Two 33 Ah cells in parallel showed 322 to 345 s.</summary>
    public double ExpectedTaperS { get; init; } = 335;

    /// <summary>
    /// Current below which the pack counts as at rest, A, above 0; null for capacity/200, at least 0.5 A (common practice, no source).
    /// </summary>
    public double? RestCurrentA { get; init; }

    /// <summary>Mass of one module, kg.</summary>
    public double ModuleMassKg { get; init; } = 12.5;

    /// <summary>Specific heat of a module, J/(kg K). 1000 is the middle of 800 to 1100 quoted for such cells; 1040 for nickel-manganese-cobalt.</summary>
    public double SpecificHeatJPerKgK { get; init; } = 1000;

    /// <summary>How much of the charge current a temperature allows.</summary>
    public ChargeTemperatureProfile TemperatureProfile { get; init; } = ChargeTemperatureProfile.Ramp;

    /// <summary>Most current the charger and the wiring may carry, A; null where nobody has said.</summary>
    public double? ChargerLimitA { get; init; }

    /// <summary>Instruments; empty: each module counts as one.</summary>
    public ImmutableArray<Instrument> Instruments { get; init; } = [];

    /// <summary>Resistor of a bleed switch, ohm; 33 ohm at 4.1 V is 124 mA.</summary>
    public double BleedOhm { get; init; } = 33;

    /// <summary>Charge level at which the cells are kept in line, %, 20 to 100: one, and always the same; near the top for packs that charge limits.</summary>
    public double BalanceAtPercent { get; init; } = 95;

    /// <summary>Zone in which times are written in sentences.</summary>
    public TimeZoneInfo TimeZone { get; init; } = TimeZoneInfo.Utc;

    /// <summary>The termination current that holds, A.</summary>
    public double EffectiveTerminationA => TerminationA ?? (CapacityAh is { } ah ? ah / 20 : 5);

    /// <summary>The rest threshold that holds, A.</summary>
    public double EffectiveRestCurrentA => RestCurrentA ?? Math.Max(0.5, (CapacityAh ?? 0) / 200);

    /// <summary>Checks every figure.</summary>
    /// <exception cref="ArgumentException">One is out of range; the message names it, its value and the allowed range.</exception>
    public void Validate()
    {
        Require(HandCutOff.Trim().Length > 0, "handCutOff", $"'{HandCutOff}'", "a name a person knows it by");
        Require(CapacityAh is null or > 0 and < 100_000, "capacityAh", CapacityAh, "above 0 and below 100000");
        Require(ResistanceOhm is >= 0 and < 1, "resistanceOhm", ResistanceOhm, "0 to 1");
        Require(TerminationA is null or > 0 and < 10_000, "terminationA", TerminationA, "above 0 and below 10000");
        Require(PresenceMinutes is >= 1 and <= 240, "presenceMinutes", PresenceMinutes, "1 to 240");
        Require(ExpectedTaperS is >= 10 and <= 100_000, "expectedTaperS", ExpectedTaperS, "10 to 100000");
        Require(RestCurrentA is null or > 0 and < 1000, "restCurrentA", RestCurrentA, "above 0 and below 1000");
        Require(ModuleMassKg is > 0 and < 10_000, "moduleMassKg", ModuleMassKg, "above 0 and below 10000");
        Require(SpecificHeatJPerKgK is >= 100 and <= 5000, "specificHeatJPerKgK", SpecificHeatJPerKgK, "100 to 5000");
        Require(ChargerLimitA is null or > 0 and < 100_000, "chargerLimitA", ChargerLimitA, "above 0 and below 100000");
        Require(BalanceAtPercent is >= 20 and <= 100, "balanceAtPercent", BalanceAtPercent, "20 to 100");
        Require(BleedOhm is > 0 and < 100_000, "bleedOhm", BleedOhm, "above 0 and below 100000");
    }

    private static void Require(bool holds, string name, object? value, string allowed)
    {
        if (!holds) throw new ArgumentException(FormattableString.Invariant($"{name} is {value}; allowed: {allowed}."));
    }
}
