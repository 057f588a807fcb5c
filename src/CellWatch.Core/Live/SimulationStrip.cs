using System.Collections.Immutable;

namespace CellWatch.Core.Live;

/// <summary>One thing a person can do to a simulated pack, in words.</summary>
/// <param name="Key">Stable key: <c>pull-lead</c>.</param>
/// <param name="Label">The words of the press: <c>Pull a lead</c>.</param>
/// <param name="Description">What it does, in one sentence.</param>
/// <param name="IsOn">Whether it is in force now; pressing it again takes it back where that has a meaning.</param>
public sealed record SimulationPress(string Key, string Label, string Description, bool IsOn);

/// <summary>
/// What pages offer while the pack is simulated: faults to cause and jumps in time. Not registered when real instruments are read,
/// so that nothing can be put in by hand there. Safe to call from any thread.
/// </summary>
public interface ISimulationStrip
{
    /// <summary>The presses in the order they are shown.</summary>
    ImmutableArray<SimulationPress> Presses { get; }

    /// <summary>Does it; returns a sentence that says what was done. An unknown key does nothing and says so.</summary>
    string Trigger(string key);
}
