using System.Buffers.Binary;
using System.Runtime.CompilerServices;

namespace CellWatch.Log.Codec;

/// <summary>Reads what <see cref="ByteWriter"/> wrote. Every read past the end or malformed number throws <see cref="DamagedBlockException"/>.</summary>
internal ref struct ByteReader(ReadOnlySpan<byte> bytes)
{
    private readonly ReadOnlySpan<byte> _bytes = bytes;

    /// <summary>Where the next read begins.</summary>
    public int Position { get; private set; }

    /// <summary>Bytes not yet read.</summary>
    public readonly int Left => _bytes.Length - Position;

    // Thousands of headers are read for a day of a few channels: a byte is taken without making a span of it.
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public byte Byte()
    {
        var at = Position;
        if ((uint)at >= (uint)_bytes.Length) throw new DamagedBlockException("it ends too early");
        Position = at + 1;
        return _bytes[at];
    }

    public ReadOnlySpan<byte> Bytes(int count)
    {
        if (count < 0 || count > Left) throw new DamagedBlockException("it ends too early");
        var span = _bytes.Slice(Position, count);
        Position += count;
        return span;
    }

    public uint UInt32() => BinaryPrimitives.ReadUInt32LittleEndian(Bytes(4));

    public double Double() => BinaryPrimitives.ReadDoubleLittleEndian(Bytes(8));

    public ulong Varint()
    {
        ulong value = Byte();
        if (value < 0x80) return value;
        value &= 0x7F;
        for (var shift = 7; shift < 64; shift += 7)
        {
            var b = Byte();
            value |= (ulong)(b & 0x7F) << shift;
            if (b < 0x80) return value;
        }

        throw new DamagedBlockException("a number runs on");
    }

    /// <summary>A varint that must not exceed a limit: a count or a length.</summary>
    public int Count(int limit)
    {
        var value = Varint();
        return value <= (ulong)limit ? (int)value : throw new DamagedBlockException($"a count of {value} where {limit} is the most");
    }

    public long Signed() => ZigZag.Decode(Varint());
}

/// <summary>A block of the log that does not hold what it should: bits changed, or a part is missing.</summary>
public sealed class DamagedBlockException : Exception
{
    /// <summary>A damaged block with no reason given.</summary>
    public DamagedBlockException()
    {
    }

    /// <param name="message">What does not fit.</param>
    public DamagedBlockException(string message)
        : base(message)
    {
    }

    /// <param name="message">What does not fit.</param>
    /// <param name="innerException">What was thrown when it was read.</param>
    public DamagedBlockException(string message, Exception innerException)
        : base(message, innerException)
    {
    }
}
