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
        T("Is anyone at risk? Then stop, distance."), T("Is it the measurement or the cell?"), T("One cell, one module, one front end, one cable, everything?"), T("What changed just before?"),
    ];

    /// <summary>The table.</summary>
    public static IReadOnlyList<TriageRow> Table { get; } =
    [
        new("mirrored-neighbours", T("two neighbours, equal and opposite mV"), T("shared tap or lead"), T("hand meter at the cell; bleed test")),
        new("front-end-shift", T("all channels of one front end shift together"), T("its reference, supply or ground"), T("hand meter on one cell; exchange front ends")),
        new("constant-value", T("one value constant to the last digit while current changes"), T("stuck channel or repeated frame"), T("variance zero; sequence counter")),
        new("copied-neighbour", T("one value equals its neighbour's exactly"), T("multiplexer stuck"), T("correlation 1.000")),
        new("all-at-once", T("all at once, with charger or inverter"), T("ground loop or common mode"), T("laptop on battery; isolator")),
        new("zero-and-double", T("0 V and about twice the cell on the next"), T("open tap"), T("open-wire test")),
        new("negative-or-over-5", T("negative or above 5 V"), T("mis-ordered leads"), T("unplug at once; measure the connector by hand")),
        new("sensor-extreme", T("one sensor at -40 or +125 degC"), T("open or short"), "ohmmeter"),
        new("temperature-mirrored", T("temperatures left and right exchanged against the load"), T("exchanged sensors"), T("warm hand")),
        new("counter-falls", T("charge counter falls while voltages rise"), T("current sensor reversed"), T("known load")),
        new("resistance-step", T("a step in resistance on one date"), T("joint or parallel cell"), T("ohmic against slow part; capacity")),
        new("spikes-on-bumps", T("spikes on bumps"), T("loose tap"), T("count per distance")),
    ];

    /// <summary>What a file still needs before it may be closed; null when it may.</summary>
    public static string? Missing(FaultFile file)
    {
        var missing = new List<string>();
        if (file.EvidenceWindow.Length == 0) missing.Add(T("the frozen stretch of the log"));
        if (file.Tests.IsDefaultOrEmpty) missing.Add(T("a test with its reading"));
        if (file.Finding.Length == 0) missing.Add(T("the finding"));
        if (file.Fix.Length == 0) missing.Add(T("the fix"));
        if (!file.ProofAfterFix.Any(char.IsAsciiDigit)) missing.Add(T("a measurement after the fix, with its figure"));
        return missing.Count == 0 ? null : string.Join(", ", missing);
    }

    /// <summary>Closes a file.</summary>
    /// <exception cref="Register.RefusedException">Something is missing.</exception>
    public static FaultFile Close(FaultFile file) => Missing(file) is { } missing
        ? throw new Register.RefusedException(T($"{file.Id} is not closed. Missing: {missing}."))
        : file with { Closed = true };
}
