using System.Runtime.CompilerServices;

namespace CellWatch.Log.Codec;

/// <summary>
/// Range variant of asymmetric numeral systems (J. Duda, arXiv:1311.2540) with a 32-bit state kept in [2^16, 2^32) and 16-bit words:
/// close to the entropy of the tokens, a table look-up and a multiplication to decode one. It encodes backwards, so that decoding runs forwards.
/// Stream: the final state, 4 bytes little-endian, then the words in the order the decoder takes them.
/// </summary>
internal sealed class RansEncoder
{
    private byte[] _buffer = new byte[8192];
    private int _position;
    private uint _state;

    /// <summary>Starts a stream of at most this many numbers.</summary>
    public void Begin(int numbers)
    {
        // A token takes at most one word, its extra bits at most four.
        var most = 4 + (10 * numbers);
        if (_buffer.Length < most) _buffer = new byte[most];
        _position = _buffer.Length;
        _state = RansDecoder.Lowest;
    }

    /// <summary>Puts a number before those already put.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public void Put(ulong u, ReadOnlySpan<ushort> frequency, ReadOnlySpan<ushort> start)
    {
        var token = Tokens.Of(u);
        if (token >= Tokens.Direct) PutExtra(u - Tokens.Base(token), Tokens.ExtraBits(token));
        uint f = frequency[token];
        if (_state >= (ulong)f << 20) PutWord();
        var quotient = _state / f;
        _state = (quotient << SymbolTable.ScaleBits) + (_state - (quotient * f)) + start[token];
    }

    /// <summary>Ends the stream and gives it.</summary>
    public ReadOnlySpan<byte> Finish()
    {
        _position -= 4;
        System.Buffers.Binary.BinaryPrimitives.WriteUInt32LittleEndian(_buffer.AsSpan(_position), _state);
        return _buffer.AsSpan(_position);
    }

    private void PutExtra(ulong extra, int bits)
    {
        // The decoder takes the high part first, so the low part is put first.
        while (bits > 0)
        {
            var n = Math.Min(bits, 16);
            if (_state >= 1UL << (32 - n)) PutWord();
            _state = (_state << n) | (uint)(extra & ((1u << n) - 1));
            extra >>= n;
            bits -= n;
        }
    }

    private void PutWord()
    {
        _position -= 2;
        System.Buffers.Binary.BinaryPrimitives.WriteUInt16LittleEndian(_buffer.AsSpan(_position), (ushort)_state);
        _state >>= 16;
    }
}

/// <summary>Takes back, in order, what <see cref="RansEncoder"/> put. A stream that ends early reads as zeros; the checksum has judged it before.</summary>
internal ref struct RansDecoder
{
    /// <summary>The state is never below this between two tokens.</summary>
    public const uint Lowest = 1u << 16;

    private readonly ReadOnlySpan<byte> _stream;
    private int _position;
    private uint _state;

    public RansDecoder(ReadOnlySpan<byte> stream)
    {
        if (stream.Length < 4) throw new DamagedBlockException("a coded column is shorter than its state");
        _stream = stream;
        _state = System.Buffers.Binary.BinaryPrimitives.ReadUInt32LittleEndian(stream);
        _position = 4;
    }

    /// <summary>Whether the stream was used up exactly and ended where encoding began.</summary>
    public readonly bool EndedWell => _state == Lowest && _position == _stream.Length;

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public ulong Take(ReadOnlySpan<SymbolTable.Slot> slots)
    {
        var slot = slots[(int)(_state & (SymbolTable.Scale - 1))];
        _state = (slot.Frequency * (_state >> SymbolTable.ScaleBits)) + slot.Offset;
        if (_state < Lowest) TakeWord();
        return slot.Token < Tokens.Direct ? slot.Token : TakeExtra(slot.Token);
    }

    private ulong TakeExtra(int token)
    {
        var bits = Tokens.ExtraBits(token);
        ulong extra = 0;
        // The encoder cut 16 bits at a time from the low end, so the odd rest comes first.
        var n = bits % 16 == 0 ? 16 : bits % 16;
        while (bits > 0)
        {
            extra = (extra << n) | (_state & ((1u << n) - 1));
            _state >>= n;
            if (_state < Lowest) TakeWord();
            bits -= n;
            n = 16;
        }

        return Tokens.Base(token) + extra;
    }

    private void TakeWord()
    {
        uint word = 0;
        if (_position + 2 <= _stream.Length) word = System.Buffers.Binary.BinaryPrimitives.ReadUInt16LittleEndian(_stream[_position..]);
        _position += 2;
        _state = (_state << 16) | word;
    }
}
