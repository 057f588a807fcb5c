using System.Collections.Immutable;

namespace CellWatch.Simulation.Model;

/// <summary>
/// Figures of the model that hold for the whole pack. Values are chosen for a string of 12 to 13 kg modules of about 110 Ah
/// (common practice and order-of-magnitude figures; invented as a whole, no cell of any maker).
/// </summary>
public sealed record PackParameters
{
    /// <summary>Time constant of the resistance that lags, s.</summary>
    public double TimeConstantS { get; init; } = 45;

    /// <summary>Bleed resistor, ohm: 124 mA at 4.1 V.</summary>
    public double BleedOhm { get; init; } = 33;

    /// <summary>One sense lead with its tap, ohm.</summary>
    public double SenseLeadOhm { get; init; } = 0.02;

    /// <summary>One link between modules, ohm.</summary>
    public double LinkOhm { get; init; } = 40e-6;

    /// <summary>Contactors, fuse, service plug and end cables together, ohm; with 18 links of 40 uOhm the string has 0.85 mOhm.</summary>
    public double StringEndsOhm { get; init; } = 130e-6;

    /// <summary>Heat a module takes up, J/K: 12.5 kg of 1040 J/(kg K), a published figure for nickel-manganese-cobalt cells.</summary>
    public double ModuleHeatCapacityJPerK { get; init; } = 13_000;

    /// <summary>Heat a module gives to the coolant, W/K.</summary>
    public double ModuleCoolingWPerK { get; init; } = 4;

    /// <summary>Factor on <see cref="ModuleCoolingWPerK"/> for each module, in string order: some stand in the middle of a box. Empty: 1 for all.</summary>
    public ImmutableArray<double> CoolingFactor { get; init; } = [];

    /// <summary>Heat a joint and the sensor beside it take up, J/K.</summary>
    public double JointHeatCapacityJPerK { get; init; } = 75;

    /// <summary>Heat a joint gives to its module, W/K.</summary>
    public double JointCoolingWPerK { get; init; } = 1.5;
}
