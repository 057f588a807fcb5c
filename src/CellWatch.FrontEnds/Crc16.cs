namespace CellWatch.FrontEnds;

/// <summary>
/// CRC-16/IBM-3740 (also "CCITT-FALSE"): polynomial 1021, start FFFF, not reflected, no final exclusive-or; "123456789" gives 29B1
/// (catalogue value; checked with crccheck 1.0 and crcmod 1.7). Guards a text sentence.
/// </summary>
public static class Crc16
{
    private static readonly ushort[] Table = BuildTable();

    /// <summary>The checksum of some bytes.</summary>
    public static ushort Of(ReadOnlySpan<byte> bytes)
    {
        ushort crc = 0xFFFF;
        foreach (var value in bytes) crc = (ushort)(crc << 8 ^ Table[crc >> 8 ^ value]);
        return crc;
    }

    private static ushort[] BuildTable()
    {
        var table = new ushort[256];
        for (var i = 0; i < 256; i++)
        {
            var crc = i << 8;
            for (var bit = 0; bit < 8; bit++) crc = (crc & 0x8000) != 0 ? crc << 1 ^ 0x1021 : crc << 1;
            table[i] = (ushort)crc;
        }

        return table;
    }
}
