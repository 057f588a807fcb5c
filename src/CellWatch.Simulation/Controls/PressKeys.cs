namespace CellWatch.Simulation.Controls;

/// <summary>Keys of the presses of a simulated pack.</summary>
public static class PressKeys
{
    /// <summary>Pulls the last board's lead out, or puts it back.</summary>
    public const string PullLead = "pull-lead";

    /// <summary>Sticks one channel.</summary>
    public const string StickChannel = "stick-channel";

    /// <summary>Loosens one link.</summary>
    public const string LoosenLink = "loosen-link";

    /// <summary>The charger ignores its target.</summary>
    public const string IgnoreTaper = "ignore-taper";

    /// <summary>Leaps to the next morning.</summary>
    public const string NextMorning = "next-morning";

    /// <summary>Leaps to the next charge.</summary>
    public const string NextCharge = "next-charge";

    /// <summary>Presses the hand cut-off.</summary>
    public const string HandCutOff = "hand-cut-off";

    /// <summary>The charger stops in the middle of the charge.</summary>
    public const string ChargerStops = "charger-stops";

    /// <summary>Exchanges two harnesses.</summary>
    public const string SwapHarnesses = "swap-harnesses";

    /// <summary>Opens a tap.</summary>
    public const string OpenTap = "open-tap";

    /// <summary>Corrodes a tap two cells share.</summary>
    public const string CorrodeTap = "corrode-tap";

    /// <summary>The charger brings noise in.</summary>
    public const string ChargerNoise = "charger-noise";

    /// <summary>Turns the current sensor round.</summary>
    public const string ReverseCurrent = "reverse-current";

    /// <summary>Smoke at the smoke input.</summary>
    public const string Smoke = "smoke";

    /// <summary>Takes all faults back.</summary>
    public const string Reset = "reset";
}
