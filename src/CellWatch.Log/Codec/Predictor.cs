using System.Numerics;

namespace CellWatch.Log.Codec;

/// <summary>
/// Foretells the next number of a column from those before it; only the difference is coded. All arithmetic is on whole numbers and wraps,
/// so every machine foretells the same.
/// <para>
/// Measured voltages are a slow course plus noise that is new with every sample. The plain difference of two samples carries that noise
/// twice; a smoothed level with a trend carries it little more than once, which saves about half a bit a value
/// (exponential smoothing with trend: C. C. Holt, 1957, from memory).
/// </para>
/// </summary>
internal static class Predictor
{
    /// <summary>The value before.</summary>
    public const int Previous = 0;

    /// <summary>The straight line through the two values before: for clocks.</summary>
    public const int Line = 1;

    /// <summary>Smoothed level with trend, gain 1/2; the next three have 1/4, 1/8, 1/16.</summary>
    public const int FirstTrend = 2;

    /// <summary>Smoothed level without trend, gain 1/16: for a column that only scatters.</summary>
    public const int Level = 6;

    /// <summary>How many there are.</summary>
    public const int Count = 7;

    /// <summary>Numbers at or beyond this magnitude are foretold by <see cref="Previous"/> or <see cref="Line"/> only.</summary>
    public const long SmoothingLimit = 1L << 40;

    private const int FractionBits = 16;

    /// <summary>Zig-zag differences between each number but the first and what was foretold for it.</summary>
    /// <param name="predictor">Which one.</param>
    /// <param name="x">The column, at least one number.</param>
    /// <param name="u">Receives <c>x.Length - 1</c> differences.</param>
    public static void Residuals(int predictor, ReadOnlySpan<long> x, Span<ulong> u)
    {
        unchecked
        {
            switch (predictor)
            {
                case Previous:
                    for (var i = 1; i < x.Length; i++) u[i - 1] = ZigZag.Encode(x[i] - x[i - 1]);
                    break;
                case Line:
                    var slope = 0L;
                    for (var i = 1; i < x.Length; i++)
                    {
                        u[i - 1] = ZigZag.Encode(x[i] - x[i - 1] - slope);
                        slope = x[i] - x[i - 1];
                    }

                    break;
                default:
                    var filter = new Filter(predictor, x[0]);
                    for (var i = 1; i < x.Length; i++)
                    {
                        u[i - 1] = ZigZag.Encode(x[i] - filter.Foretell());
                        filter.Learn(x[i], i);
                    }

                    break;
            }
        }
    }

    /// <summary>Rebuilds a column from its coded differences; <c>x[0]</c> is set already.</summary>
    public static void Rebuild(int predictor, ref RansDecoder coded, ReadOnlySpan<SymbolTable.Slot> slots, Span<long> x)
    {
        unchecked
        {
            switch (predictor)
            {
                case Previous:
                    for (var i = 1; i < x.Length; i++) x[i] = x[i - 1] + ZigZag.Decode(coded.Take(slots));
                    break;
                case Line:
                    var slope = 0L;
                    for (var i = 1; i < x.Length; i++)
                    {
                        slope += ZigZag.Decode(coded.Take(slots));
                        x[i] = x[i - 1] + slope;
                    }

                    break;
                default:
                    var filter = new Filter(predictor, x[0]);
                    for (var i = 1; i < x.Length; i++)
                    {
                        x[i] = filter.Foretell() + ZigZag.Decode(coded.Take(slots));
                        filter.Learn(x[i], i);
                    }

                    break;
            }
        }
    }

    /// <summary>Level and trend as fixed-point numbers with 16 fraction bits.</summary>
    private struct Filter(int predictor, long first)
    {
        private readonly int _gainShift = predictor == Level ? 4 : predictor - FirstTrend + 1;
        private readonly bool _hasTrend = predictor != Level;
        private long _level = first << FractionBits;
        private long _trend;

        public readonly long Foretell() => unchecked((_level + _trend + (1L << (FractionBits - 1))) >> FractionBits);

        public void Learn(long value, int index)
        {
            unchecked
            {
                var foretold = _level + _trend;
                var error = (value << FractionBits) - foretold;
                // The first few values weigh more: the level is not yet known better than one of them.
                var shift = Math.Min(_gainShift, BitOperations.Log2((uint)index + 1));
                _level = foretold + (error >> shift);
                // A trend gain of a quarter of the squared level gain is critically damped: it follows a ramp without overshoot.
                if (_hasTrend) _trend += error >> ((2 * _gainShift) + 2);
            }
        }
    }
}
