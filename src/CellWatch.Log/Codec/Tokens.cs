using System.Numerics;
using System.Runtime.CompilerServices;

namespace CellWatch.Log.Codec;

/// <summary>
/// Splits an unsigned number into a token, whose frequency is modelled, and extra bits, which are stored as they are.
/// Below 64 the token is the number. From there each doubling has four tokens and the rest of the number is extra bits:
/// <code>
/// u        0..63   64..79  80..95  96..111  112..127  128..159  ...
/// token    u       64      65      66       67        68        ...   up to 295
/// extra    0       4 bits  4       4        4         5         ...   msb - 2
/// </code>
/// </summary>
internal static class Tokens
{
    public const int Direct = 64;
    public const int Count = Direct + (4 * 58);

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static int Of(ulong u)
    {
        if (u < Direct) return (int)u;
        var msb = BitOperations.Log2(u);
        return Direct + ((msb - 6) << 2) + (int)((u >> (msb - 2)) & 3);
    }

    /// <summary>How many extra bits follow a token.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static int ExtraBits(int token) => token < Direct ? 0 : ((token - Direct) >> 2) + 4;

    /// <summary>The smallest number that has this token.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static ulong Base(int token) =>
        token < Direct ? (ulong)token : (4UL + (ulong)((token - Direct) & 3)) << (((token - Direct) >> 2) + 4);
}
