using CellWatch.Core.Snapshots;
using CellWatch.Log.Codec;

namespace CellWatch.Log.Store;

/// <summary>Turns a chunk back into snapshots.</summary>
internal sealed class SnapshotReader
{
    private readonly ChunkDecoder _decoder = new();
    private double[] _values = [];
    private byte[] _status = [];

    /// <summary>Where the chunk read last belongs.</summary>
    public ChunkPlace Place => _decoder.Place;

    /// <summary>Decodes a block whole.</summary>
    /// <param name="block">The block.</param>
    /// <param name="layoutOf">Gives a layout by its revision.</param>
    /// <exception cref="DamagedBlockException">It is damaged, or of a layout that is not known.</exception>
    public Snapshot[] Read(ReadOnlySpan<byte> block, Func<int, KnownLayout?> layoutOf)
    {
        _decoder.Open(block);
        var layout = layoutOf(_decoder.Place.Layout) ?? throw new DamagedBlockException($"its layout {_decoder.Place.Layout} is not in the file");
        var (n, channels) = (_decoder.Snapshots, _decoder.Channels);
        if (layout.Map.Count != channels) throw new DamagedBlockException("it has another number of channels than its layout");
        if (_values.Length < n * channels)
        {
            _values = new double[n * channels];
            _status = new byte[n * channels];
        }

        for (var c = 0; c < channels; c++) _decoder.Read(c, _values.AsSpan(c * n, n), _status.AsSpan(c * n, n));
        var buffer = new SnapshotBuffer(layout.Map);
        var snapshots = new Snapshot[n];
        for (var s = 0; s < n; s++)
        {
            buffer.Begin(_decoder.Sequence[s], new SnapshotTime(_decoder.ElapsedUs[s], _decoder.WallUnixMs[s]));
            for (int c = 0, at = s; c < channels; c++, at += n)
            {
                var status = _status[at];
                buffer.Values[c] = _values[at];
                buffer.Qualities[c] = Status.QualityOf(status);
                buffer.Origins[c] = Status.OriginOf(status);
                buffer.Proven[c] = Status.IsProven(status);
                if (status >= Status.HasValue) buffer.AgesUs[c] = 0;
            }

            snapshots[s] = buffer.Freeze();
        }

        return snapshots;
    }
}
