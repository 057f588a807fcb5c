using System.Runtime.CompilerServices;
using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Codec;

/// <summary>
/// What is known about one value, in one byte:
/// <code>
/// bit 0..2 quality    bit 3..5 origin    bit 6 proven    bit 7 there is a value (it is not NaN)
/// </code>
/// The numbers of quality and origin are those of the enumerations and part of the format: they may be added to, never changed.
/// </summary>
internal static class Status
{
    public const byte HasValue = 0x80;

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static byte Of(Quality quality, Origin origin, bool proven, bool hasValue) =>
        (byte)((byte)quality | ((byte)origin << 3) | (proven ? 0x40 : 0) | (hasValue ? HasValue : 0));

    public static Quality QualityOf(byte status) => (Quality)(status & 7);

    public static Origin OriginOf(byte status) => (Origin)((status >> 3) & 7);

    public static bool IsProven(byte status) => (status & 0x40) != 0;

    /// <summary>Whether the value may be judged: good, and there.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static bool IsGood(byte status) => (status & 0x87) == (HasValue | (byte)Quality.Good);
}
