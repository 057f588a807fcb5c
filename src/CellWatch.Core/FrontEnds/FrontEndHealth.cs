using System.Collections.Immutable;

namespace CellWatch.Core.FrontEnds;

/// <summary>Whether a front end is galvanically isolated from the host. Unknown is treated as no.</summary>
public enum Isolation
{
    /// <summary>Nobody has said.</summary>
    Unknown,

    /// <summary>Isolated.</summary>
    Yes,

    /// <summary>Not isolated: with three or more modules joined it puts the pack on the laptop.</summary>
    No,
}

/// <summary>Where a front end's link stands.</summary>
public enum LinkState
{
    /// <summary>Not opened yet.</summary>
    Closed,

    /// <summary>Open, no valid frame yet.</summary>
    Listening,

    /// <summary>Frames arrive and its identity is the expected one.</summary>
    Alive,

    /// <summary>Open, but nothing valid for longer than the age limit.</summary>
    Silent,

    /// <summary>Answers with another identity than the expected one; its data are not taken.</summary>
    WrongIdentity,

    /// <summary>Lost; trying again at <see cref="FrontEndHealth.NextAttemptUnixMs"/>.</summary>
    Waiting,
}

/// <summary>One reason why input was thrown away, and how often.</summary>
/// <param name="Reason">In words: <c>wrong checksum</c>.</param>
/// <param name="Count">Since the start.</param>
public readonly record struct GarbageCount(string Reason, long Count);

/// <summary>How one front end is doing; an immutable picture, taken at most a few times a second.</summary>
public sealed record FrontEndHealth
{
    /// <summary>Its name in the site file.</summary>
    public required string Name { get; init; }

    /// <summary>The kind of wire in words: <c>text lines</c>, <c>serial CAN</c>.</summary>
    public required string Wire { get; init; }

    /// <summary>The port it is on now, or the one being tried.</summary>
    public required string Port { get; init; }

    /// <summary>Where the link stands.</summary>
    public required LinkState State { get; init; }

    /// <summary>What happened last, in a sentence; empty when all is well.</summary>
    public string Fault { get; init; } = "";

    /// <summary>Serial or identity it answered with; empty where the wire carries none.</summary>
    public string Identity { get; init; } = "";

    /// <summary>Identity the site file expects; empty where none is required.</summary>
    public string ExpectedIdentity { get; init; } = "";

    /// <summary>Identities of the modules it measures, in words: <c>B01-B06</c>.</summary>
    public string Modules { get; init; } = "";

    /// <summary>Channels of the pack it provides.</summary>
    public ImmutableArray<int> Channels { get; init; } = [];

    /// <summary>Age of its last valid frame, s; null where there was none.</summary>
    public double? LastFrameAgeS { get; init; }

    /// <summary>Valid frames a second over the last ten.</summary>
    public double FramesPerS { get; init; }

    /// <summary>Valid frames since the start.</summary>
    public long Frames { get; init; }

    /// <summary>Frames missing by the sequence counter since the start; null where the wire carries none.</summary>
    public long? LostFrames { get; init; }

    /// <summary>Thrown-away input by reason, since the start.</summary>
    public ImmutableArray<GarbageCount> Garbage { get; init; } = [];

    /// <summary>Thrown-away lines in the last minute.</summary>
    public int BadPerMinute { get; init; }

    /// <summary>Times the link was lost.</summary>
    public int LinkLosses { get; init; }

    /// <summary>Attempts since the link was lost.</summary>
    public int Attempt { get; init; }

    /// <summary>Wall time of the next attempt, ms since 1970; null while none is due.</summary>
    public long? NextAttemptUnixMs { get; init; }

    /// <summary>Whether it is isolated from the host.</summary>
    public Isolation Isolated { get; init; }

    /// <summary>Seconds after which its bleed switches open by themselves; null where it has no such time-out or does not say.</summary>
    public double? BleedTimeoutS { get; init; }

    /// <summary>Board temperature, degC, where it reports one.</summary>
    public double? BoardTemperatureDegC { get; init; }

    /// <summary>Board supply, V, where it reports one.</summary>
    public double? SupplyV { get; init; }

    /// <summary>Whether its data come from a model of a pack.</summary>
    public bool Simulated { get; init; }

    /// <summary>The last raw lines or frames as text, oldest first, for a person who looks for a fault.</summary>
    public ImmutableArray<string> RecentRaw { get; init; } = [];

    /// <summary>The last thrown-away lines with reason, oldest first.</summary>
    public ImmutableArray<string> RecentBad { get; init; } = [];
}
