namespace CellWatch.Simulation.Stories;

/// <summary>What is really wrong, or only different, with a part of the simulated pack.</summary>
public enum StatedCause
{
    /// <summary>More or less charge than its siblings, constant in Ah.</summary>
    ChargeOffset,

    /// <summary>Less capacity than its siblings.</summary>
    LowCapacity,

    /// <summary>More capacity than its siblings.</summary>
    HighCapacity,

    /// <summary>More resistance than its siblings.</summary>
    HighResistance,

    /// <summary>Leaks.</summary>
    SelfDischarge,

    /// <summary>Its bleed switch is on whatever it is told.</summary>
    BleedStuckOn,

    /// <summary>The meter of the string's voltage is off by a constant.</summary>
    MeterOffset,
}

/// <summary>One line of a story's truth: what a good analysis of its data should find. For tests and for the curious.</summary>
/// <param name="Place">Cell, module or instrument: <c>B07.3</c>.</param>
/// <param name="Cause">What it is.</param>
/// <param name="Figure">How much, in <paramref name="Unit"/>.</param>
/// <param name="Unit">Unit of the figure.</param>
/// <param name="Sentence">In words.</param>
public sealed record StatedFault(string Place, StatedCause Cause, double Figure, string Unit, string Sentence);
