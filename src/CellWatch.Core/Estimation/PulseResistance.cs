namespace CellWatch.Core.Estimation;

/// <summary>
/// Resistance and power from a current pulse. A value holds only with the time after the step, charge, temperature, current and
/// direction stated beside it; values of different times are not comparable.
/// <para>Source: the form of the vehicle-battery pulse manuals (step of voltage over step of current at a stated time), lengths from memory.</para>
/// </summary>
public static class PulseResistance
{
    /// <summary>R = (V - V0) / (I - I0) in ohm; index 0 is the last sample before the step. NaN without a step of current.</summary>
    public static double Ohm(double restV, double restA, double loadedV, double loadedA) =>
        loadedA == restA ? double.NaN : (loadedV - restV) / (loadedA - restA);

    /// <summary>
    /// Voltage that the open-circuit voltage itself moves by in <paramref name="durationS"/> at <paramref name="currentA"/>, V. Ignoring it
    /// overstates the resistance (arXiv 2505.06410v2, abstract and introduction read).
    /// </summary>
    public static double OcvDriftV(double currentA, double durationS, double capacityAh, double slopeMvPerPercent) =>
        slopeMvPerPercent / 1000 * 100 * Math.Abs(currentA) * durationS / (3600 * capacityAh);

    /// <summary>Resistance with the drift of the open-circuit voltage taken out, ohm.</summary>
    public static double DriftCorrectedOhm(double voltageStepV, double currentStepA, double ocvDriftV) =>
        (Math.Abs(voltageStepV) - ocvDriftV) / Math.Abs(currentStepA);

    /// <summary>Discharge power at which the cell just reaches <paramref name="lowestV"/>: Vmin (OCV - Vmin) / R, in W (pulse manuals, from memory).</summary>
    public static double DischargePowerW(double ocvV, double lowestV, double ohm) => lowestV * (ocvV - lowestV) / ohm;

    /// <summary>Charge power at which the cell just reaches <paramref name="highestV"/>: Vmax (Vmax - OCV) / R, in W (pulse manuals, from memory).</summary>
    public static double ChargePowerW(double ocvV, double highestV, double ohm) => highestV * (highestV - ocvV) / ohm;

    /// <summary>Discharge power at a current limit: Imax (OCV - Imax R), in W. The lowest of all limits holds.</summary>
    public static double DischargePowerAtCurrentW(double ocvV, double currentA, double ohm) => currentA * (ocvV - currentA * ohm);

    /// <summary>Peak power at two thirds of the open-circuit voltage: 2/9 OCV^2 / R, in W (from memory).</summary>
    public static double TwoThirdsPowerW(double ocvV, double ohm) => 2.0 / 9 * ocvV * ocvV / ohm;
}
