using CellWatch.Core.Snapshots;
using Parquet;
using Parquet.Schema;

namespace CellWatch.Log.Exchange;

/// <summary>Rows as Parquet, gathered into groups.</summary>
internal sealed class ParquetTable(string path) : LogExport.ITable
{
    internal const int RowsPerGroup = 16_384;

    private readonly PartFile _part = new(path);
    private readonly long[] _unixTimeMs = new long[RowsPerGroup];
    private readonly long[] _elapsedUs = new long[RowsPerGroup];
    private readonly long[] _sequence = new long[RowsPerGroup];
    private readonly string[] _changes = new string[RowsPerGroup];
    private DataField[] _fields = [];
    private double[][] _values = [];
    private ParquetWriter? _writer;
    private ChannelMap _map = null!;
    private Marks _marks = null!;
    private int _gathered;
    private long _rows;
    private bool _simulated;

    public async Task BeginAsync(ChannelMap map)
    {
        _map = map;
        _marks = new Marks(map.Count);
        _values = [.. Enumerable.Range(0, map.Count).Select(_ => new double[RowsPerGroup])];
        _fields =
        [
            new DataField<long>("unix_time_ms"), new DataField<long>("elapsed_us"), new DataField<long>("sequence"),
            .. Enumerable.Range(0, map.Count).Select(c => new DataField<double>(LogExport.Column(map, c))), new DataField("marks", typeof(string), false),
        ];
        _writer = await ParquetWriter.CreateAsync(new ParquetSchema(_fields), _part.Stream, new ParquetOptions { CompressionMethod = CompressionMethod.Zstd });
    }

    public async ValueTask AddAsync(Snapshot snapshot)
    {
        var i = _gathered++;
        (_unixTimeMs[i], _elapsedUs[i], _sequence[i]) = (snapshot.Time.WallUnixMs, snapshot.Time.ElapsedUs, snapshot.Sequence);
        for (var c = 0; c < _values.Length; c++) _values[c][i] = snapshot.RawValues[c];
        _changes[i] = _marks.Changes(snapshot);
        _rows++;
        _simulated |= snapshot.AnySimulated;
        if (_gathered == RowsPerGroup) await WriteGroupAsync();
    }

    public async Task CompleteAsync()
    {
        if (_gathered > 0) await WriteGroupAsync();
        await _writer!.DisposeAsync();
        Sidecar.Write(path, _map, _rows, _simulated);
        _part.Complete();
    }

    public void Dispose() => _part.Dispose();

    private async Task WriteGroupAsync()
    {
        using var group = _writer!.CreateRowGroup();
        await group.WriteAsync<long>(_fields[0], _unixTimeMs.AsMemory(0, _gathered));
        await group.WriteAsync<long>(_fields[1], _elapsedUs.AsMemory(0, _gathered));
        await group.WriteAsync<long>(_fields[2], _sequence.AsMemory(0, _gathered));
        for (var c = 0; c < _values.Length; c++) await group.WriteAsync<double>(_fields[3 + c], _values[c].AsMemory(0, _gathered));
        await group.WriteAsync(_fields[^1], _changes.AsMemory(0, _gathered).ToArray());
        group.CompleteValidate();
        _gathered = 0;
    }
}
