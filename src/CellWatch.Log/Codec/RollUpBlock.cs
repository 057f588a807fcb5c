using CellWatch.Core.History;
using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Codec;

/// <summary>
/// Writes and reads a roll-up as one block. Layout, all numbers varints unless said:
/// <code>
/// 'C' 'W' 'R' version      4 bytes; version 1
/// layout, seconds          revision of the layout, length of a bucket
/// buckets, series          counts; series are the channels, then all cells, then all temperatures
/// resolution               runs: count of series, steps per unit (8 bytes)
/// columns                  a block of ColumnEncoder: bucket numbers; snapshots; one number a series: fraction bits f of its means;
///                          each series' count of good values; then for each series, over the buckets in which it has any,
///                          its mean in 2^-f steps; then each series' least; then each series' greatest
/// CRC-32                   4 bytes over all before
/// </code>
/// Means are rounded to a step of the instrument where the values scatter over eight or more, else to half of one; on coarser levels finer.
/// </summary>
internal sealed class RollUpBlock
{
    private readonly ByteWriter _writer = new();
    private readonly ColumnEncoder _encoder = new();
    private readonly ColumnDecoder _decoder = new();
    private readonly ColumnSet _columns = new();

    /// <summary>The first bytes of every block; the fourth is the version of the format.</summary>
    public static ReadOnlySpan<byte> Magic => "CWR\u0001"u8;

    /// <summary>Packs a roll-up.</summary>
    /// <returns>The block; valid until the next call.</returns>
    public ReadOnlySpan<byte> Encode(RollUp rollUp)
    {
        var (buckets, series) = (rollUp.Buckets.Count, rollUp.Cells.Length);
        _writer.Clear();
        _writer.Bytes(Magic);
        _writer.Varint((ulong)rollUp.Layout);
        _writer.Varint((ulong)rollUp.Seconds);
        _writer.Varint((ulong)buckets);
        _writer.Varint((ulong)series);
        for (var s = 0; s < series;)
        {
            var run = 1;
            while (s + run < series && rollUp.StepsPerUnit[s + run].Equals(rollUp.StepsPerUnit[s])) run++;
            _writer.Varint((ulong)run);
            _writer.Double(rollUp.StepsPerUnit[s]);
            s += run;
        }

        _columns.Clear();
        _columns.Reserve((2 * buckets) + series + (4 * series * buckets));
        rollUp.Buckets.CopyTo(_columns.Add(buckets));
        var snapshots = _columns.Add(buckets);
        for (var b = 0; b < buckets; b++) snapshots[b] = rollUp.Snapshots[b];
        var grids = new Grid[series];
        for (var s = 0; s < series; s++) grids[s] = Grid.Of(rollUp.Cells[s], rollUp.Seconds);
        var fractionColumn = _columns.Add(series);
        for (var s = 0; s < series; s++) fractionColumn[s] = grids[s].FractionBits;
        for (var s = 0; s < series; s++)
        {
            var good = _columns.Add(buckets);
            for (var b = 0; b < buckets; b++) good[b] = rollUp.Cells[s][b].Good;
        }

        // Columns of one kind stand together, so that runs of constant ones shrink to a few bytes.
        for (var s = 0; s < series; s++) AddColumn(rollUp.Cells[s], c => Mean(c, grids[s]));
        for (var s = 0; s < series; s++) AddColumn(rollUp.Cells[s], c => c.Min);
        for (var s = 0; s < series; s++) AddColumn(rollUp.Cells[s], c => c.Max);
        _encoder.Encode(_columns, _writer);
        _writer.UInt32(Crc32.Of(_writer.Written));
        return _writer.Written;
    }

    /// <summary>The layout a block is of, before it is checked; -1 where it does not read.</summary>
    public static int LayoutOf(ReadOnlySpan<byte> block) => block.Length < 12 ? -1 : new ByteReader(block[4..]).Count(int.MaxValue);

    /// <summary>Verifies length, first bytes, version and checksum; gives the content without the checksum.</summary>
    public static ReadOnlySpan<byte> Checked(ReadOnlySpan<byte> block)
    {
        if (block.Length < 12 || !block[..3].SequenceEqual(Magic[..3])) throw new DamagedBlockException("it does not begin as a roll-up");
        var content = block[..^4];
        if (Crc32.Of(content) != System.Buffers.Binary.BinaryPrimitives.ReadUInt32LittleEndian(block[^4..])) throw new DamagedBlockException("its checksum is wrong");
        if (block[3] != Magic[3]) throw new DamagedBlockException($"it is of format {block[3]}; this program knows format {Magic[3]}");
        return content;
    }

    /// <summary>Unpacks chosen series of a block.</summary>
    /// <param name="block">The block.</param>
    /// <param name="wanted">Series wanted, by number; null for all.</param>
    /// <param name="kindsOf">Kinds of the channels of a layout by its revision; needed only to add to what comes out.</param>
    /// <exception cref="DamagedBlockException">It is damaged.</exception>
    public RollUp Decode(ReadOnlySpan<byte> block, int[]? wanted, Func<int, ChannelKind[]?> kindsOf)
    {
        var content = Checked(block);
        var reader = new ByteReader(content);
        reader.Bytes(4);
        var (layout, seconds) = (reader.Count(int.MaxValue), reader.Count(1 << 20));
        var (buckets, series) = (reader.Count(1 << 20), reader.Count(1 << 20));
        var kinds = kindsOf(layout) ?? throw new DamagedBlockException("its layout is not in the file");
        if (kinds.Length + RollUp.PackSeries != series) throw new DamagedBlockException("it has another number of series than its layout");
        var steps = new double[series];
        for (var s = 0; s < series;)
        {
            var run = reader.Count(series - s);
            if (run == 0) throw new DamagedBlockException("a run of no series");
            steps.AsSpan(s, run).Fill(reader.Double());
            s += run;
        }

        _decoder.Open(content[reader.Position..], 3 + (4 * series));
        var rollUp = new RollUp(layout, seconds, kinds, steps.AsSpan(0, kinds.Length));
        var numbers = new long[Math.Max(buckets, series)];
        _decoder.Read(0, numbers.AsSpan(0, buckets));
        rollUp.Begin(numbers.AsSpan(0, buckets));
        _decoder.Read(1, numbers.AsSpan(0, buckets));
        for (var b = 0; b < buckets; b++) rollUp.Snapshots[b] = (int)numbers[b];
        var fractions = new long[series];
        _decoder.Read(2, fractions);
        foreach (var s in wanted ?? Enumerable.Range(0, series))
            if (s >= 0) ReadSeries(s, series, (int)fractions[s], rollUp.Series(s), numbers);
        return rollUp;
    }

    private void ReadSeries(int s, int series, int fraction, Span<RollUp.Cell> cells, long[] numbers)
    {
        _decoder.Read(3 + s, numbers.AsSpan(0, cells.Length));
        var present = 0;
        for (var b = 0; b < cells.Length; b++)
        {
            cells[b].Good = (int)numbers[b];
            if (cells[b].Good > 0) present++;
        }

        var values = numbers.AsSpan(0, present);
        _decoder.Read(3 + series + s, values);
        var i = 0;
        foreach (ref var cell in cells)
        {
            if (cell.Good == 0) continue;
            cell.Sum = values[i++] * cell.Good / (double)(1 << fraction);
        }

        _decoder.Read(3 + (2 * series) + s, values);
        i = 0;
        foreach (ref var cell in cells)
            if (cell.Good > 0) cell.Min = values[i++];
        _decoder.Read(3 + (3 * series) + s, values);
        i = 0;
        foreach (ref var cell in cells)
            if (cell.Good > 0) cell.Max = values[i++];
    }

    private void AddColumn(List<RollUp.Cell> cells, Func<RollUp.Cell, long> value)
    {
        var column = _columns.Add(Present(cells));
        var i = 0;
        foreach (ref readonly var c in System.Runtime.InteropServices.CollectionsMarshal.AsSpan(cells))
            if (c.Good > 0) column[i++] = value(c);
    }

    private static int Present(List<RollUp.Cell> cells)
    {
        var present = 0;
        foreach (ref readonly var c in System.Runtime.InteropServices.CollectionsMarshal.AsSpan(cells))
            if (c.Good > 0) present++;
        return present;
    }

    private static long Mean(RollUp.Cell cell, Grid grid) => grid.Steps > 1
        ? (long)Math.Round(cell.Sum / cell.Good / grid.Steps) * grid.Steps
        : (long)Math.Round(cell.Sum * (1 << grid.FractionBits) / cell.Good);

    /// <summary>What means are rounded to: so many steps, or a step's part; a grid coarser than a step shows as the common factor of the column.</summary>
    private readonly record struct Grid(int FractionBits, long Steps)
    {
        /// <summary>
        /// A step of the instrument where the values spread over eight of them or more, else half of one: less than a mean of ten errs by itself. The mean of a
        /// longer bucket knows itself better by about two bits for six times the values, four for sixty times.
        /// </summary>
        public static Grid Of(List<RollUp.Cell> cells, int seconds)
        {
            double spread = 0;
            var count = 0;
            foreach (var c in cells)
            {
                if (c.Good == 0) continue;
                spread += c.Max - c.Min;
                count++;
            }

            var longer = seconds switch { <= 10 => 0, <= 60 => 2, _ => 4 };
            if (count == 0 || spread == 0) return new Grid(longer, 1);
            var step = InstrumentStep(cells);
            var size = (spread >= 8.0 * step * count ? step : step / 2.0) / (1 << longer);
            return size >= 1 ? new Grid(0, (long)size) : new Grid((int)Math.Ceiling(-Math.Log2(size)), 1);
        }

        /// <summary>The largest number of steps that divides every difference: 10 where a 1 mV instrument is kept in 0.1 mV.</summary>
        private static long InstrumentStep(List<RollUp.Cell> cells)
        {
            long step = 0;
            long? first = null;
            foreach (var c in cells)
            {
                if (c.Good == 0) continue;
                first ??= c.Min;
                step = Divisor(Divisor(step, c.Min - first.Value), c.Max - first.Value);
                if (step == 1) return 1;
            }

            return Math.Max(1, step);
        }

        private static long Divisor(long a, long b)
        {
            b = Math.Abs(b);
            while (b != 0) (a, b) = (b, a % b);
            return a;
        }
    }
}
