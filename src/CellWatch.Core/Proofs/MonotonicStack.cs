namespace CellWatch.Core.Proofs;

/// <summary>What one cell may read on the hand meter while a connector is checked, V (the-job figures: 3.0 to 4.2 V steps; common practice, no source).</summary>
/// <param name="LowestV">Smallest believable step.</param>
/// <param name="HighestV">Largest believable step.</param>
public readonly record struct CellStep(double LowestV, double HighestV)
{
    /// <summary>For a 4.20 V cell, with room for the meter.</summary>
    public static CellStep Usual { get; } = new(2.5, 4.3);

    /// <summary>Whether a step is one cell.</summary>
    public bool Holds(double stepV) => stepV >= LowestV && stepV <= HighestV;
}

/// <summary>Outcome of a connector check, with the sentence to show.</summary>
/// <param name="Passed">True when the readings rise by one cell each time.</param>
/// <param name="Sentence">What was found and what to do.</param>
/// <param name="CellV">Voltage of each cell; empty when it did not pass.</param>
/// <param name="FirstExchanged">One of two exchanged leads, counted from 0 at the negative end; null when not this fault.</param>
/// <param name="SecondExchanged">The other.</param>
public sealed record StackOutcome(bool Passed, string Sentence, IReadOnlyList<double> CellV, int? FirstExchanged = null, int? SecondExchanged = null);

/// <summary>
/// The check of a sense connector before it is plugged in: hand meter from the lowest pin to each pin, lead 0 (the negative end) first.
/// Each reading must be one cell above the one before: never fall, never repeat.
/// <para>Source: common practice, no source. Naming the two exchanged leads is a search over all pairs: named only when exactly one exchange
/// makes the list pass.</para>
/// </summary>
public static class MonotonicStack
{
    /// <summary>The first reading, of the lowest pin against itself, may differ from 0 by this, V (meter and leads, own rule).</summary>
    public const double ZeroToleranceV = 0.05;

    /// <summary>Judges the readings, V, one for each lead.</summary>
    /// <param name="readingsV">As read, lead 0 first.</param>
    /// <param name="cells">Cells of the module; one lead more is expected.</param>
    /// <param name="step">What one cell may read.</param>
    public static StackOutcome Judge(IReadOnlyList<double> readingsV, int cells, CellStep step)
    {
        if (readingsV.Count != cells + 1)
            return Failed(T($"{cells + 1} readings are needed for {cells} cells, lead 0 to lead {cells}; {readingsV.Count} were entered. Enter all of them, the first is 0."));
        for (var i = 0; i < readingsV.Count; i++)
            if (!double.IsFinite(readingsV[i]) || Math.Abs(readingsV[i]) > 1000)
                return Failed(T($"The reading of lead {i} is no voltage of a module: measure it again."));
        if (Passes(readingsV, step))
            return new StackOutcome(true, T($"The readings rise by one cell each time: the order of the {readingsV.Count} leads is right. Which module it is, this check cannot tell."), Steps(readingsV));

        if (readingsV.Skip(1).All(v => v < 0) && Passes([.. readingsV.Select(Math.Abs)], step))
            return Failed(T("All readings are negative: the meter's leads or the connector's ends are exchanged. Check which pin is the lowest; do not plug in."));

        var swaps = Swaps(readingsV, step);
        if (swaps.Count == 1)
        {
            var (a, b) = swaps[0];
            return new StackOutcome(false, T($"Lead {a} and lead {b} are exchanged: do not plug in. Correct the order in the connector, then measure all leads again."), [], a, b);
        }

        return Failed(FirstFault(readingsV, step) + T(" Do not plug in."));
    }

    private static StackOutcome Failed(string sentence) => new(false, sentence, []);

    private static bool Passes(IReadOnlyList<double> v, CellStep step) => Math.Abs(v[0]) <= ZeroToleranceV && Steps(v).All(step.Holds);

    private static double[] Steps(IReadOnlyList<double> v)
    {
        var steps = new double[v.Count - 1];
        for (var i = 0; i < steps.Length; i++) steps[i] = v[i + 1] - v[i];
        return steps;
    }

    private static List<(int A, int B)> Swaps(IReadOnlyList<double> readingsV, CellStep step)
    {
        var found = new List<(int, int)>();
        var v = readingsV.ToArray();
        for (var a = 0; a < v.Length; a++)
            for (var b = a + 1; b < v.Length; b++)
            {
                (v[a], v[b]) = (v[b], v[a]);
                if (PassesFromAnyZero(v, step)) found.Add((a, b));
                (v[a], v[b]) = (v[b], v[a]);
            }

        return found;
    }

    /// <summary>With lead 0 itself exchanged the meter's zero sits on another pin, so only the steps count.</summary>
    private static bool PassesFromAnyZero(double[] v, CellStep step) => Steps(v).All(step.Holds);

    private static string FirstFault(IReadOnlyList<double> v, CellStep step)
    {
        if (Math.Abs(v[0]) > ZeroToleranceV) return T($"Lead 0 reads {v[0]:0.00} V against itself: it must read 0. Check where the meter's black lead sits.");
        for (var i = 1; i < v.Count; i++)
        {
            var stepV = v[i] - v[i - 1];
            if (step.Holds(stepV)) continue;
            if (Math.Abs(v[i]) < ZeroToleranceV) return T($"Lead {i} reads 0 V: it is open, or sits on the lowest pin.");
            if (Math.Abs(stepV) < ZeroToleranceV) return T($"Lead {i} repeats lead {i - 1} ({v[i]:0.00} V): both sit on the same tap, or one is bridged.");
            if (stepV < 0) return T($"Lead {i} reads {-stepV:0.00} V below lead {i - 1}: the order is wrong and more than two leads are concerned.");
            return stepV > step.HighestV
                ? T($"Lead {i} reads {stepV:0.00} V above lead {i - 1}: more than one cell lies between them, a lead is missing or in the wrong place.")
                : T($"Lead {i} reads only {stepV:0.00} V above lead {i - 1}: a cell is below {step.LowestV:0.0} V, or the lead makes poor contact.");
        }

        return T("The readings do not rise by one cell each time.");
    }
}
