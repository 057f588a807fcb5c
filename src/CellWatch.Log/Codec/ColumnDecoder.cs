namespace CellWatch.Log.Codec;

/// <summary>Reads a block that <see cref="ColumnEncoder"/> wrote; any column alone. Reused for many blocks.</summary>
internal sealed class ColumnDecoder
{
    private readonly List<SymbolTable> _tables = [];
    private Header[] _headers = [];
    private byte[] _block = [];
    private int _streamsAt;

    private struct Header
    {
        public byte Kind;
        public int Table;
        public long Factor;
        public long First;
        public int StreamStart;
        public int StreamLength;
    }

    /// <summary>Reads tables and headers. The bytes are copied, so the caller may reuse its buffer.</summary>
    /// <param name="block">The block and nothing after it.</param>
    /// <param name="columns">How many columns it holds.</param>
    /// <exception cref="DamagedBlockException">It does not hold together.</exception>
    public void Open(ReadOnlySpan<byte> block, int columns)
    {
        if (_block.Length < block.Length) _block = new byte[Math.Max(block.Length, 2 * _block.Length)];
        block.CopyTo(_block);
        var reader = new ByteReader(block);
        var tables = reader.Count(255);
        for (var t = 0; t < tables; t++)
        {
            if (_tables.Count == t) _tables.Add(new SymbolTable());
            _tables[t].ReadFrom(ref reader);
        }

        if (_headers.Length < columns) _headers = new Header[columns];
        var before = 0L;
        var streams = 0;
        for (var c = 0; c < columns;) c = ReadHeaders(ref reader, c, columns, tables, ref before, ref streams);
        _streamsAt = reader.Position;
        if (streams != reader.Left) throw new DamagedBlockException("the coded columns have another length than said");
    }

    /// <summary>Decodes one column.</summary>
    /// <param name="column">Which.</param>
    /// <param name="x">Receives the numbers; its length is the column's.</param>
    /// <exception cref="DamagedBlockException">The column has another length, or its stream does not end where it should.</exception>
    public void Read(int column, Span<long> x)
    {
        ref var h = ref _headers[column];
        if (x.IsEmpty != (h.Kind == ColumnEncoder.Empty)) throw new DamagedBlockException("a column has another length than expected");
        if (x.IsEmpty) return;
        if (h.Kind == ColumnEncoder.Constants)
        {
            x.Fill(h.First);
            return;
        }

        x[0] = 0;
        var coded = new RansDecoder(_block.AsSpan(_streamsAt + h.StreamStart, h.StreamLength));
        Predictor.Rebuild(h.Kind & 7, ref coded, _tables[h.Table].Slots, x);
        if (!coded.EndedWell) throw new DamagedBlockException("a coded column does not end where it should");
        var (first, factor) = (h.First, h.Factor);
        unchecked
        {
            foreach (ref var value in x) value = first + (value * factor);
        }
    }

    private int ReadHeaders(ref ByteReader reader, int c, int columns, int tables, ref long before, ref int streams)
    {
        var kind = reader.Byte();
        switch (kind)
        {
            case ColumnEncoder.Empty:
                _headers[c] = new Header { Kind = kind };
                return c + 1;
            case ColumnEncoder.Repeats:
            case ColumnEncoder.Constants:
                var n = reader.Count(columns - c);
                if (n == 0) throw new DamagedBlockException("a run of no columns");
                for (; n > 0; n--)
                {
                    if (kind == ColumnEncoder.Constants) before = unchecked(before + reader.Signed());
                    _headers[c++] = new Header { Kind = ColumnEncoder.Constants, First = before };
                }

                return c;
            default:
                if ((kind & 7) >= Predictor.Count) throw new DamagedBlockException($"no column is of kind {kind}");
                var h = new Header { Kind = kind, Table = kind >> 4, Factor = 1 };
                if (h.Table >= tables) throw new DamagedBlockException("a column asks for a table that is not there");
                if ((kind & ColumnEncoder.WithFactor) != 0) h.Factor = reader.Count(int.MaxValue);
                before = unchecked(before + reader.Signed());
                h.First = before;
                h.StreamStart = streams;
                h.StreamLength = reader.Count(reader.Left);
                streams += h.StreamLength;
                _headers[c] = h;
                return c + 1;
        }
    }
}
