namespace CellWatch.FrontEnds.SignalDatabase;

/// <summary>Writes physical values into a message's bytes; used by emulated boards and tests.</summary>
public static class SignalEncoder
{
    /// <summary>
    /// Writes one signal: the nearest raw value of raw = (physical - offset) / scale. False, and nothing written, when the value does not fit
    /// the signal's bits or is no number (an IEEE signal takes any value).
    /// </summary>
    /// <param name="signal">The signal.</param>
    /// <param name="physical">In the signal's unit.</param>
    /// <param name="data">The message's data, all of its bytes.</param>
    public static bool TryEncode(CanSignal signal, double physical, Span<byte> data)
    {
        if (!TryToBits(signal, physical, out var bits)) return false;
        SignalBits.Write(signal, bits, data);
        return true;
    }

    /// <summary>Writes a signal's raw bits as they are, say a reset code.</summary>
    public static void EncodeBits(CanSignal signal, ulong bits, Span<byte> data) => SignalBits.Write(signal, bits, data);

    private static bool TryToBits(CanSignal signal, double physical, out ulong bits)
    {
        var raw = (physical - signal.Offset) / signal.Scale;
        bits = 0;
        switch (signal.Number)
        {
            case SignalNumber.Single:
                bits = BitConverter.SingleToUInt32Bits((float)raw);
                return true;
            case SignalNumber.Double:
                bits = BitConverter.DoubleToUInt64Bits(raw);
                return true;
        }

        raw = Math.Round(raw, MidpointRounding.AwayFromZero);
        var isSigned = signal.Number == SignalNumber.Signed;
        var above = Math.ScaleB(1, isSigned ? signal.LengthBits - 1 : signal.LengthBits);
        var lowest = isSigned ? -above : 0;
        if (!(raw >= lowest && raw < above)) return false;
        bits = isSigned ? (ulong)(long)raw : (ulong)raw;
        return true;
    }
}
