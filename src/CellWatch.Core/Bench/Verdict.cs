namespace CellWatch.Core.Bench;

/// <summary>What one line of evidence says about a module. Ordered from good to bad; the worst line decides the grade.</summary>
public enum Verdict
{
    /// <summary>Nothing found that limits its use.</summary>
    Accept,

    /// <summary>Usable with a stated limit.</summary>
    AcceptWithLimits,

    /// <summary>A spare, or for low power only.</summary>
    LowPowerOnly,

    /// <summary>Not to be used.</summary>
    Reject,

    /// <summary>Not tested, or the test could not tell. Never taken for good: a module with such a line gets no grade.</summary>
    Undecided,
}

/// <summary>One point of a fitness list: is the run fit to be used?</summary>
/// <param name="Name">What was looked at.</param>
/// <param name="Fit">Whether it is as it should be.</param>
/// <param name="Sentence">The figure behind it.</param>
public sealed record FitnessPoint(string Name, bool Fit, string Sentence);

/// <summary>A value with its standard uncertainty (one standard deviation) in the unit its name states.</summary>
/// <param name="Value">The value.</param>
/// <param name="Sigma">One standard deviation; NaN where not known.</param>
public readonly record struct Uncertain(double Value, double Sigma)
{
    /// <summary>Half width of the 95 % interval of a normal value.</summary>
    public double HalfWidth95 => 1.96 * Sigma;
}
