using System.Collections.Immutable;
using System.Globalization;

namespace CellWatch.FrontEnds.SignalDatabase;

/// <summary>Order in which a signal's bits lie in the message.</summary>
public enum ByteOrder : byte
{
    /// <summary>Least significant byte first (Intel, <c>@1</c>).</summary>
    LittleEndian,

    /// <summary>Most significant byte first (Motorola, <c>@0</c>).</summary>
    BigEndian,
}

/// <summary>How a signal's bits are read as a number.</summary>
public enum SignalNumber : byte
{
    /// <summary>Unsigned integer.</summary>
    Unsigned,

    /// <summary>Two's complement integer.</summary>
    Signed,

    /// <summary>IEEE 754 single, 32 bits.</summary>
    Single,

    /// <summary>IEEE 754 double, 64 bits.</summary>
    Double,
}

/// <summary>A closed range of switch values on which a multiplexed signal is present.</summary>
/// <param name="First">Smallest.</param>
/// <param name="Last">Largest.</param>
public readonly record struct PageRange(ulong First, ulong Last);

/// <summary>
/// One signal of a message: where its bits lie and what they mean. Immutable.
/// <code>
/// bit number b = bit (b mod 8) of byte (b div 8), bit 0 the least significant, for both orders
///   little-endian: StartBit is the least significant bit; raw bit i is bit number StartBit + i
///   big-endian:    StartBit is the MOST significant bit; go to b - 1 each step, from a bit with b mod 8 = 0 to b + 15
/// physical = raw x Scale + Offset
/// </code>
/// Source: the public DBC grammar as read by general-purpose tools; checked against their results in the tests.
/// </summary>
public sealed class CanSignal
{
    internal CanSignal(string name, int startBit, int lengthBits, ByteOrder order, SignalNumber number)
    {
        Name = name;
        StartBit = startBit;
        LengthBits = lengthBits;
        Order = order;
        Number = number;
    }

    /// <summary>Its name, unique in its message.</summary>
    public string Name { get; }

    /// <summary>Start bit as written in the file: least significant bit if little-endian, most significant if big-endian.</summary>
    public int StartBit { get; }

    /// <summary>1 to 64.</summary>
    public int LengthBits { get; }

    /// <summary>Order of its bits.</summary>
    public ByteOrder Order { get; }

    /// <summary>How its bits are read.</summary>
    public SignalNumber Number { get; internal set; }

    /// <summary>Factor from raw to physical.</summary>
    public double Scale { get; internal init; } = 1;

    /// <summary>Added after scaling.</summary>
    public double Offset { get; internal init; }

    /// <summary>Smallest physical value; with <see cref="Maximum"/> equal to it, no range is given. Values are marked, never clipped.</summary>
    public double Minimum { get; internal init; }

    /// <summary>Largest physical value.</summary>
    public double Maximum { get; internal init; }

    /// <summary>Unit as written; empty where there is none.</summary>
    public string Unit { get; internal init; } = "";

    /// <summary>Line of the file it was read from, from 1.</summary>
    public int Line { get; internal init; }

    /// <summary>Place in <see cref="CanMessage.Signals"/>.</summary>
    public int Index { get; internal init; }

    /// <summary>Whether its raw value selects which multiplexed signals are present.</summary>
    public bool IsSwitch { get; internal init; }

    /// <summary>The signal that decides whether this one is present; null where it always is.</summary>
    public CanSignal? Switch { get; internal set; }

    /// <summary>Values of <see cref="Switch"/> on which this signal is present.</summary>
    public ImmutableArray<PageRange> Pages { get; internal set; } = [];

    /// <summary>Names of raw values; empty where there are none.</summary>
    public IReadOnlyDictionary<long, string> Labels { get; internal set; } = ImmutableDictionary<long, string>.Empty;

    /// <summary>Whether the file gives a range (<c>[0|0]</c> means none).</summary>
    public bool HasRange => Minimum < Maximum;

    /// <summary>Lowest and highest byte that hold a bit of the signal.</summary>
    internal (int First, int Last) ByteSpan
    {
        get
        {
            var first = StartBit / 8;
            // A big-endian signal fills the rest of its first byte, then whole bytes from the top.
            var last = Order == ByteOrder.LittleEndian
                ? (StartBit + LengthBits - 1) / 8
                : first + (LengthBits - (StartBit % 8 + 1) + 7) / 8;
            return (first, last);
        }
    }

    /// <summary>The physical value of a raw one; NaN and infinities pass through. Integers lose exactness beyond 2^53.</summary>
    public double ToPhysical(ulong bits) => Number switch
    {
        SignalNumber.Unsigned => bits * Scale + Offset,
        SignalNumber.Signed => SignExtend(bits) * Scale + Offset,
        SignalNumber.Single => BitConverter.UInt32BitsToSingle((uint)bits) * Scale + Offset,
        _ => BitConverter.UInt64BitsToDouble(bits) * Scale + Offset,
    };

    /// <summary>A signed signal's raw value from its bits.</summary>
    public long SignExtend(ulong bits) => (long)(bits << (64 - LengthBits)) >> (64 - LengthBits);

    /// <summary>The raw value as text: decimal for integers, shortest round-trip for floats.</summary>
    public string RawText(ulong bits) => Number switch
    {
        SignalNumber.Unsigned => bits.ToString(CultureInfo.InvariantCulture),
        SignalNumber.Signed => SignExtend(bits).ToString(CultureInfo.InvariantCulture),
        SignalNumber.Single => BitConverter.UInt32BitsToSingle((uint)bits).ToString("R", CultureInfo.InvariantCulture),
        _ => BitConverter.UInt64BitsToDouble(bits).ToString("R", CultureInfo.InvariantCulture),
    };

    /// <summary>The name of a raw value; null where it has none.</summary>
    public string? LabelOf(ulong bits) =>
        Labels.TryGetValue(Number == SignalNumber.Signed ? SignExtend(bits) : (long)bits, out var label) ? label : null;

    /// <inheritdoc/>
    public override string ToString() => Name;
}
