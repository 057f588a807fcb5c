namespace CellWatch.Core.Pack;

/// <summary>What a channel beside the pack measures.</summary>
public enum AuxiliaryKind
{
    /// <summary>A coolant loop, in degC.</summary>
    CoolantTemperature,

    /// <summary>The low-voltage supply, in V.</summary>
    SupplyVoltage,

    /// <summary>A contactor's state: 1 closed, 0 open.</summary>
    Contactor,

    /// <summary>The service plug: 1 fitted, 0 out.</summary>
    ServicePlug,

    /// <summary>A smoke input: 1 smoke, 0 none.</summary>
    Smoke,

    /// <summary>A wired press for a person: 1 pressed.</summary>
    PersonPress,

    /// <summary>Ambient air, in degC.</summary>
    AmbientTemperature,

    /// <summary>Anything else a builder wires in; judged by no rule.</summary>
    Other,
}

/// <summary>A channel any builder has beside the pack: coolant loop, 12 V supply, contactor and service-plug inputs.</summary>
/// <param name="Name">Its name, unique in the pack.</param>
/// <param name="Kind">What it measures.</param>
/// <param name="Unit">Its unit as shown; empty for an input that is on or off.</param>
public sealed record AuxiliaryChannel(string Name, AuxiliaryKind Kind, string Unit = "");
