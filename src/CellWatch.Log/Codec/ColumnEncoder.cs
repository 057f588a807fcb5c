using System.Numerics;

namespace CellWatch.Log.Codec;

/// <summary>
/// Writes a set of columns as one block. Each column stands for itself (any one can be decoded alone); columns of like scatter share a
/// token table. Layout, all numbers varints unless said:
/// <code>
/// tables   count, then each (see SymbolTable)
/// headers  one entry for a column or for a run of constant columns:
///            bits 0..2 predictor 0..6, bit 3 factor, bits 4..7 table:
///                    coded; [where bit 3 is set: the common factor of all steps,] first value (signed, minus the first value of
///                    the column before), stream length in bytes
///            07      count n, then n first values: n columns that each repeat one number
///            0F      count n: n more columns that repeat the number of the column before
///            17      a column of no numbers
/// streams  one after another
/// </code>
/// Lengths of the columns are not in it: who reads it knows them.
/// </summary>
internal sealed class ColumnEncoder
{
    public const byte WithFactor = 8;
    public const byte Constants = 0x07;
    public const byte Repeats = 0x0F;
    public const byte Empty = 0x17;

    private const int MaxTables = 12;
    private const int MaxScales = 130;

    private readonly RansEncoder _rans = new();
    private readonly SymbolTable[] _tables = [.. Enumerable.Range(0, MaxTables).Select(_ => new SymbolTable())];
    private readonly int[][] _counts = [.. Enumerable.Range(0, MaxScales).Select(_ => new int[Tokens.Count])];
    private readonly int[] _symbols = new int[MaxScales];
    private readonly int[] _tableOfScale = new int[MaxScales];
    private readonly ByteWriter _streams = new();
    private Plan[] _plans = [];
    private long[] _reduced = [];
    private ulong[] _residuals = [];
    private ulong[] _best = [];
    private ulong[] _kept = [];

    private struct Plan
    {
        public bool Coded;
        public int Predictor;
        public int Scale;
        public long Factor;
        public int Start;
        public int Length;
    }

    /// <summary>Appends the block to the writer.</summary>
    public void Encode(ColumnSet columns, ByteWriter writer)
    {
        PlanAll(columns);
        var tables = AssignTables();
        writer.Varint((ulong)tables);
        for (var t = 0; t < tables; t++) _tables[t].WriteTo(writer);

        _streams.Clear();
        var before = 0L;
        for (var c = 0; c < columns.Count; c++)
        {
            var x = columns[c];
            ref var plan = ref _plans[c];
            if (x.IsEmpty)
            {
                writer.Byte(Empty);
            }
            else if (plan.Coded)
            {
                var table = _tableOfScale[plan.Scale];
                var stream = Code(_kept.AsSpan(plan.Start, plan.Length), _tables[table]);
                writer.Byte((byte)(plan.Predictor | (plan.Factor > 1 ? WithFactor : 0) | (table << 4)));
                if (plan.Factor > 1) writer.Varint((ulong)plan.Factor);
                writer.Signed(unchecked(x[0] - before));
                writer.Varint((ulong)stream.Length);
                _streams.Bytes(stream);
                before = x[0];
            }
            else
            {
                c = WriteConstants(columns, c, ref before, writer);
            }
        }

        writer.Bytes(_streams.Written);
    }

    /// <summary>Writes the constant columns that begin at <paramref name="c"/>; returns the last one written.</summary>
    private int WriteConstants(ColumnSet columns, int c, ref long before, ByteWriter writer)
    {
        bool IsConstant(int column) => column < columns.Count && !columns[column].IsEmpty && !_plans[column].Coded;
        int RepeatsFrom(int column, long value)
        {
            var n = 0;
            while (IsConstant(column + n) && columns[column + n][0] == value) n++;
            return n;
        }

        var repeats = RepeatsFrom(c, before);
        if (repeats > 0)
        {
            writer.Byte(Repeats);
            writer.Varint((ulong)repeats);
            return c + repeats - 1;
        }

        // A run of constants goes on until three equal ones in a row make a run of repeats cheaper.
        var count = 1;
        while (IsConstant(c + count) && RepeatsFrom(c + count, columns[c + count - 1][0]) < 3) count++;
        writer.Byte(Constants);
        writer.Varint((ulong)count);
        for (var i = 0; i < count; i++)
        {
            writer.Signed(unchecked(columns[c + i][0] - before));
            before = columns[c + i][0];
        }

        return c + count - 1;
    }

    private ReadOnlySpan<byte> Code(ReadOnlySpan<ulong> residuals, SymbolTable table)
    {
        _rans.Begin(residuals.Length);
        var frequency = table.Frequency;
        var start = table.Start;
        for (var i = residuals.Length - 1; i >= 0; i--) _rans.Put(residuals[i], frequency, start);
        return _rans.Finish();
    }

    private void PlanAll(ColumnSet columns)
    {
        if (_plans.Length < columns.Count) _plans = new Plan[columns.Count];
        foreach (var counts in _counts) counts.AsSpan().Clear();
        _symbols.AsSpan().Clear();
        int used = 0, longest = 0, total = 0;
        for (var c = 0; c < columns.Count; c++)
        {
            var x = columns[c];
            _plans[c] = new Plan { Coded = x.Length >= 2 && x.IndexOfAnyExcept(x[0]) >= 0 };
            if (!_plans[c].Coded) continue;
            longest = Math.Max(longest, x.Length);
            total += x.Length - 1;
        }

        Reserve(longest, total);
        for (var c = 0; c < columns.Count; c++)
        {
            ref var plan = ref _plans[c];
            if (!plan.Coded) continue;
            var x = columns[c];
            plan.Start = used;
            plan.Length = x.Length - 1;
            plan.Factor = CommonFactor(x);
            var bits = ChoosePredictor(Reduce(x, plan.Factor), ref plan);
            // Half a bit apart is near enough to share a table.
            plan.Scale = (int)(2 * bits / plan.Length);
            _best.AsSpan(0, plan.Length).CopyTo(_kept.AsSpan(used));
            used += plan.Length;
            var counts = _counts[plan.Scale];
            foreach (var u in _kept.AsSpan(plan.Start, plan.Length)) counts[Tokens.Of(u)]++;
            _symbols[plan.Scale] += plan.Length;
        }
    }

    private void Reserve(int column, int total)
    {
        if (_reduced.Length < column)
        {
            _reduced = new long[column];
            _residuals = new ulong[column];
            _best = new ulong[column];
        }

        // Exactly as much as is needed: a pack's columns are as many and as long every time.
        if (_kept.Length < total) _kept = new ulong[total];
    }

    /// <summary>The largest number that divides every step of the column: 10 where a 1 mV instrument is kept in 0.1 mV.</summary>
    private static long CommonFactor(ReadOnlySpan<long> x)
    {
        ulong factor = 0;
        for (var i = 1; i < x.Length && factor != 1; i++)
        {
            var step = unchecked(x[i] - x[0]);
            var a = step < 0 ? unchecked((ulong)-step) : (ulong)step;
            while (a != 0) (factor, a) = (a, factor % a);
        }

        return factor is 0 or > int.MaxValue ? 1 : (long)factor;
    }

    private ReadOnlySpan<long> Reduce(ReadOnlySpan<long> x, long factor)
    {
        // Differences to the first value, so that the factor divides and the filter starts at zero.
        var r = _reduced.AsSpan(0, x.Length);
        if (factor == 1)
            for (var i = 0; i < r.Length; i++) r[i] = unchecked(x[i] - x[0]);
        else
            for (var i = 0; i < r.Length; i++) r[i] = unchecked(x[i] - x[0]) / factor;
        return r;
    }

    /// <summary>Leaves the differences of the best predictor in <c>_best</c>; returns their size in bits, roughly.</summary>
    private long ChoosePredictor(ReadOnlySpan<long> r, ref Plan plan)
    {
        var least = long.MaxValue;
        var count = r.IndexOfAnyExceptInRange(-Predictor.SmoothingLimit, Predictor.SmoothingLimit) < 0 ? Predictor.Count : Predictor.FirstTrend;
        for (var p = 0; p < count; p++)
        {
            var u = _residuals.AsSpan(0, plan.Length);
            Predictor.Residuals(p, r, u);
            long bits = 0;
            foreach (var v in u) bits += 64 - BitOperations.LeadingZeroCount(v);
            if (bits >= least) continue;
            least = bits;
            plan.Predictor = p;
            (_best, _residuals) = (_residuals, _best);
        }

        return least;
    }

    /// <summary>Gives every scale that occurs a table; the rarest scales join their neighbour until there are few enough.</summary>
    private int AssignTables()
    {
        const int worthATable = 1200; // numbers; below that a table of its own costs more than it saves (chosen by trial)
        for (var s = 0; s < MaxScales; s++) _tableOfScale[s] = s;
        while (true)
        {
            int rarest = -1, tables = 0;
            for (var s = 0; s < MaxScales; s++)
            {
                if (_symbols[s] == 0) continue;
                tables++;
                if (rarest < 0 || _symbols[s] < _symbols[rarest]) rarest = s;
            }

            if (tables <= 1 || (_symbols[rarest] >= worthATable && tables <= MaxTables)) return Build();
            Join(rarest, Neighbour(rarest));
        }
    }

    private int Neighbour(int scale)
    {
        for (var d = 1; ; d++)
        {
            if (scale + d < MaxScales && _symbols[scale + d] != 0) return scale + d;
            if (scale - d >= 0 && _symbols[scale - d] != 0) return scale - d;
        }
    }

    private void Join(int from, int into)
    {
        for (var t = 0; t < Tokens.Count; t++) _counts[into][t] += _counts[from][t];
        _symbols[into] += _symbols[from];
        _symbols[from] = 0;
        for (var s = 0; s < MaxScales; s++)
            if (_tableOfScale[s] == from) _tableOfScale[s] = into;
    }

    private int Build()
    {
        var tables = 0;
        Span<int> number = stackalloc int[MaxScales];
        for (var s = 0; s < MaxScales; s++)
        {
            if (_symbols[s] == 0) continue;
            _tables[tables].SetFromCounts(_counts[s]);
            number[s] = tables++;
        }

        for (var s = 0; s < MaxScales; s++) _tableOfScale[s] = number[_tableOfScale[s]];
        return tables;
    }
}
