using System.Runtime.InteropServices;

namespace CellWatch.Log.Codec;

/// <summary>
/// How often each token occurs, in 4096ths: what the coder spends bits by. A token with frequency f costs 12 - log2 f bits; one that
/// never occurs costs nothing and cannot be written.
/// </summary>
internal sealed class SymbolTable
{
    public const int ScaleBits = 12;
    public const int Scale = 1 << ScaleBits;

    private readonly ushort[] _frequency = new ushort[Tokens.Count];
    private readonly ushort[] _start = new ushort[Tokens.Count];
    private readonly Slot[] _slots = new Slot[Scale];
    private bool _hasSlots;

    /// <summary>One 4096th: which token it belongs to, that token's frequency, and how far into it this one lies.</summary>
    [StructLayout(LayoutKind.Sequential, Pack = 2)]
    internal struct Slot
    {
        public ushort Token;
        public ushort Frequency;
        public ushort Offset;
    }

    public ReadOnlySpan<ushort> Frequency => _frequency;

    public ReadOnlySpan<ushort> Start => _start;

    /// <summary>Every 4096th; spread out when first asked for, as a reader of a few columns needs a few tables.</summary>
    public ReadOnlySpan<Slot> Slots
    {
        get
        {
            if (!_hasSlots) SetSlots();
            return _slots;
        }
    }

    /// <summary>Scales counts to 4096ths; every token that occurs keeps at least one.</summary>
    /// <param name="counts">Occurrences by token; at least one is not zero.</param>
    public void SetFromCounts(ReadOnlySpan<int> counts)
    {
        long total = 0;
        foreach (var c in counts) total += c;
        var sum = 0;
        for (var t = 0; t < Tokens.Count; t++)
        {
            var f = counts[t] == 0 ? 0 : Math.Max(1, (int)(((long)counts[t] * Scale + total / 2) / total));
            _frequency[t] = (ushort)f;
            sum += f;
        }

        // Rounding leaves a few too many or too few: the most frequent tokens carry them, where it costs least.
        while (sum != Scale)
        {
            var top = 0;
            for (var t = 1; t < Tokens.Count; t++)
                if (_frequency[t] > _frequency[top]) top = t;
            var change = sum > Scale ? -Math.Min(sum - Scale, Math.Max(1, _frequency[top] / 8)) : Scale - sum;
            _frequency[top] = (ushort)(_frequency[top] + change);
            sum += change;
        }

        SetStarts();
    }

    /// <summary>Writes the frequencies: count of tokens, then each; a zero is followed by how many more zeros follow it.</summary>
    public void WriteTo(ByteWriter writer)
    {
        var count = Tokens.Count;
        while (_frequency[count - 1] == 0) count--;
        writer.Varint((ulong)count);
        for (var t = 0; t < count; t++)
        {
            writer.Varint(_frequency[t]);
            if (_frequency[t] != 0) continue;
            var run = 0;
            while (_frequency[t + 1 + run] == 0) run++;
            writer.Varint((ulong)run);
            t += run;
        }
    }

    /// <summary>Reads the frequencies.</summary>
    /// <exception cref="DamagedBlockException">They do not add up to 4096.</exception>
    public void ReadFrom(ref ByteReader reader)
    {
        _frequency.AsSpan().Clear();
        var count = reader.Count(Tokens.Count);
        var sum = 0;
        for (var t = 0; t < count; t++)
        {
            var f = reader.Count(Scale);
            _frequency[t] = (ushort)f;
            sum += f;
            if (f == 0) t += reader.Count(count - t);
        }

        if (sum != Scale) throw new DamagedBlockException("token frequencies do not add up");
        SetStarts();
    }

    private void SetStarts()
    {
        _hasSlots = false;
        var start = 0;
        for (var t = 0; t < Tokens.Count; t++)
        {
            _start[t] = (ushort)start;
            start += _frequency[t];
        }
    }

    private void SetSlots()
    {
        _hasSlots = true;
        for (var t = 0; t < Tokens.Count; t++)
        {
            var span = _slots.AsSpan(_start[t] & (Scale - 1), _frequency[t]);
            for (var i = 0; i < span.Length; i++) span[i] = new Slot { Token = (ushort)t, Frequency = _frequency[t], Offset = (ushort)i };
        }
    }
}
