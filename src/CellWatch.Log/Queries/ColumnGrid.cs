using CellWatch.Core.History;
using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Queries;

/// <summary>
/// The columns an answer is gathered in. With a width, column k of a stretch holds all log time whose quotient by the width is k more
/// than the stretch's first; without, each snapshot is a column of its own.
/// </summary>
internal sealed class ColumnGrid
{
    private readonly List<LogRange> _stretches;
    private readonly List<int> _firstColumn = [];
    private readonly long _widthUs;
    private readonly List<long> _fromUs = [];
    private readonly List<long> _toUs = [];
    private readonly List<long> _wallMs = [];
    private readonly List<int> _snapshots = [];
    private readonly Series[] _series;

    /// <param name="stretches">Log time asked for.</param>
    /// <param name="widthUs">Width of a column, µs; 0 for one snapshot a column.</param>
    /// <param name="series">How many series are gathered.</param>
    public ColumnGrid(List<LogRange> stretches, long widthUs, int series)
    {
        _stretches = stretches;
        _widthUs = widthUs;
        _series = new Series[series];
        var columns = 0;
        if (widthUs > 0)
        {
            foreach (var stretch in stretches)
            {
                _firstColumn.Add(columns);
                columns += (int)(Key(stretch.ToUs - 1) - Key(stretch.FromUs)) + 1;
            }
        }

        for (var i = 0; i < columns; i++) AddColumn();
        for (var s = 0; s < series; s++) _series[s] = new Series(columns, widthUs == 0);
    }

    /// <summary>Whether each snapshot is a column.</summary>
    public bool IsSingle => _widthUs == 0;

    /// <summary>One quantity over the columns.</summary>
    internal sealed class Series(int columns, bool single)
    {
        public List<double> Min { get; } = Filled(columns, double.NaN);

        public List<double> Max { get; } = Filled(columns, double.NaN);

        public List<double> Sum { get; } = Filled(columns, 0.0);

        public List<int> Good { get; } = Filled(columns, 0);

        public List<Quality>? Quality { get; } = single ? [] : null;

        public List<double>? Raw { get; } = single ? [] : null;

        public void AddColumn()
        {
            Min.Add(double.NaN);
            Max.Add(double.NaN);
            Sum.Add(0);
            Good.Add(0);
            Quality?.Add(Core.Snapshots.Quality.Missing);
            Raw?.Add(double.NaN);
        }

        /// <summary>Adds good values.</summary>
        public void Add(int column, double min, double max, double sum, int good)
        {
            // Compared this way round, NaN gives way to the first value.
            if (!(min >= Min[column])) Min[column] = min;
            if (!(max <= Max[column])) Max[column] = max;
            Sum[column] += sum;
            Good[column] += good;
        }

        private static List<T> Filled<T>(int count, T value)
        {
            var list = new List<T>(count);
            for (var i = 0; i < count; i++) list.Add(value);
            return list;
        }
    }

    /// <summary>A series.</summary>
    public Series this[int series] => _series[series];

    /// <summary>The column an instant belongs to; -1 outside what was asked for. Without a width each call makes a new column.</summary>
    /// <param name="us">Log time of a snapshot or the beginning of a bucket.</param>
    /// <param name="lastsUs">How long its data stand for, µs: what begins later than that is after a gap.</param>
    /// <param name="snapshots">How many snapshots it stands for.</param>
    /// <param name="wallMs">Its wall time.</param>
    public int Place(long us, long lastsUs, int snapshots, long wallMs)
    {
        var stretch = 0;
        while (stretch < _stretches.Count && us + lastsUs <= _stretches[stretch].FromUs) stretch++;
        if (stretch == _stretches.Count || us >= _stretches[stretch].ToUs) return -1;
        // A bucket may begin before what was asked for and reach into it.
        var cutUs = Math.Max(0, _stretches[stretch].FromUs - us);
        us += cutUs;
        lastsUs -= cutUs;
        wallMs += cutUs / 1000;
        int column;
        if (IsSingle)
        {
            column = _snapshots.Count;
            AddColumn();
            foreach (var series in _series) series.AddColumn();
        }
        else
        {
            column = _firstColumn[stretch] + (int)(Key(us) - Key(_stretches[stretch].FromUs));
        }

        if (_snapshots[column] == 0 || us < _fromUs[column]) (_fromUs[column], _wallMs[column]) = (us, wallMs);
        _toUs[column] = Math.Max(_toUs[column], us + lastsUs);
        _snapshots[column] += snapshots;
        return column;
    }

    /// <summary>The columns that hold anything, and which they are.</summary>
    public (TimeColumns Columns, int[] Kept) Finish(ClockTable clock)
    {
        var kept = Enumerable.Range(0, _snapshots.Count).Where(c => _snapshots[c] > 0).ToArray();
        if (IsSingle) Array.Sort(kept, (a, b) => _fromUs[a].CompareTo(_fromUs[b]));
        var breaks = new bool[kept.Length];
        for (var i = 1; i < kept.Length; i++)
        {
            var (before, here) = (kept[i - 1], kept[i]);
            breaks[i] = _fromUs[here] > _toUs[before] || clock.IsSetBetween(_fromUs[before], _fromUs[here]);
        }

        return (new TimeColumns
        {
            StartUnixMs = [.. kept.Select(c => IsSingle ? _wallMs[c] : _wallMs[c] - ((_fromUs[c] - (Key(_fromUs[c]) * _widthUs)) / 1000))],
            ColumnMs = _widthUs / 1000.0,
            BreakBefore = breaks,
            Snapshots = [.. kept.Select(c => _snapshots[c])],
        }, kept);
    }

    /// <summary>A series over the kept columns.</summary>
    public Trace ToTrace(int series, int[] kept, string channel, string unit)
    {
        var s = _series[series];
        return new Trace
        {
            Channel = channel,
            Unit = unit,
            Min = [.. kept.Select(c => s.Min[c])],
            Max = [.. kept.Select(c => s.Max[c])],
            Mean = [.. kept.Select(c => s.Good[c] == 0 ? double.NaN : s.Sum[c] / s.Good[c])],
            Good = [.. kept.Select(c => s.Good[c])],
            Quality = s.Quality is { } quality ? [.. kept.Select(c => quality[c])] : null,
            Raw = s.Raw is { } raw ? [.. kept.Select(c => raw[c])] : null,
        };
    }

    private void AddColumn()
    {
        _fromUs.Add(0);
        _toUs.Add(long.MinValue);
        _wallMs.Add(0);
        _snapshots.Add(0);
    }

    private long Key(long us) => us >= 0 ? us / _widthUs : -((-us + _widthUs - 1) / _widthUs);
}
