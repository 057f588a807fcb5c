namespace CellWatch.FrontEnds;

/// <summary>Hex digits in ASCII, either case.</summary>
internal static class Hex
{
    private static readonly sbyte[] Digits = BuildDigits();

    /// <summary>Value of one digit; -1 for any other byte.</summary>
    public static int Digit(byte ascii) => Digits[ascii];

    /// <summary>Reads up to eight digits; false when one is none.</summary>
    public static bool TryReadUInt(ReadOnlySpan<byte> text, out uint value)
    {
        value = 0;
        foreach (var ascii in text)
        {
            var digit = Digits[ascii];
            if (digit < 0) return false;
            value = value * 16 + (uint)digit;
        }

        return text.Length is > 0 and <= 8;
    }

    /// <summary>Reads two digits a byte into <paramref name="bytes"/>, which <paramref name="text"/> must fill exactly; false when one is none.</summary>
    public static bool TryReadBytes(ReadOnlySpan<byte> text, Span<byte> bytes)
    {
        if (text.Length != bytes.Length * 2) return false;
        var wrong = 0;
        for (var i = 0; i < bytes.Length; i++)
        {
            int high = Digits[text[2 * i]], low = Digits[text[2 * i + 1]];
            // A byte that is no digit is -1 and leaves the sign bit set.
            wrong |= high | low;
            bytes[i] = (byte)(high * 16 + low);
        }

        return wrong >= 0;
    }

    /// <summary>Writes <paramref name="digits"/> upper-case digits.</summary>
    public static void Write(uint value, int digits, Span<byte> text)
    {
        for (var i = digits - 1; i >= 0; i--, value >>= 4) text[i] = "0123456789ABCDEF"u8[(int)(value & 15)];
    }

    private static sbyte[] BuildDigits()
    {
        var digits = new sbyte[256];
        digits.AsSpan().Fill(-1);
        for (var i = 0; i < 10; i++) digits['0' + i] = (sbyte)i;
        for (var i = 0; i < 6; i++) digits['a' + i] = digits['A' + i] = (sbyte)(10 + i);
        return digits;
    }
}
