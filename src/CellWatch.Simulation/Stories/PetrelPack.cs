using System.Collections.Immutable;
using CellWatch.Core.Pack;
using CellWatch.Simulation.Model;

namespace CellWatch.Simulation.Stories;

/// <summary>
/// The pack of the stories: the harbour launch Petrel of the 1950s, repowered by a small workshop with 18 salvaged modules of six groups
/// of two cells, twelve in the fore box and six in the aft box. Everything about it is invented.
/// </summary>
public static class PetrelPack
{
    /// <summary>Capacity of an ordinary cell, Ah.</summary>
    public const double NominalAh = 110;

    /// <summary>Charge at which the pack was balanced last: near the top.</summary>
    public const double BalancedAt = 0.94;

    /// <summary>Charge target set for this site, V.</summary>
    public const double ChargeTargetV = 4.150;

    private const int FirstAftSlot = 13;
    private const double CapacitySpread = 0.006;
    private const double ResistanceSpread = 0.03;
    private const double OffsetSpreadAh = 0.10;

    /// <summary>Modules in slot order: B07 and B04 have changed places when the boxes were fitted.</summary>
    private static readonly string[] InSlotOrder =
    [
        "B01", "B02", "B03", "B07", "B05", "B06", "B04", "B08", "B09", "B10", "B11", "B12", "B13", "B14", "B15", "B16", "B17", "B18",
    ];

    /// <summary>Names of the channels beside the pack.</summary>
    public static ImmutableArray<AuxiliaryChannel> Auxiliaries { get; } =
    [
        new("coolant in", AuxiliaryKind.CoolantTemperature, "degC"),
        new("coolant out", AuxiliaryKind.CoolantTemperature, "degC"),
        new("12 V supply", AuxiliaryKind.SupplyVoltage, "V"),
        new("contactor", AuxiliaryKind.Contactor),
        new("service plug", AuxiliaryKind.ServicePlug),
        new("smoke", AuxiliaryKind.Smoke),
    ];

    /// <summary>The 4.20 V profile with the limits of this site: target 4.150 V, first warning 20 mV above it.</summary>
    public static CellType CellType { get; } = CellType.Nmc420 with
    {
        Limits = new CellLimits { ChargeTargetV = ChargeTargetV, HighWarnV = ChargeTargetV + 0.020 },
    };

    /// <summary>All 18 modules joined.</summary>
    public static PackLayout Layout { get; } = new(
        "petrel",
        InSlotOrder.Select((id, i) => new PackModule(new ModuleId(id), new ModuleTopology(6, 2), 2, i + 1, i + 1 < FirstAftSlot ? "fore" : "aft")),
        Auxiliaries);

    /// <summary>Three boards of six modules in slot order: text lines, serial CAN with the string's current and voltage, text lines.</summary>
    public static ImmutableArray<BoardPlan> Boards { get; } =
    [
        new("board-1", BoardWire.TextLines, "PTR-0101", 0, 6, MeasuresString: false, CarriesAuxiliaries: false),
        new("board-2", BoardWire.SerialCan, "1002", 6, 6, MeasuresString: true, CarriesAuxiliaries: false),
        new("board-3", BoardWire.TextLines, "PTR-0103", 12, 6, MeasuresString: false, CarriesAuxiliaries: true),
    ];

    /// <summary>Figures of the joined pack. The modules in the middle of the fore box are cooled least, B05 least of all.</summary>
    public static PackParameters Parameters { get; } = new()
    {
        CoolingFactor = [1.15, 1.05, 0.95, 0.85, 0.70, 0.80, 0.85, 0.90, 0.95, 1.0, 1.1, 1.2, 1.2, 1.05, 0.95, 0.95, 1.05, 1.2],
    };

    /// <summary>Ordinary cells with a small spread, in string order.</summary>
    /// <param name="layout">The string.</param>
    /// <param name="medianCharge">Charge of an ordinary cell, 0 to 1.</param>
    /// <param name="seed">Seed of the spread.</param>
    public static CellParameters[] OrdinaryCells(PackLayout layout, double medianCharge, ulong seed)
    {
        var noise = new Noise(seed);
        var cells = new CellParameters[layout.CellCount];
        for (var k = 0; k < cells.Length; k++)
        {
            var capacityAh = NominalAh * (1 + CapacitySpread * noise.Normal(k, 0));
            cells[k] = new CellParameters
            {
                CapacityAh = capacityAh,
                InitialCharge = ChargeWhere(medianCharge, capacityAh, BalancedAt) + OffsetSpreadAh * noise.Normal(k, 1) / capacityAh,
                R0Ohm = 0.00105 * (1 + ResistanceSpread * noise.Normal(k, 2)),
                R1Ohm = 0.00035 * (1 + ResistanceSpread * noise.Normal(k, 3)),
                // A healthy leak of these sizes is well below a milliampere.
                LeakA = 0.0003,
            };
        }

        return cells;
    }

    /// <summary>
    /// Charge of a cell of another capacity when an ordinary one has <paramref name="medianCharge"/>, if the two are level at
    /// <paramref name="levelAt"/>: the same ampere hours have flowed since.
    /// </summary>
    public static double ChargeWhere(double medianCharge, double capacityAh, double levelAt) =>
        levelAt + (medianCharge - levelAt) * NominalAh / capacityAh;

    /// <summary>Index of a cell by its name.</summary>
    /// <exception cref="ArgumentException">The pack has no such cell.</exception>
    public static int Cell(PackLayout layout, string name) =>
        CellId.TryParse(name, out var id) && layout.TryFindCell(id, out var cell) ? cell : throw new ArgumentException($"The pack has no cell '{name}'.");
}
