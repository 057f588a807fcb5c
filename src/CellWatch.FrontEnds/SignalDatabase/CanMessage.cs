using System.Collections.Immutable;

namespace CellWatch.FrontEnds.SignalDatabase;

/// <summary>One signal's value in one frame. <c>default</c> is an absent signal.</summary>
/// <param name="Bits">The raw bits, right-aligned, not sign-extended.</param>
/// <param name="Physical">Raw x scale + offset, in the signal's unit.</param>
/// <param name="IsPresent">Whether the signal is in this frame at all (multiplexing).</param>
public readonly record struct SignalValue(ulong Bits, double Physical, bool IsPresent);

/// <summary>What became of one frame.</summary>
public enum DecodeOutcome : byte
{
    /// <summary>All signals of the frame's pages were decoded.</summary>
    Complete,

    /// <summary>A switch stands on a page the file does not know: only the signals that are always present were decoded.</summary>
    UnknownPage,

    /// <summary>The frame is shorter than the message: nothing was decoded.</summary>
    TooShort,
}

/// <summary>One message of the database with its signals, ready to decode and encode. Immutable after loading; safe to share.</summary>
public sealed class CanMessage
{
    private readonly Step[] _steps;
    private readonly int[] _switches;

    internal CanMessage(string name, uint id, bool isExtended, int length, bool isFd, int line, ImmutableArray<CanSignal> signals)
    {
        Name = name;
        Id = id;
        IsExtended = isExtended;
        Length = length;
        IsFd = isFd || length > 8;
        Line = line;
        Signals = signals;
        _switches = [.. signals.Where(s => s.IsSwitch && signals.Any(d => d.Switch == s)).Select(s => s.Index)];
        _steps = [.. signals.OrderBy(Depth).ThenBy(s => s.Index).Select(s => new Step(s))];
        IsMultiplexed = _switches.Length > 0;
    }

    /// <summary>Its name.</summary>
    public string Name { get; }

    /// <summary>Identifier without flag bits.</summary>
    public uint Id { get; }

    /// <summary>Whether the identifier has 29 bits.</summary>
    public bool IsExtended { get; }

    /// <summary>Bytes of data, 1..64.</summary>
    public int Length { get; }

    /// <summary>Whether it is sent as a CAN FD frame.</summary>
    public bool IsFd { get; }

    /// <summary>Line of the file it begins on, from 1.</summary>
    public int Line { get; }

    /// <summary>Whether some signals are present only on some pages.</summary>
    public bool IsMultiplexed { get; }

    /// <summary>Its signals in the order of the file.</summary>
    public ImmutableArray<CanSignal> Signals { get; }

    /// <summary>Decodes one frame's data. No allocation.</summary>
    /// <param name="data">The frame's data; bytes beyond the message's length are not looked at.</param>
    /// <param name="values">Receives one value a signal, in the order of <see cref="Signals"/>; must be at least as long.</param>
    public DecodeOutcome Decode(ReadOnlySpan<byte> data, Span<SignalValue> values)
    {
        values = values[..Signals.Length];
        if (data.Length < Length)
        {
            values.Clear();
            return DecodeOutcome.TooShort;
        }

        data = data[..Length];
        if (!IsMultiplexed)
        {
            DecodePlain(data, values);
            return DecodeOutcome.Complete;
        }

        values.Clear();
        foreach (ref readonly var step in _steps.AsSpan())
        {
            if (step.Switch >= 0 && !(values[step.Switch].IsPresent && step.IsOnPage(values[step.Switch].Bits))) continue;
            values[step.Index] = step.Decode(data);
        }

        foreach (var index in _switches)
            if (values[index].IsPresent && !AnyPresentUnder(index, values))
            {
                ClearMultiplexed(values);
                return DecodeOutcome.UnknownPage;
            }

        return DecodeOutcome.Complete;
    }

    /// <summary>A signal by name; null where the message has none of that name.</summary>
    public CanSignal? Find(string name) => Signals.FirstOrDefault(s => string.Equals(s.Name, name, StringComparison.Ordinal));

    /// <inheritdoc/>
    public override string ToString() => Name;

    private static int Depth(CanSignal signal)
    {
        var depth = 0;
        for (var above = signal.Switch; above is not null; above = above.Switch) depth++;
        return depth;
    }

    private void DecodePlain(ReadOnlySpan<byte> data, Span<SignalValue> values)
    {
        if (Length <= 8)
        {
            // One load serves all signals: the data as a number in either order, left- or right-aligned.
            ulong little = 0, big = 0;
            if (data.Length == 8)
            {
                little = System.Buffers.Binary.BinaryPrimitives.ReadUInt64LittleEndian(data);
                big = System.Buffers.Binary.BinaryPrimitives.ReverseEndianness(little);
            }
            else
            {
                for (var i = 0; i < data.Length; i++)
                {
                    little |= (ulong)data[i] << (8 * i);
                    big |= (ulong)data[i] << (56 - 8 * i);
                }
            }

            foreach (ref readonly var step in _steps.AsSpan()) values[step.Index] = step.Decode(little, big);
            return;
        }

        foreach (ref readonly var step in _steps.AsSpan()) values[step.Index] = step.Decode(data);
    }

    private bool AnyPresentUnder(int switchIndex, ReadOnlySpan<SignalValue> values)
    {
        foreach (ref readonly var step in _steps.AsSpan())
            if (step.Switch == switchIndex && values[step.Index].IsPresent) return true;
        return false;
    }

    private void ClearMultiplexed(Span<SignalValue> values)
    {
        foreach (ref readonly var step in _steps.AsSpan())
            if (step.Switch >= 0) values[step.Index] = default;
    }

    /// <summary>One signal flattened for the loop.</summary>
    private readonly struct Step
    {
        private readonly double _scale;
        private readonly double _offset;
        private readonly ulong _mask;
        private readonly byte _shiftInWord;
        private readonly byte _signShift;
        private readonly ByteOrder _order;
        private readonly SignalNumber _number;
        private readonly CanSignal _signal;

        public Step(CanSignal signal)
        {
            _signal = signal;
            _scale = signal.Scale;
            _offset = signal.Offset;
            _order = signal.Order;
            _number = signal.Number;
            _mask = signal.LengthBits == 64 ? ulong.MaxValue : (1UL << signal.LengthBits) - 1;
            _signShift = (byte)(64 - signal.LengthBits);
            Index = signal.Index;
            Switch = signal.Switch?.Index ?? -1;
            // Distance of the least significant bit from the bottom of the 64-bit word; meaningful for messages of up to 8 bytes.
            var shift = signal.Order == ByteOrder.LittleEndian
                ? signal.StartBit
                : 64 - (signal.StartBit / 8 * 8 + (7 - signal.StartBit % 8)) - signal.LengthBits;
            _shiftInWord = (byte)(shift & 63);
        }

        public int Index { get; }

        public int Switch { get; }

        public bool IsOnPage(ulong page)
        {
            foreach (var range in _signal.Pages)
                if (page >= range.First && page <= range.Last) return true;
            return false;
        }

        public SignalValue Decode(ulong little, ulong big) =>
            Value((_order == ByteOrder.LittleEndian ? little : big) >> _shiftInWord & _mask);

        public SignalValue Decode(ReadOnlySpan<byte> data) => Value(SignalBits.Read(_signal, data));

        private SignalValue Value(ulong bits)
        {
            var raw = _number switch
            {
                SignalNumber.Unsigned => bits,
                SignalNumber.Signed => (long)(bits << _signShift) >> _signShift,
                SignalNumber.Single => BitConverter.UInt32BitsToSingle((uint)bits),
                _ => BitConverter.UInt64BitsToDouble(bits),
            };
            return new SignalValue(bits, raw * _scale + _offset, true);
        }
    }
}
