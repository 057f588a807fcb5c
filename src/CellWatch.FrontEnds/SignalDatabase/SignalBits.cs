namespace CellWatch.FrontEnds.SignalDatabase;

/// <summary>
/// Reads and writes a signal's bits anywhere in a message of up to 64 bytes. A signal of 64 bits may touch nine bytes, so the window is
/// 128 bits wide. The plain rule of <see cref="CanSignal"/>, a byte at a time.
/// </summary>
internal static class SignalBits
{
    /// <summary>The signal's raw bits, right-aligned. The data must hold every byte the signal touches.</summary>
    public static ulong Read(CanSignal signal, ReadOnlySpan<byte> data)
    {
        var (first, last) = signal.ByteSpan;
        UInt128 window = 0;
        if (signal.Order == ByteOrder.LittleEndian)
            for (var i = last; i >= first; i--) window = window << 8 | data[i];
        else
            for (var i = first; i <= last; i++) window = window << 8 | data[i];
        return (ulong)(window >> Shift(signal, first, last)) & Mask(signal);
    }

    /// <summary>Writes the signal's raw bits and leaves all other bits alone.</summary>
    public static void Write(CanSignal signal, ulong bits, Span<byte> data)
    {
        var (first, last) = signal.ByteSpan;
        var shift = Shift(signal, first, last);
        var mask = (UInt128)Mask(signal) << shift;
        var window = (UInt128)(bits & Mask(signal)) << shift;
        for (var i = 0; i <= last - first; i++)
        {
            var at = signal.Order == ByteOrder.LittleEndian ? first + i : last - i;
            data[at] = (byte)(data[at] & ~(byte)(mask >> 8 * i) | (byte)(window >> 8 * i));
        }
    }

    private static ulong Mask(CanSignal signal) => signal.LengthBits == 64 ? ulong.MaxValue : (1UL << signal.LengthBits) - 1;

    /// <summary>Distance of the least significant bit from the bottom of the window of bytes.</summary>
    private static int Shift(CanSignal signal, int first, int last) => signal.Order == ByteOrder.LittleEndian
        ? signal.StartBit - 8 * first
        : 8 * (last - first + 1) - (7 - signal.StartBit % 8) - signal.LengthBits;
}
