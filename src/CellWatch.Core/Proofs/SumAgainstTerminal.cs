namespace CellWatch.Core.Proofs;

/// <summary>Whether a sum of cells agrees with a voltage read at the terminals.</summary>
/// <param name="SumV">Sum of the cells.</param>
/// <param name="TerminalV">Read at the terminals.</param>
/// <param name="AllowedV">Largest difference that passes.</param>
/// <param name="Passed">Whether it passes.</param>
/// <param name="Sentence">What to say.</param>
public sealed record SumOutcome(double SumV, double TerminalV, double AllowedV, bool Passed, string Sentence);

/// <summary>The sum of the cells against the terminals, module by module and for the whole string.</summary>
public static class SumAgainstTerminal
{
    /// <summary>Error allowed to each cell channel, V (needed accuracy at rest, +-2 mV).</summary>
    public const double CellErrorV = 0.002;

    /// <summary>Error of a hand meter as a share of its reading (0.1 %; common practice, no source).</summary>
    public const double MeterShare = 0.001;

    /// <summary>Difference allowed for the whole string, share (0.3 %; common practice, no source).</summary>
    public const double StringShare = 0.003;

    /// <summary>Judges one module: allowed is cells x 2 mV plus the meter's error.</summary>
    public static SumOutcome JudgeModule(ReadOnlySpan<double> cellV, double terminalV, double meterShare = MeterShare) =>
        Judge(cellV, terminalV, cellV.Length * CellErrorV + meterShare * Math.Abs(terminalV));

    /// <summary>Judges the whole string against its terminals.</summary>
    public static SumOutcome JudgeString(ReadOnlySpan<double> cellV, double terminalV) => Judge(cellV, terminalV, StringShare * Math.Abs(terminalV));

    private static SumOutcome Judge(ReadOnlySpan<double> cellV, double terminalV, double allowedV)
    {
        double sumV = 0;
        foreach (var v in cellV) sumV += v;
        var differenceV = sumV - terminalV;
        var passed = Math.Abs(differenceV) <= allowedV;
        return new SumOutcome(sumV, terminalV, allowedV, passed, passed
            ? T($"Cells add up to {sumV:0.000} V, terminals read {terminalV:0.000} V: within {1000 * allowedV:0} mV.")
            : T($"Cells add up to {sumV:0.000} V but the terminals read {terminalV:0.000} V, {1000 * differenceV:+0;-0} mV where {1000 * allowedV:0} mV are allowed: measure the terminals again, then each cell by hand."));
    }
}
