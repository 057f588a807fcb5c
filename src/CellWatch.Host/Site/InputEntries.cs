using System.Text.Json.Serialization;
using CellWatch.Core.Inputs;
using CellWatch.FrontEnds.Inputs;

namespace CellWatch.Host.Site;

/// <summary>What a wired input hangs on.</summary>
public enum InputWire
{
    /// <summary>A GPIO line of this machine and its ground.</summary>
    Gpio,

    /// <summary>Two control lines of a serial port.</summary>
    SerialLine,
}

/// <summary>A switch wired to this machine: a foot switch, a button at the charger. It is no safety device.</summary>
public sealed record InputEntry
{
    /// <summary>Its name, 1 to 40 characters; a press is kept under it: <c>foot switch at the charger</c>.</summary>
    public string Name { get; init; } = "";

    /// <summary>What it hangs on: gpio or serialLine.</summary>
    public InputWire Wire { get; init; }

    /// <summary>Number of the GPIO line as the system counts it (BCM number on Raspberry-class boards).</summary>
    [Within(0, 511)]
    public int? Line { get; init; }

    /// <summary>Serial device; it serves this switch alone.</summary>
    public string Port { get; init; } = "";

    /// <summary>Line of the serial port that is read: cts (fed by RTS) or dsr (fed by DTR).</summary>
    public SerialSignal Signal { get; init; }

    /// <summary>What a press asks for: presence ("I am here") or seen (the most pressing alarm nobody has seen).</summary>
    public InputPurpose Purpose { get; init; }
}

/// <summary>Keys a foot pedal at a browser sends; a browser can have its own, set on Settings.</summary>
public sealed record PedalEntry
{
    /// <summary>Key that says "I am here", by its W3C code name: <c>F13</c>, <c>KeyB</c>; empty for none.</summary>
    public string PresenceKey { get; init; } = "";

    /// <summary>Key that marks the most pressing alarm seen; empty for none.</summary>
    public string SeenKey { get; init; } = "";
}
