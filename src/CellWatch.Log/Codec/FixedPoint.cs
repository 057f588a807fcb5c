using System.Runtime.CompilerServices;

namespace CellWatch.Log.Codec;

/// <summary>
/// Values as whole steps of a channel's resolution, and what the steps do not say as a distance in representable doubles, so that every
/// value comes back bit for bit: mostly the distance is 0; a value that was scaled by another route is one or two off; a value that lies
/// between two steps costs many bits but is not lost.
/// </summary>
internal static class FixedPoint
{
    // Beyond this a double no longer tells one step from the next, and the predictors' arithmetic has no room.
    private const double MostSteps = 1L << 46;

    /// <summary>The nearest step, and the distance from it in doubles (wrapping).</summary>
    /// <param name="value">Any double that is not NaN.</param>
    /// <param name="stepsPerUnit">One over the resolution: 10,000 for 0.1 mV in volts.</param>
    /// <param name="distance">Doubles from the step's own value to the value; 0 when the steps say it all.</param>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static long Steps(double value, double stepsPerUnit, out long distance)
    {
        var scaled = value * stepsPerUnit;
        var steps = Math.Abs(scaled) < MostSteps ? (long)Math.Round(scaled) : 0;
        var exact = ValueOf(steps, stepsPerUnit);
        distance = exact.Equals(value) && steps != 0 ? 0 : unchecked(Order(value) - Order(exact));
        return steps;
    }

    /// <summary>The double nearest to that many steps: dividing gives the correctly rounded decimal, multiplying would not.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static double ValueOf(long steps, double stepsPerUnit) => steps / stepsPerUnit;

    /// <summary>The value that lies so many doubles from the step's own.</summary>
    public static double ValueOf(long steps, double stepsPerUnit, long distance) =>
        distance == 0 ? ValueOf(steps, stepsPerUnit) : FromOrder(unchecked(Order(ValueOf(steps, stepsPerUnit)) + distance));

    // Doubles numbered in order of size: negative ones count down from -1 (which is minus zero).
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static long Order(double value)
    {
        var bits = BitConverter.DoubleToInt64Bits(value);
        return bits ^ ((bits >> 63) & long.MaxValue);
    }

    private static double FromOrder(long order) => BitConverter.Int64BitsToDouble(order ^ ((order >> 63) & long.MaxValue));
}
