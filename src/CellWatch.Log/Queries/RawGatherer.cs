using CellWatch.Core.Snapshots;
using CellWatch.Log.Codec;
using CellWatch.Log.Store;

namespace CellWatch.Log.Queries;

/// <summary>Puts snapshots of full-rate blocks into the columns of a grid.</summary>
/// <param name="grid">Where they go.</param>
/// <param name="wanted">What is wanted of each layout.</param>
/// <param name="layoutOf">Gives a layout by its revision.</param>
/// <param name="tally">Counts what has answered.</param>
internal sealed class RawGatherer(ColumnGrid grid, Wanted wanted, Func<int, KnownLayout?> layoutOf, Tally tally)
{
    private readonly ChunkDecoder _decoder = new();
    private readonly double[] _values = new double[ChunkEncoder.MaxSnapshots];
    private readonly byte[] _status = new byte[ChunkEncoder.MaxSnapshots];
    private readonly int[] _columns = new int[ChunkEncoder.MaxSnapshots];
    private readonly long[] _steps = new long[ChunkEncoder.MaxSnapshots];
    private (int Revision, int[] Numbers) _channels = (-1, []);
    private long _usualPeriodUs = 1_000_000;

    /// <summary>Adds those snapshots of a block that nothing has answered yet.</summary>
    /// <exception cref="DamagedBlockException">The block is damaged; nothing of it was added.</exception>
    public void Add(ReadOnlySpan<byte> block, Uncovered uncovered)
    {
        _decoder.Open(block);
        if (_channels.Revision != _decoder.Place.Layout)
        {
            var layout = layoutOf(_decoder.Place.Layout) ?? throw new DamagedBlockException("its layout is not in the file");
            if (layout.Map.Count != _decoder.Channels) throw new DamagedBlockException("it has another number of channels than its layout");
            _channels = (layout.Revision, wanted.ChannelsOf(layout));
        }

        PlaceSnapshots(uncovered);
        for (var i = 0; i < _channels.Numbers.Length; i++)
            if (_channels.Numbers[i] >= 0) AddChannel(_channels.Numbers[i], grid[wanted.Merge ? 0 : i]);
    }

    private void PlaceSnapshots(Uncovered uncovered)
    {
        var elapsed = _decoder.ElapsedUs;
        // Two and a half periods without a snapshot are a gap.
        var lasts = (5 * Period(elapsed) / 2) + 1;
        for (var s = 0; s < elapsed.Length; s++)
        {
            var us = _decoder.Place.BaseUs + elapsed[s];
            // Counted whether asked for or not: a bucket at the edge of what was asked counts them too.
            tally.Add(us, 1);
            _columns[s] = uncovered.Contains(us) ? grid.Place(us, lasts, 1, _decoder.WallUnixMs[s]) : -1;
        }
    }

    private long Period(ReadOnlySpan<long> elapsed)
    {
        if (elapsed.Length < 2) return _usualPeriodUs;
        var n = elapsed.Length - 1;
        for (var i = 0; i < n; i++) _steps[i] = elapsed[i + 1] - elapsed[i];
        Array.Sort(_steps, 0, n);
        return _usualPeriodUs = Math.Max(1, _steps[n / 2]);
    }

    private void AddChannel(int channel, ColumnGrid.Series series)
    {
        var n = _decoder.Snapshots;
        _decoder.Read(channel, _values.AsSpan(0, n), _status.AsSpan(0, n));
        for (var s = 0; s < n; s++)
        {
            var column = _columns[s];
            if (column < 0) continue;
            if (Status.IsGood(_status[s])) series.Add(column, _values[s], _values[s], _values[s], 1);
            if (series.Raw is null || wanted.Merge) continue;
            series.Raw[column] = _values[s];
            series.Quality![column] = Status.QualityOf(_status[s]);
        }
    }
}
