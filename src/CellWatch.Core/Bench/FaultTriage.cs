using System.Collections.Immutable;

namespace CellWatch.Core.Bench;

/// <summary>One row of the triage table.</summary>
/// <param name="Key">Short name.</param>
/// <param name="Seen">What is seen.</param>
/// <param name="Tells">What the grouping tells.</param>
/// <param name="DecideBy">The test that decides.</param>
public sealed record TriageRow(string Key, string Seen, string Tells, string DecideBy);

/// <summary>A fault on file: closed only with a measurement.</summary>
public sealed record FaultFile
{
    /// <summary>Name of the file.</summary>
    public required string Id { get; init; }

    /// <summary>What was seen.</summary>
    public required string Symptom { get; init; }

    /// <summary>Row of the triage table it fits; empty when none.</summary>
    public string TriageKey { get; init; } = "";

    /// <summary>Frozen stretch of the log, 10 min before and after.</summary>
    public string EvidenceWindow { get; init; } = "";

    /// <summary>What changed just before.</summary>
    public string ChangedBefore { get; init; } = "";

    /// <summary>Tests done, with their readings.</summary>
    public ImmutableArray<string> Tests { get; init; } = [];

    /// <summary>What it was.</summary>
    public string Finding { get; init; } = "";

    /// <summary>What was done.</summary>
    public string Fix { get; init; } = "";

    /// <summary>The measurement after the fix.</summary>
    public string ProofAfterFix { get; init; } = "";

    /// <summary>Whether it is closed.</summary>
    public bool Closed { get; init; }
}

/// <summary>The triage table and the rule for closing. Source: common practice, no source.</summary>
public static class FaultTriage
{
    /// <summary>The order of thought, said above the table.</summary>
    public static IReadOnlyList<string> Order { get; } =
    [
        "Is anyone at risk? Then stop, distance.", "Is it the measurement or the cell?", "One cell, one module, one front end, one cable, everything?", "What changed just before?",
    ];

    /// <summary>The table.</summary>
    public static IReadOnlyList<TriageRow> Table { get; } =
    [
        new("mirrored-neighbours", "two neighbours, equal and opposite mV", "shared tap or lead", "hand meter at the cell; bleed test"),
        new("front-end-shift", "all channels of one front end shift together", "its reference, supply or ground", "hand meter on one cell; exchange front ends"),
        new("constant-value", "one value constant to the last digit while current changes", "stuck channel or repeated frame", "variance zero; sequence counter"),
        new("copied-neighbour", "one value equals its neighbour's exactly", "multiplexer stuck", "correlation 1.000"),
        new("all-at-once", "all at once, with charger or inverter", "ground loop or common mode", "laptop on battery; isolator"),
        new("zero-and-double", "0 V and about twice the cell on the next", "open tap", "open-wire test"),
        new("negative-or-over-5", "negative or above 5 V", "mis-ordered leads", "unplug at once; measure the connector by hand"),
        new("sensor-extreme", "one sensor at -40 or +125 degC", "open or short", "ohmmeter"),
        new("temperature-mirrored", "temperatures left and right exchanged against the load", "exchanged sensors", "warm hand"),
        new("counter-falls", "charge counter falls while voltages rise", "current sensor reversed", "known load"),
        new("resistance-step", "a step in resistance on one date", "joint or parallel cell", "ohmic against slow part; capacity"),
        new("spikes-on-bumps", "spikes on bumps", "loose tap", "count per distance"),
    ];

    /// <summary>What a file still needs before it may be closed; null when it may.</summary>
    public static string? Missing(FaultFile file)
    {
        var missing = new List<string>();
        if (file.EvidenceWindow.Length == 0) missing.Add("the frozen stretch of the log");
        if (file.Tests.IsDefaultOrEmpty) missing.Add("a test with its reading");
        if (file.Finding.Length == 0) missing.Add("the finding");
        if (file.Fix.Length == 0) missing.Add("the fix");
        if (!file.ProofAfterFix.Any(char.IsAsciiDigit)) missing.Add("a measurement after the fix, with its figure");
        return missing.Count == 0 ? null : string.Join(", ", missing);
    }

    /// <summary>Closes a file.</summary>
    /// <exception cref="Register.RefusedException">Something is missing.</exception>
    public static FaultFile Close(FaultFile file) => Missing(file) is { } missing
        ? throw new Register.RefusedException($"{file.Id} is not closed. Missing: {missing}.")
        : file with { Closed = true };
}
