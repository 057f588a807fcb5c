namespace CellWatch.Core.History;

/// <summary>
/// CRC-32/ISO-HDLC: polynomial 04C11DB7, reflected in and out, initial value and final XOR FFFFFFFF; the check over ASCII
/// <c>123456789</c> is CBF43926 (catalogue of parametrised CRC algorithms).
/// </summary>
public static class Crc32
{
    // Eight tables let eight bytes be taken at a time ("slicing by eight"); table 0 alone is the plain byte-wise method.
    private static readonly uint[][] Tables = MakeTables();

    /// <summary>The CRC of all bytes.</summary>
    public static uint Of(ReadOnlySpan<byte> bytes)
    {
        var t = Tables;
        var crc = 0xFFFFFFFFu;
        while (bytes.Length >= 8)
        {
            var low = System.Buffers.Binary.BinaryPrimitives.ReadUInt32LittleEndian(bytes) ^ crc;
            var high = System.Buffers.Binary.BinaryPrimitives.ReadUInt32LittleEndian(bytes[4..]);
            crc = t[7][low & 0xFF] ^ t[6][(low >> 8) & 0xFF] ^ t[5][(low >> 16) & 0xFF] ^ t[4][low >> 24]
                ^ t[3][high & 0xFF] ^ t[2][(high >> 8) & 0xFF] ^ t[1][(high >> 16) & 0xFF] ^ t[0][high >> 24];
            bytes = bytes[8..];
        }

        foreach (var b in bytes) crc = t[0][(crc ^ b) & 0xFF] ^ (crc >> 8);
        return ~crc;
    }

    private static uint[][] MakeTables()
    {
        const uint reflectedPolynomial = 0xEDB88320;
        var tables = new uint[8][];
        tables[0] = new uint[256];
        for (uint i = 0; i < 256; i++)
        {
            var c = i;
            for (var bit = 0; bit < 8; bit++) c = (c & 1) != 0 ? reflectedPolynomial ^ (c >> 1) : c >> 1;
            tables[0][i] = c;
        }

        for (var k = 1; k < 8; k++)
        {
            tables[k] = new uint[256];
            for (var i = 0; i < 256; i++) tables[k][i] = tables[0][tables[k - 1][i] & 0xFF] ^ (tables[k - 1][i] >> 8);
        }

        return tables;
    }
}
