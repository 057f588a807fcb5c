using CellWatch.FrontEnds.SignalDatabase;
using CsCheck;

namespace CellWatch.FrontEnds.Tests.SignalDatabase;

public class RoundTripTests
{
    private static readonly Gen<CanSignal> AnySignal =
        from length in Gen.Int[1, 64]
        from order in Gen.Bool
        from signed in Gen.Bool
        from start in Gen.Int[0, 511]
        let signal = new CanSignal("X", start, length, order ? ByteOrder.LittleEndian : ByteOrder.BigEndian, signed ? SignalNumber.Signed : SignalNumber.Unsigned)
        where signal.ByteSpan.Last < 64
        select signal;

    [Fact]
    public void Bits_written_anywhere_are_read_back_and_no_other_bit_changes() =>
        Gen.Select(AnySignal, Gen.ULong, Gen.Byte.Array[64]).Sample((signal, bits, data) =>
        {
            var mask = signal.LengthBits == 64 ? ulong.MaxValue : (1UL << signal.LengthBits) - 1;
            var written = (byte[])data.Clone();
            SignalEncoder.EncodeBits(signal, bits, written);
            if (SignalBits.Read(signal, written) != (bits & mask)) return false;
            SignalEncoder.EncodeBits(signal, SignalBits.Read(signal, data), written);
            return written.AsSpan().SequenceEqual(data);
        }, iter: 20_000, threads: 1);

    /// <summary>The rule of the file format, bit by bit, as the plain second opinion.</summary>
    [Fact]
    public void The_fast_reader_agrees_with_a_walk_over_single_bits() =>
        Gen.Select(AnySignal, Gen.Byte.Array[64]).Sample((signal, data) =>
        {
            ulong walked = 0;
            if (signal.Order == ByteOrder.LittleEndian)
                for (var i = signal.LengthBits - 1; i >= 0; i--) walked = walked << 1 | Bit(data, signal.StartBit + i);
            else
                for (int i = 0, b = signal.StartBit; i < signal.LengthBits; i++, b = b % 8 == 0 ? b + 15 : b - 1) walked = walked << 1 | Bit(data, b);
            return SignalBits.Read(signal, data) == walked;
        }, iter: 20_000, threads: 1);

    private static ulong Bit(byte[] data, int number) => (ulong)(data[number / 8] >> number % 8 & 1);

    [Fact]
    public void Decoding_what_was_encoded_gives_the_same_physical_values() =>
        Gen.Select(Gen.Double[0, 6.5535], Gen.Double[-128, 127.9], Gen.Double[-8000, 8000]).Sample((cellV, temperatureDegC, currentA) =>
        {
            var message = CanDatabase.Parse("""
                BO_ 1 A: 8 N
                 SG_ V : 7|16@0+ (0.0001,0) [0|6.5535] "V" N
                 SG_ T : 16|12@1- (0.0625,0) [0|0] "degC" N
                 SG_ I : 35|24@0- (0.001,0) [0|0] "A" N
                """, "law.dbc").Messages[0];
            Span<byte> data = stackalloc byte[8];
            data.Clear();
            if (!SignalEncoder.TryEncode(message.Signals[0], cellV, data) || !SignalEncoder.TryEncode(message.Signals[1], temperatureDegC, data)
                || !SignalEncoder.TryEncode(message.Signals[2], currentA, data)) return false;
            Span<SignalValue> values = new SignalValue[3];
            message.Decode(data, values);
            // Half a step of the raw value is what rounding costs.
            return Math.Abs(values[0].Physical - cellV) <= 0.00005001 && Math.Abs(values[1].Physical - temperatureDegC) <= 0.0312501
                && Math.Abs(values[2].Physical - currentA) <= 0.0005001;
        }, iter: 300, threads: 1);

    [Fact]
    public void A_value_that_does_not_fit_is_refused_and_nothing_is_written()
    {
        var signal = new CanSignal("X", 0, 16, ByteOrder.LittleEndian, SignalNumber.Unsigned) { Scale = 0.0001 };
        byte[] data = [1, 2];
        Assert.False(SignalEncoder.TryEncode(signal, 6.6, data));
        Assert.False(SignalEncoder.TryEncode(signal, -0.1, data));
        Assert.False(SignalEncoder.TryEncode(signal, double.NaN, data));
        Assert.Equal([1, 2], data);
    }
}
