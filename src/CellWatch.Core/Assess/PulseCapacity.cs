using CellWatch.Core.Statistics;

namespace CellWatch.Core.Assess;

/// <summary>How well capacity follows from pulses, tested on cells that the fit had not seen.</summary>
/// <param name="Cells">Cells used.</param>
/// <param name="RmsErrorAh">Leave-one-out error of the prediction.</param>
/// <param name="RmsWithoutPulsesAh">Leave-one-out error when every cell is given the mean of the others: what knowing nothing costs.</param>
/// <param name="LargestErrorAh">The worst cell.</param>
/// <param name="CanPredict">True when the pulses take away at least 40 % of the error of knowing nothing.</param>
/// <param name="Sentence">The verdict in words, with the figures.</param>
public sealed record LeaveOneOut(int Cells, double RmsErrorAh, double RmsWithoutPulsesAh, double LargestErrorAh, bool CanPredict, string Sentence);

/// <summary>
/// Capacity from pulse features (resistances at stated charge levels) by a straight-line fit, with the leave-one-out error stated.
/// Whether it works depends on chemistry and charge level: in one set of retired cells resistance follows health closely, in another
/// it does not or even the other way round. So it never replaces a capacity test where this says that it cannot.
/// <para>Source: ordinary least squares; leave-one-out as usual; the 40 % is an own rule.</para>
/// </summary>
public static class PulseCapacity
{
    private const double LargestShareLeft = 0.6;

    /// <summary>Evaluates <paramref name="features"/>[feature][cell] against measured capacities, Ah. At least ten cells.</summary>
    public static LeaveOneOut Evaluate(IReadOnlyList<double[]> features, ReadOnlySpan<double> capacityAh)
    {
        var n = capacityAh.Length;
        if (n < 10) throw new ArgumentException($"At least ten cells of known capacity are needed, got {n}.", nameof(capacityAh));
        double squares = 0, squaresOfMean = 0, largest = 0;
        var all = capacityAh.ToArray();
        for (var left = 0; left < n; left++)
        {
            var mean = (all.Sum() - all[left]) / (n - 1);
            var error = Predict(features, all, left, mean) - all[left];
            squares += error * error;
            squaresOfMean += (mean - all[left]) * (mean - all[left]);
            largest = Math.Max(largest, Math.Abs(error));
        }

        double rms = Math.Sqrt(squares / n), without = Math.Sqrt(squaresOfMean / n);
        var can = rms <= LargestShareLeft * without;
        return new LeaveOneOut(n, rms, without, largest, can, can
            ? FormattableString.Invariant($"Capacity follows from these pulses within {rms:F2} Ah (RMS on cells left out, {n} cells; {without:F2} Ah without pulses; worst {largest:F2} Ah). For this kind of cell only.")
            : FormattableString.Invariant($"These pulses do not tell capacity: RMS {rms:F2} Ah on cells left out against {without:F2} Ah when nothing is known ({n} cells). It depends on chemistry and charge level: test capacity."));
    }

    /// <summary>Predicts one cell from the fit to all others; the mean where the others determine no fit.</summary>
    private static double Predict(IReadOnlyList<double[]> features, double[] capacityAh, int left, double mean)
    {
        var others = Enumerable.Range(0, capacityAh.Length).Where(i => i != left).ToArray();
        double[][] columns = [Array.ConvertAll(others, _ => 1.0), .. features.Select(f => Array.ConvertAll(others, i => f[i]))];
        if (LeastSquares.Solve(columns, Array.ConvertAll(others, i => capacityAh[i]), out _) is not { } fit) return mean;
        return fit.Coefficients[0] + features.Select((f, c) => f[left] * fit.Coefficients[c + 1]).Sum();
    }
}
