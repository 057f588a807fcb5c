namespace CellWatch.Core.Inputs;

/// <summary>Keys a foot pedal sends, by their W3C code names; empty for none.</summary>
/// <param name="Presence">Says "I am here".</param>
/// <param name="Seen">Marks the most pressing alarm seen.</param>
public sealed record PedalKeys(string Presence, string Seen)
{
    /// <summary>No pedal.</summary>
    public static PedalKeys None { get; } = new("", "");
}
