using CellWatch.Core.History;
using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Codec;

/// <summary>Where a stretch of snapshots belongs.</summary>
/// <param name="Layout">Revision of the layout whose channels they hold.</param>
/// <param name="Session">Number of the program's run.</param>
/// <param name="BaseUs">Added to elapsed time it gives log time, µs.</param>
internal readonly record struct ChunkPlace(int Layout, int Session, long BaseUs);

/// <summary>
/// Packs up to 600 snapshots of one layout and one session into one block. Layout, all numbers varints unless said:
/// <code>
/// 'C' 'W' 'L' version      4 bytes; version 1
/// layout, session          revision of the layout, number of the program's run
/// base                     signed, µs: log time = base + elapsed time
/// snapshots, channels      counts
/// resolution               runs: count of channels, steps per unit (8 bytes); until all channels are named
/// status                   groups: count of channels that share it, count of runs, runs (status byte, snapshots); until all channels are named
/// inexact                  count, then channel numbers as differences: channels whose values are not all whole steps
/// columns                  a block of ColumnEncoder: sequence; elapsed µs; wall ms minus elapsed ms; each channel's steps;
///                          each inexact channel's distances. A channel's columns hold only snapshots in which it has a value.
/// CRC-32                   4 bytes over all before
/// </code>
/// </summary>
internal sealed class ChunkEncoder
{
    /// <summary>Most snapshots in one chunk.</summary>
    public const int MaxSnapshots = 600;

    /// <summary>The first bytes of every chunk; the fourth is the version of the format.</summary>
    public static ReadOnlySpan<byte> Magic => "CWL\u0001"u8;

    /// <summary>Channels taken at a time: their columns of ten minutes stay below the size at which the heap treats an array as large.</summary>
    private const int Together = 16;

    private readonly ByteWriter _writer = new();
    private readonly ColumnEncoder _encoder = new();
    private readonly ColumnSet _columns = new();
    private readonly List<long[]> _distances = [];
    private readonly List<int> _inexact = [];
    private double[] _values = [];
    private byte[] _status = [];
    private long[] _distance = [];

    /// <summary>Packs snapshots.</summary>
    /// <param name="snapshots">1 to 600 of them, of one layout, in order.</param>
    /// <param name="place">Where they belong.</param>
    /// <param name="stepsPerUnit">Resolution of each channel.</param>
    /// <returns>The block; valid until the next call.</returns>
    public ReadOnlySpan<byte> Encode(IReadOnlyList<Snapshot> snapshots, ChunkPlace place, ReadOnlySpan<double> stepsPerUnit)
    {
        var (n, channels) = (snapshots.Count, stepsPerUnit.Length);
        ArgumentOutOfRangeException.ThrowIfLessThan(n, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(n, MaxSnapshots);
        CollectStatus(snapshots, channels);

        _writer.Clear();
        _writer.Bytes(Magic);
        _writer.Varint((ulong)place.Layout);
        _writer.Varint((ulong)place.Session);
        _writer.Signed(place.BaseUs);
        _writer.Varint((ulong)n);
        _writer.Varint((ulong)channels);
        WriteResolutions(stepsPerUnit);
        WriteStatus(n, channels);

        _columns.Clear();
        _columns.Reserve(n * (3 + channels));
        AddClocks(snapshots);
        _inexact.Clear();
        for (var c = 0; c < channels; c += Together)
        {
            var count = Math.Min(Together, channels - c);
            Transpose(snapshots, c, count);
            for (var i = 0; i < count; i++) AddChannel(c + i, _values.AsSpan(i * n, n), stepsPerUnit[c + i]);
        }

        WriteInexact();
        _encoder.Encode(_columns, _writer);
        _writer.UInt32(Crc32.Of(_writer.Written));
        return _writer.Written;
    }

    /// <summary>Turns some channels of all rows into columns: few at a time, so that ten minutes of a whole pack are never held twice.</summary>
    private void Transpose(IReadOnlyList<Snapshot> snapshots, int firstChannel, int count)
    {
        var n = snapshots.Count;
        if (_values.Length < n * Together) _values = new double[n * Together];
        for (var s = 0; s < n; s++)
        {
            var values = snapshots[s].RawValues.Slice(firstChannel, count);
            for (int i = 0, at = s; i < count; i++, at += n) _values[at] = values[i];
        }
    }

    /// <summary>What each channel was worth in each row, as columns; eight rows at a time so that both sides stay in the cache.</summary>
    private void CollectStatus(IReadOnlyList<Snapshot> snapshots, int channels)
    {
        var n = snapshots.Count;
        if (_status.Length < n * channels) _status = new byte[n * channels];
        for (var first = 0; first < n; first += 8)
        {
            var last = Math.Min(n, first + 8);
            for (var s = first; s < last; s++)
            {
                var snapshot = snapshots[s];
                var values = snapshot.RawValues;
                var quality = snapshot.Quality;
                var origin = snapshot.Origin;
                var proven = snapshot.Proven;
                if (values.Length != channels) throw new ArgumentException("Snapshots of one chunk must be of one layout.", nameof(snapshots));
                var at = s;
                for (var c = 0; c < channels; c++, at += n)
                    _status[at] = Status.Of(quality[c], origin[c], proven[c], !double.IsNaN(values[c]));
            }
        }
    }

    private void WriteResolutions(ReadOnlySpan<double> stepsPerUnit)
    {
        for (var c = 0; c < stepsPerUnit.Length;)
        {
            var run = 1;
            while (c + run < stepsPerUnit.Length && stepsPerUnit[c + run].Equals(stepsPerUnit[c])) run++;
            _writer.Varint((ulong)run);
            _writer.Double(stepsPerUnit[c]);
            c += run;
        }
    }

    private void WriteStatus(int n, int channels)
    {
        for (var c = 0; c < channels;)
        {
            var status = _status.AsSpan(c * n, n);
            var same = 1;
            while (c + same < channels && _status.AsSpan((c + same) * n, n).SequenceEqual(status)) same++;
            _writer.Varint((ulong)same);
            c += same;

            var runs = 1;
            for (var s = 1; s < n; s++)
                if (status[s] != status[s - 1]) runs++;
            _writer.Varint((ulong)runs);
            for (var s = 0; s < n;)
            {
                var run = status[s..].IndexOfAnyExcept(status[s]);
                if (run < 0) run = n - s;
                _writer.Byte(status[s]);
                _writer.Varint((ulong)run);
                s += run;
            }
        }
    }

    private void AddClocks(IReadOnlyList<Snapshot> snapshots)
    {
        var n = snapshots.Count;
        var sequence = _columns.Add(n);
        for (var s = 0; s < n; s++) sequence[s] = snapshots[s].Sequence;
        var elapsed = _columns.Add(n);
        for (var s = 0; s < n; s++) elapsed[s] = snapshots[s].Time.ElapsedUs;
        var wall = _columns.Add(n);
        for (var s = 0; s < n; s++) wall[s] = unchecked(snapshots[s].Time.WallUnixMs - (snapshots[s].Time.ElapsedUs / 1000));
    }

    private void AddChannel(int channel, ReadOnlySpan<double> values, double stepsPerUnit)
    {
        var n = values.Length;
        var status = _status.AsSpan(channel * n, n);
        var present = n;
        foreach (var b in status)
            if (b < Status.HasValue) present--;

        var steps = _columns.Add(present);
        if (_distance.Length < n) _distance = new long[n];
        var distance = _distance.AsSpan(0, present);
        long any = 0;
        var i = 0;
        for (var s = 0; s < n; s++)
        {
            if (status[s] < Status.HasValue) continue;
            steps[i] = FixedPoint.Steps(values[s], stepsPerUnit, out distance[i]);
            any |= distance[i++];
        }

        if (any == 0) return;
        _inexact.Add(channel);
        if (_distances.Count < _inexact.Count) _distances.Add(new long[MaxSnapshots]);
        distance.CopyTo(_distances[_inexact.Count - 1]);
    }

    private void WriteInexact()
    {
        _writer.Varint((ulong)_inexact.Count);
        var before = 0;
        var numbers = 0;
        foreach (var channel in _inexact) numbers += _columns[3 + channel].Length;
        _columns.Reserve(numbers);
        for (var i = 0; i < _inexact.Count; i++)
        {
            _writer.Varint((ulong)(_inexact[i] - before));
            before = _inexact[i];
            var length = _columns[3 + before].Length;
            var column = _columns.Add(length);
            _distances[i].AsSpan(0, length).CopyTo(column);
        }
    }
}
