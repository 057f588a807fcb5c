namespace CellWatch.Log.Codec;

/// <summary>Columns of whole numbers, one after another in one array that is reused.</summary>
internal sealed class ColumnSet
{
    private readonly List<(int Start, int Length)> _columns = [];
    private long[] _numbers = new long[4096];
    private int _used;

    public int Count => _columns.Count;

    public void Clear()
    {
        _columns.Clear();
        _used = 0;
    }

    /// <summary>Makes room for so many numbers more, and no more than that: a pack's columns are as many and as long every time.</summary>
    public void Reserve(int numbers)
    {
        if (_used + numbers > _numbers.Length) Array.Resize(ref _numbers, _used + numbers);
    }

    /// <summary>Adds a column to be filled. The span is valid until the next column is added.</summary>
    public Span<long> Add(int length)
    {
        if (_used + length > _numbers.Length) Array.Resize(ref _numbers, Math.Max(2 * _numbers.Length, _used + length));
        _columns.Add((_used, length));
        var span = _numbers.AsSpan(_used, length);
        _used += length;
        return span;
    }

    public Span<long> this[int column] => _numbers.AsSpan(_columns[column].Start, _columns[column].Length);
}
