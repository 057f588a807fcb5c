using System.Runtime.InteropServices;
using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Codec;

/// <summary>
/// Least, greatest, sum and count of the good values of every channel in every bucket of time, while they are being gathered. After the
/// channels come two series of the whole pack: all cells together, all temperatures together. Sums and extremes are in steps.
/// </summary>
internal sealed class RollUp
{
    /// <summary>Series after the channels.</summary>
    public const int PackSeries = 2;

    private readonly Dictionary<long, int> _index = [];

    /// <param name="layout">Revision of the layout.</param>
    /// <param name="seconds">Length of a bucket.</param>
    /// <param name="kinds">Kind of each channel.</param>
    /// <param name="stepsPerUnit">Resolution of each channel.</param>
    public RollUp(int layout, int seconds, ReadOnlySpan<ChannelKind> kinds, ReadOnlySpan<double> stepsPerUnit)
    {
        (Layout, Seconds) = (layout, seconds);
        StepsPerUnit = new double[kinds.Length + PackSeries];
        PackSeriesOf = new int[kinds.Length];
        for (var c = 0; c < kinds.Length; c++)
        {
            StepsPerUnit[c] = stepsPerUnit[c];
            PackSeriesOf[c] = kinds[c] switch { ChannelKind.CellVoltage => kinds.Length, ChannelKind.Temperature => kinds.Length + 1, _ => -1 };
            // The pack's series takes the finest steps of its channels.
            if (PackSeriesOf[c] is >= 0 and var pack) StepsPerUnit[pack] = Math.Max(StepsPerUnit[pack], stepsPerUnit[c]);
        }

        for (var s = kinds.Length; s < StepsPerUnit.Length; s++)
            if (StepsPerUnit[s] == 0) StepsPerUnit[s] = 1;
        Cells = [.. Enumerable.Range(0, StepsPerUnit.Length).Select(_ => new List<Cell>())];
    }

    /// <summary>One series in one bucket.</summary>
    internal struct Cell
    {
        public int Good;
        public long Min;
        public long Max;
        public double Sum;

        public void Add(long min, long max, double sum, int good)
        {
            if (good == 0) return;
            (Min, Max) = Good == 0 ? (min, max) : (Math.Min(Min, min), Math.Max(Max, max));
            Sum += sum;
            Good += good;
        }
    }

    public int Layout { get; }

    public int Seconds { get; }

    public double[] StepsPerUnit { get; }

    /// <summary>The pack series a channel belongs to; -1 where to none.</summary>
    public int[] PackSeriesOf { get; }

    /// <summary>Bucket numbers: log time divided by the length of a bucket.</summary>
    public List<long> Buckets { get; } = [];

    /// <summary>Snapshots in each bucket.</summary>
    public List<int> Snapshots { get; } = [];

    /// <summary>By series, then by bucket.</summary>
    public List<Cell>[] Cells { get; }

    /// <summary>Begins with buckets that are known; the series are made by <see cref="Series"/>, those that are wanted.</summary>
    public void Begin(ReadOnlySpan<long> buckets)
    {
        foreach (var bucket in buckets) Buckets.Add(bucket);
        CollectionsMarshal.SetCount(Snapshots, buckets.Length);
    }

    /// <summary>A series to be filled, one cell a bucket.</summary>
    public Span<Cell> Series(int series)
    {
        CollectionsMarshal.SetCount(Cells[series], Buckets.Count);
        return CollectionsMarshal.AsSpan(Cells[series]);
    }

    /// <summary>The index of a bucket, made where it is new.</summary>
    public int IndexOf(long bucket)
    {
        if (_index.TryGetValue(bucket, out var i)) return i;
        _index[bucket] = i = Buckets.Count;
        Buckets.Add(bucket);
        Snapshots.Add(0);
        foreach (var cells in Cells) cells.Add(default);
        return i;
    }

    /// <summary>Adds all snapshots of a chunk.</summary>
    public void Add(ChunkDecoder chunk)
    {
        var n = chunk.Snapshots;
        Span<int> bucketOf = stackalloc int[n];
        var elapsed = chunk.ElapsedUs;
        for (var s = 0; s < n; s++)
        {
            bucketOf[s] = IndexOf(BucketAt(chunk.Place.BaseUs + elapsed[s], Seconds));
            Snapshots[bucketOf[s]]++;
        }

        var values = new double[n];
        var status = new byte[n];
        for (var c = 0; c < chunk.Channels; c++)
        {
            if (chunk.IsExact(c)) AddSteps(chunk, c, status, bucketOf);
            else AddValues(chunk, c, values, status, bucketOf);
            AddToPack(c, bucketOf);
        }
    }

    /// <summary>Adds a finer roll-up of the same layout.</summary>
    public void Add(RollUp finer)
    {
        for (var b = 0; b < finer.Buckets.Count; b++)
        {
            var i = IndexOf(Math.DivRem(finer.Buckets[b] * finer.Seconds, Seconds) is var (q, r) && r < 0 ? q - 1 : q);
            Snapshots[i] += finer.Snapshots[b];
            for (var s = 0; s < Cells.Length; s++)
            {
                var f = finer.Cells[s][b];
                CollectionsMarshal.AsSpan(Cells[s])[i].Add(f.Min, f.Max, f.Sum, f.Good);
            }
        }
    }

    /// <summary>The bucket an instant lies in.</summary>
    public static long BucketAt(long us, int seconds)
    {
        var (q, r) = Math.DivRem(us, seconds * 1_000_000L);
        return r < 0 ? q - 1 : q;
    }

    private void AddSteps(ChunkDecoder chunk, int channel, Span<byte> status, ReadOnlySpan<int> bucketOf)
    {
        chunk.ReadStatus(channel, status);
        chunk.ReadSteps(channel, out var steps);
        var cells = CollectionsMarshal.AsSpan(Cells[channel]);
        var i = 0;
        for (var s = 0; s < status.Length; s++)
        {
            if (status[s] < Status.HasValue) continue;
            var v = steps[i++];
            if (Status.IsGood(status[s])) cells[bucketOf[s]].Add(v, v, v, 1);
        }
    }

    private void AddValues(ChunkDecoder chunk, int channel, Span<double> values, Span<byte> status, ReadOnlySpan<int> bucketOf)
    {
        chunk.Read(channel, values, status);
        var cells = CollectionsMarshal.AsSpan(Cells[channel]);
        for (var s = 0; s < status.Length; s++)
        {
            if (!Status.IsGood(status[s])) continue;
            var scaled = values[s] * chunk.StepsPerUnit(channel);
            // What does not fit in steps (infinite, absurd) is in the full-rate record only.
            if (!(Math.Abs(scaled) < 1L << 46)) continue;
            var v = (long)Math.Round(scaled);
            cells[bucketOf[s]].Add(v, v, scaled, 1);
        }
    }

    private void AddToPack(int channel, ReadOnlySpan<int> bucketOf)
    {
        if (PackSeriesOf[channel] is not (>= 0 and var pack)) return;
        var scale = StepsPerUnit[pack] / StepsPerUnit[channel];
        var from = CollectionsMarshal.AsSpan(Cells[channel]);
        var into = CollectionsMarshal.AsSpan(Cells[pack]);
        var before = -1;
        foreach (var b in bucketOf)
        {
            if (b == before) continue;
            before = b;
            ref readonly var cell = ref from[b];
            if (scale == 1) into[b].Add(cell.Min, cell.Max, cell.Sum, cell.Good);
            else into[b].Add((long)Math.Round(cell.Min * scale), (long)Math.Round(cell.Max * scale), cell.Sum * scale, cell.Good);
        }
    }
}
