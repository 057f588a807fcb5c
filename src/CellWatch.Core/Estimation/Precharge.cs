namespace CellWatch.Core.Estimation;

/// <summary>Filling the capacitors of a bus through a resistor. Source: first-order circuit; 5 tau as a common design point (TIDUF73).</summary>
/// <param name="PackV">Voltage of the pack.</param>
/// <param name="ResistorOhm">Of the resistor.</param>
/// <param name="CapacitanceF">Of the bus, farad.</param>
public readonly record struct Precharge(double PackV, double ResistorOhm, double CapacitanceF)
{
    /// <summary>R C, s.</summary>
    public double TimeConstantS => ResistorOhm * CapacitanceF;

    /// <summary>First current, A.</summary>
    public double PeakA => PackV / ResistorOhm;

    /// <summary>First power in the resistor, W.</summary>
    public double PeakW => PackV * PackV / ResistorOhm;

    /// <summary>Energy left in the resistor, J, whatever its resistance.</summary>
    public double EnergyJ => CapacitanceF * PackV * PackV / 2;

    /// <summary>Time to a share (0 to below 1) of the pack voltage, s.</summary>
    public double TimeToS(double share) => -TimeConstantS * Math.Log(1 - share);

    /// <summary>Share of the pack voltage reached after a time.</summary>
    public double ShareAfter(double timeS) => 1 - Math.Exp(-timeS / TimeConstantS);
}
