using CellWatch.Simulation.Model;

namespace CellWatch.Simulation.Stories;

/// <summary>
/// <c>first-charge</c>: the first charge at 60 A is running when it opens, after a night and a charge before. B07.3 is the widest cell from
/// the first moment (it has less capacity and was level at the last full charge). B09.4 is the highest, by its resistance and because the trial
/// run emptied it less; but B11.2 has less capacity, rises faster and is first at the target, less than two real minutes later at the
/// story's time factor. The taper has ended before real minute five. A good charge: it raises nothing.
/// </summary>
public static class FirstChargeStory
{
    /// <summary>Its name.</summary>
    public const string Name = "first-charge";

    // 0.02 of the capacity, one of the termination currents found in public cell data sheets.
    private const double TerminationA = 2.2;
    private const double EveningCharge = 0.80;

    /// <summary>The story.</summary>
    public static Story Create()
    {
        var layout = PetrelPack.Layout;
        var cells = PetrelPack.OrdinaryCells(layout, EveningCharge, seed: 1955);
        Set("B07.3", capacityAh: 100.5, levelAt: 0.94, r0: 0.00107);
        Set("B11.2", capacityAh: 101.5, levelAt: 0.72, r0: 0.00106);
        Set("B09.4", capacityAh: 113.5, levelAt: 0.88, r0: 0.00115);
        Set("B03.5", capacityAh: 107.0, levelAt: 0.80, r0: 0.00108);
        Set("B16.1", capacityAh: 108.0, levelAt: 0.78, r0: 0.00109);
        var pastNightAh = new double[cells.Length];
        BalancedInThePast("B06.2", 0.62);
        BalancedInThePast("B14.4", 0.55);
        BalancedInThePast("B17.3", 0.48);

        return new Story
        {
            Name = Name,
            Description = "The first charge of the joined pack is running at 60 A, after a night and a charge before. "
                + "B07.3 has less capacity than its siblings; B11.2 will limit the charge though B09.4 is highest.",
            TimeFactor = 8,
            OpensAtClockH = 9 + 40 / 60.0,
            PastS = 14 * 3600,
            Layout = layout,
            CellType = PetrelPack.CellType,
            Boards = PetrelPack.Boards,
            Cells = [.. cells],
            Parameters = PetrelPack.Parameters,
            TerminationA = TerminationA,
            LoopFrom = 6,
            Scenes =
            [
                new RestScene("alongside, at rest") { UntilClockH = 20 },
                new ChargeScene("charge before the night, 33 A", new ChargeOrder(33, PetrelPack.ChargeTargetV, TerminationA)) { ForS = 4 * 3600 },
                new RestScene("at rest after the charge") { UntilClockH = 22.5 },
                new BalanceScene("balancing overnight", pastNightAh) { UntilClockH = 4.5 },
                new RestScene("at rest before the trial run") { UntilClockH = 6.7 },
                new DriveScene("trial run in the harbour") { ForS = 3500 },
                new RestScene("alongside, at rest") { UntilClockH = 9.617 },
                new ChargeScene("first charge, 60 A", new ChargeOrder(60, PetrelPack.ChargeTargetV, TerminationA)) { ForS = 3 * 3600 },
                new RestScene("at rest after the charge") { UntilClockH = 21.5 },
                new BalanceScene("balancing overnight", []) { UntilClockH = 5.5 },
                new RestScene("morning, at rest") { UntilClockH = 6.7 },
                new DriveScene("run in the harbour") { ForS = 3500 },
            ],
            Truth =
            [
                new("B07.3", StatedCause.LowCapacity, 100.5, "Ah", "B07.3 has 100.5 Ah where its siblings have 110; it is level near full and low below."),
                new("B11.2", StatedCause.LowCapacity, 101.5, "Ah", "B11.2 has 101.5 Ah and is level at 72 % charge: it is first at the top and limits every charge."),
                new("B09.4", StatedCause.HighCapacity, 113.5, "Ah", "B09.4 has 113.5 Ah, so it falls and rises less than its siblings; highest at the beginning, not at the end."),
                new("B09.4", StatedCause.HighResistance, 0.10, "mOhm", "B09.4 has 0.10 mOhm more than its siblings, 6 mV at 60 A."),
                new("stringVoltageV", StatedCause.MeterOffset, -0.06, "V", "The string's voltage reads 0.06 V low at any current; the links have 0.85 mOhm."),
            ],
        };

        void BalancedInThePast(string name, double offsetAh)
        {
            var k = PetrelPack.Cell(layout, name);
            cells[k] = cells[k] with { InitialCharge = cells[k].InitialCharge + offsetAh / cells[k].CapacityAh };
            pastNightAh[k] = offsetAh;
        }

        void Set(string name, double capacityAh, double levelAt, double r0)
        {
            var k = PetrelPack.Cell(layout, name);
            cells[k] = cells[k] with
            {
                CapacityAh = capacityAh,
                InitialCharge = PetrelPack.ChargeWhere(EveningCharge, capacityAh, levelAt),
                R0Ohm = r0,
                R1Ohm = 0.00035,
            };
        }
    }
}
