namespace CellWatch.Core.Estimation;

/// <summary>
/// Heat of a cell and the warming of one lump. Source: heat balance after Bernardi, Pawlikowski and Newman 1985 (from memory), current
/// positive when charging; lump m c dT/dt = P - hA (T - Ta).
/// </summary>
public static class ThermalModel
{
    /// <summary>Heat, W: I (V - OCV) + I T dOCV/dT. The second term changes sign with the direction and may cool.</summary>
    public static double HeatW(double currentA, double terminalV, double ocvV, double temperatureDegC, double entropyMvPerK) =>
        currentA * (terminalV - ocvV) + ReversibleHeatW(currentA, temperatureDegC, entropyMvPerK);

    /// <summary>The reversible part alone, W.</summary>
    public static double ReversibleHeatW(double currentA, double temperatureDegC, double entropyMvPerK) =>
        currentA * (temperatureDegC + Thermistor.ZeroDegCInK) * entropyMvPerK / 1000;

    /// <summary>Entropy term of a graphite electrode, mV/K, at lithium fraction x (Thomas and Newman 2003, as in the Mohtat 2020 set).</summary>
    public static double GraphiteEntropyMvPerK(double x) =>
        0.28 + x * (-1.56 + x * (-8.92 + x * (57.21 + x * (-110.7 + x * (90.71 - 27.14 * x)))));

    /// <summary>Temperature of a lump after a time under constant heat, degC.</summary>
    public static double LumpDegC(double heatW, double massKg, double specificHeatJPerKgK, double coolingWPerK, double ambientDegC, double startDegC, double timeS)
    {
        if (coolingWPerK <= 0) return startDegC + heatW * timeS / (massKg * specificHeatJPerKgK);
        var end = ambientDegC + heatW / coolingWPerK;
        return end + (startDegC - end) * Math.Exp(-coolingWPerK * timeS / (massKg * specificHeatJPerKgK));
    }

    /// <summary>Fastest warming that resistance alone can cause, K per minute: nothing leaves. A sensor that rises faster sees something else.</summary>
    public static double AdiabaticKPerMin(double currentA, double ohm, double massKg, double specificHeatJPerKgK) =>
        60 * currentA * currentA * ohm / (massKg * specificHeatJPerKgK);

    /// <summary>Rule of thumb: rates double for every 10 K above 25 degC (from memory; measured cells may do less).</summary>
    public static double DoublingFactor(double temperatureDegC) => Math.Pow(2, (temperatureDegC - 25) / 10);

    /// <summary>Activation energy from rates at two temperatures, kJ/mol (Arrhenius).</summary>
    public static double ActivationKjPerMol(double ratio, double lowDegC, double highDegC)
    {
        const double GasJPerMolK = 8.314462618;
        return GasJPerMolK * Math.Log(ratio) / (1 / (lowDegC + Thermistor.ZeroDegCInK) - 1 / (highDegC + Thermistor.ZeroDegCInK)) / 1000;
    }
}
