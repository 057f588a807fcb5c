using CellWatch.Core.Pack;

namespace CellWatch.Simulation.Model;

/// <summary>Air, coolant, 12 V supply, contactor, service plug, smoke input: what a builder has beside the pack. One thread at a time.</summary>
internal sealed class Surroundings
{
    private const double AirSwingK = 1.5;
    private const double WarmestClockH = 15;
    private const double CoolantAboveAirK = 1;
    // Part of the way to the modules' temperature that the coolant gets in one pass (chosen, no source).
    private const double CoolantPickUp = 0.6;
    private readonly AuxiliaryKind[] _kind;
    private readonly bool[] _isOutlet;
    private readonly double _meanAirDegC;

    public Surroundings(PackLayout layout, double meanAirDegC)
    {
        _meanAirDegC = meanAirDegC;
        _kind = [.. layout.Auxiliaries.Select(a => a.Kind)];
        _isOutlet = new bool[_kind.Length];
        // The second coolant channel is the outlet.
        var coolant = 0;
        for (var i = 0; i < _kind.Length; i++)
            if (_kind[i] == AuxiliaryKind.CoolantTemperature) _isOutlet[i] = ++coolant > 1;
        Update(0, meanAirDegC, false, false);
    }

    /// <summary>Air, degC.</summary>
    public double AirDegC { get; private set; }

    /// <summary>Coolant on its way in, degC.</summary>
    public double CoolantInDegC => AirDegC + CoolantAboveAirK;

    private double CoolantOutDegC { get; set; }

    private bool ContactorClosed { get; set; }

    private bool ChargerOn { get; set; }

    public void Update(double clockH, double meanModuleDegC, bool contactorClosed, bool chargerOn)
    {
        AirDegC = _meanAirDegC + AirSwingK * Math.Cos(2 * Math.PI * (clockH - WarmestClockH) / 24);
        CoolantOutDegC = CoolantInDegC + CoolantPickUp * (meanModuleDegC - CoolantInDegC);
        (ContactorClosed, ChargerOn) = (contactorClosed, chargerOn);
    }

    public bool IsSmoke(int auxiliary) => _kind[auxiliary] == AuxiliaryKind.Smoke;

    /// <summary>What a channel shows.</summary>
    public double Read(int auxiliary, double noise) => _kind[auxiliary] switch
    {
        AuxiliaryKind.CoolantTemperature => Math.Round((_isOutlet[auxiliary] ? CoolantOutDegC : CoolantInDegC) + 0.03 * noise, 1),
        AuxiliaryKind.AmbientTemperature => Math.Round(AirDegC + 0.03 * noise, 1),
        AuxiliaryKind.SupplyVoltage => Math.Round((ChargerOn ? 13.6 : 12.6) + 0.01 * noise, 2),
        AuxiliaryKind.Contactor => ContactorClosed ? 1 : 0,
        AuxiliaryKind.ServicePlug => 1,
        _ => 0,
    };
}
