namespace CellWatch.Core.Estimation;

/// <summary>Arithmetic of bleeding charge through a resistor. Source: Ohm's law; every figure is for one cell.</summary>
public static class Balancing
{
    /// <summary>Charge to take out for a difference in charge level, Ah (never from millivolts).</summary>
    public static double ChargeAh(double capacityAh, double differencePercent) => capacityAh * differencePercent / 100;

    /// <summary>Bleed current, A.</summary>
    public static double CurrentA(double cellVoltageV, double resistorOhm) => cellVoltageV / resistorOhm;

    /// <summary>Heat in the resistor, W.</summary>
    public static double PowerW(double cellVoltageV, double resistorOhm) => cellVoltageV * cellVoltageV / resistorOhm;

    /// <summary>Hours at constant voltage; <paramref name="duty"/> is the share of time the bleed is on (above 0, at most 1).</summary>
    public static double Hours(double chargeAh, double cellVoltageV, double resistorOhm, double duty = 1) =>
        chargeAh / (duty * CurrentA(cellVoltageV, resistorOhm));

    /// <summary>Hours when the voltage falls linearly with charge from first to last: R ln(V1/V2) dQ / (V1 - V2).</summary>
    public static double HoursWhileFalling(double chargeAh, double firstV, double lastV, double resistorOhm) =>
        firstV == lastV ? Hours(chargeAh, firstV, resistorOhm) : resistorOhm * Math.Log(firstV / lastV) * chargeAh / (firstV - lastV);

    /// <summary>Heat of the whole bleed, Wh.</summary>
    public static double HeatWh(double chargeAh, double cellVoltageV) => chargeAh * cellVoltageV;

    /// <summary>Leak current from the slope of the rest voltage, A: (V/day) / (V per %) x Q / 100 / 24; a falling voltage gives a positive leak.
    /// Take the reversible part of temperature out first: 10 K of workshop swing hide about 1 mV.</summary>
    public static double LeakA(double slopeMvPerDay, double curveMvPerPercent, double capacityAh) =>
        -slopeMvPerDay / curveMvPerPercent * capacityAh / 100 / 24;
}
