using CellWatch.Core.Pack;
using CellWatch.Simulation.Model;

namespace CellWatch.Simulation.Stories;

/// <summary>
/// <c>bench</c>: module B07 alone on the bench, before it is fitted. A night after a full charge; when the story opens its capacity discharge at
/// a third of its capacity an hour has run for ten minutes. Group 3 ends it at 3.000 V.
/// </summary>
public static class BenchStory
{
    /// <summary>Its name.</summary>
    public const string Name = "bench";

    private const double DischargeA = 36.7;
    private const double EveningCharge = 0.75;

    /// <summary>The story.</summary>
    public static Story Create()
    {
        var layout = new PackLayout("petrel-bench", [new PackModule(new ModuleId("B07"), new ModuleTopology(6, 2), 2, 1, "bench")]);
        var cells = PetrelPack.OrdinaryCells(layout, EveningCharge, seed: 1959);
        cells[2] = cells[2] with { CapacityAh = 99.5, InitialCharge = PetrelPack.ChargeWhere(EveningCharge, 99.5, PetrelPack.BalancedAt), R0Ohm = 0.00107 };

        return new Story
        {
            Name = Name,
            Description = "Module B07 alone on the bench: a capacity discharge at 36.7 A, ten minutes old. Group 3 is the weak one.",
            TimeFactor = 20,
            OpensAtClockH = 10,
            PastS = 14 * 3600,
            Layout = layout,
            // The test itself goes down to 3.000 V under load.
            CellType = PetrelPack.CellType with { Limits = PetrelPack.CellType.Limits with { LowLoadWarnV = 2.95 } },
            Boards = [new("bench-board", BoardWire.TextLines, "PTR-0201", 0, 1, MeasuresString: true, CarriesAuxiliaries: false)],
            Cells = [.. cells],
            LoopFrom = 1,
            Scenes =
            [
                new RestScene("at rest") { UntilClockH = 20.5 },
                new ChargeScene("charge before the test, 36.7 A", new ChargeOrder(DischargeA, PetrelPack.ChargeTargetV, 3.3)) { ForS = 6 * 3600 },
                new RestScene("at rest before the test") { UntilClockH = 9 + 50 / 60.0 },
                new DischargeScene("capacity discharge, 36.7 A", DischargeA, 3.000) { ForS = 4 * 3600 },
                new RestScene("at rest after the test") { ForS = 3600 },
            ],
            Truth =
            [
                new("B07.3", StatedCause.LowCapacity, 99.5, "Ah", "B07.3 has 99.5 Ah where its siblings have 110; it ends the discharge."),
            ],
        };
    }
}
