using System.Buffers.Binary;

namespace CellWatch.Log.Codec;

/// <summary>A growing byte buffer with the few forms the log writes; little-endian. Reused by clearing it.</summary>
internal sealed class ByteWriter
{
    private byte[] _bytes = new byte[4096];

    /// <summary>Bytes written.</summary>
    public int Length { get; private set; }

    /// <summary>What was written; valid until the next write.</summary>
    public ReadOnlySpan<byte> Written => _bytes.AsSpan(0, Length);

    /// <summary>Forgets everything written.</summary>
    public void Clear() => Length = 0;

    public void Byte(byte value)
    {
        if (Length == _bytes.Length) Array.Resize(ref _bytes, 2 * _bytes.Length);
        _bytes[Length++] = value;
    }

    public void Bytes(ReadOnlySpan<byte> value)
    {
        value.CopyTo(Take(value.Length));
    }

    public void UInt32(uint value) => BinaryPrimitives.WriteUInt32LittleEndian(Take(4), value);

    public void Double(double value) => BinaryPrimitives.WriteDoubleLittleEndian(Take(8), value);

    /// <summary>Seven bits a byte, lowest first, the high bit says that more follow (LEB128); 1 to 10 bytes.</summary>
    public void Varint(ulong value)
    {
        while (value >= 0x80)
        {
            Byte((byte)(value | 0x80));
            value >>= 7;
        }

        Byte((byte)value);
    }

    /// <summary>A signed number as a zig-zag varint: 0, -1, 1, -2 ... become 0, 1, 2, 3 ...</summary>
    public void Signed(long value) => Varint(ZigZag.Encode(value));

    private Span<byte> Take(int count)
    {
        if (Length + count > _bytes.Length) Array.Resize(ref _bytes, Math.Max(2 * _bytes.Length, Length + count));
        var span = _bytes.AsSpan(Length, count);
        Length += count;
        return span;
    }
}

/// <summary>Signed to unsigned so that small magnitudes stay small.</summary>
internal static class ZigZag
{
    public static ulong Encode(long value) => (ulong)((value << 1) ^ (value >> 63));

    public static long Decode(ulong value) => (long)(value >> 1) ^ -(long)(value & 1);
}
