using CellWatch.Log.Codec;

namespace CellWatch.Log.Maintenance;

/// <summary>Judging blocks without their tables.</summary>
internal static class Blocks
{
    /// <summary>Verifies first bytes, version and checksum of a block of either kind.</summary>
    /// <exception cref="DamagedBlockException">They do not fit.</exception>
    public static void Verify(ReadOnlySpan<byte> block)
    {
        if (block.Length >= 3 && block[..3].SequenceEqual(RollUpBlock.Magic[..3])) RollUpBlock.Checked(block);
        else ChunkDecoder.Checked(block);
    }

    /// <summary>Length of a roll-up block's buckets, s; 0 where it is none.</summary>
    public static int SecondsOf(ReadOnlySpan<byte> block)
    {
        try
        {
            if (block.Length < 12 || !block[..3].SequenceEqual(RollUpBlock.Magic[..3])) return 0;
            var reader = new ByteReader(block[4..]);
            reader.Count(int.MaxValue);
            return reader.Count(1 << 20);
        }
        catch (DamagedBlockException)
        {
            return 0;
        }
    }
}
