using System.Collections.Immutable;

namespace CellWatch.Core.Inputs;

/// <summary>What a press of an input asks for.</summary>
public enum InputPurpose : byte
{
    /// <summary>"I am here": a person is present at the charge.</summary>
    Presence,

    /// <summary>"Seen": the most pressing alarm that nobody has seen.</summary>
    Seen,
}

/// <summary>How an input is.</summary>
public enum InputState : byte
{
    /// <summary>Not opened yet.</summary>
    Closed,

    /// <summary>Read, and open when not pressed.</summary>
    Well,

    /// <summary>Closed for longer than a press lasts; it counts for nothing until it was open again.</summary>
    Stuck,

    /// <summary>A loose contact; it counts for nothing until it is quiet.</summary>
    Fluttering,

    /// <summary>It cannot be read.</summary>
    Lost,
}

/// <summary>One wired input as it is now; immutable.</summary>
public sealed record InputView
{
    /// <summary>Its name in the site file; also who a press of it is kept under.</summary>
    public required string Name { get; init; }

    /// <summary>Where it is wired, in words: <c>GPIO 17</c>, <c>CTS of /dev/ttyUSB0</c>.</summary>
    public required string Place { get; init; }

    /// <summary>What a press asks for.</summary>
    public required InputPurpose Purpose { get; init; }

    /// <summary>How it is.</summary>
    public InputState State { get; init; }

    /// <summary>What is wrong, in a sentence; empty when nothing is.</summary>
    public string Fault { get; init; } = "";

    /// <summary>Presses since the start.</summary>
    public int Presses { get; init; }

    /// <summary>Wall time of the last press, ms since 1970; null before the first.</summary>
    public long? LastPressUnixMs { get; init; }

    /// <summary>What the last press was answered.</summary>
    public string LastAnswer { get; init; } = "";
}

/// <summary>The wired inputs of this machine. Safe to call from any thread.</summary>
public interface IInputDesk
{
    /// <summary>All inputs of the site file in its order; empty where it names none.</summary>
    ImmutableArray<InputView> Inputs { get; }
}
