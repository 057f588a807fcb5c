using System.Globalization;
using System.Text;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Wording;

namespace CellWatch.Log.Exchange;

/// <summary>
/// Writes full-rate history to files other programs read. Each appears under its name only when it is whole, with a file beside it that says
/// what its columns are. Where the layout changes a new file begins, its number added to the name.
/// </summary>
public static class LogExport
{
    /// <summary>
    /// Comma-separated text (RFC 4180): <c>time</c> (RFC 3339, UTC), <c>elapsed / s</c>, <c>sequence</c>, every channel with its unit, <c>marks</c>.
    /// Values are written so that they read back bit for bit; a value that is not there is an empty field.
    /// </summary>
    /// <returns>The files written.</returns>
    public static Task<IReadOnlyList<string>> ToCsvAsync(IHistory history, TimeRange range, string path, IProgress<double>? progress = null, CancellationToken cancellation = default) =>
        ExportAsync(history, range, path, p => new CsvTable(p), progress, cancellation);

    /// <summary>
    /// Parquet, zstd, in groups of 16,384 rows: <c>unix_time_ms</c>, <c>elapsed_us</c>, <c>sequence</c>, every channel with its unit as a double
    /// (NaN where there is no value), <c>marks</c>.
    /// </summary>
    /// <returns>The files written.</returns>
    public static Task<IReadOnlyList<string>> ToParquetAsync(IHistory history, TimeRange range, string path, IProgress<double>? progress = null, CancellationToken cancellation = default) =>
        ExportAsync(history, range, path, p => new ParquetTable(p), progress, cancellation);

    private static async Task<IReadOnlyList<string>> ExportAsync(IHistory history, TimeRange range, string path, Func<string, ITable> open, IProgress<double>? progress, CancellationToken cancellation)
    {
        var span = await ProgressSpan.OfAsync(history, range, progress, cancellation);
        var files = new List<string>();
        ITable? table = null;
        string? layout = null;
        ChannelMap? map = null;
        try
        {
            await foreach (var snapshot in history.ReadSnapshotsAsync(range, cancellation))
            {
                if (!ReferenceEquals(snapshot.Map, map))
                {
                    map = snapshot.Map;
                    var text = Store.LayoutText.Of(map, Store.Resolutions.Usual);
                    if (text != layout)
                    {
                        if (table is not null) await table.CompleteAsync();
                        layout = text;
                        var name = files.Count == 0 ? path : Path.Combine(Path.GetDirectoryName(path) ?? "", string.Create(CultureInfo.InvariantCulture, $"{Path.GetFileNameWithoutExtension(path)}-{files.Count + 1}{Path.GetExtension(path)}"));
                        files.Add(name);
                        table = open(name);
                        await table.BeginAsync(map);
                    }
                }

                await table!.AddAsync(snapshot);
                span.Report(snapshot.Time.WallUnixMs);
            }

            if (table is not null) await table.CompleteAsync();
            progress?.Report(1);
            return files;
        }
        finally
        {
            table?.Dispose();
        }
    }

    /// <summary>One file of rows.</summary>
    internal interface ITable : IDisposable
    {
        Task BeginAsync(ChannelMap map);

        ValueTask AddAsync(Snapshot snapshot);

        /// <summary>Gives it its name, and writes what stands beside it.</summary>
        Task CompleteAsync();
    }

    private sealed class CsvTable(string path) : ITable
    {
        private readonly PartFile _part = new(path);
        private readonly StringBuilder _row = new();
        private StreamWriter _text = StreamWriter.Null;
        private ChannelMap _map = null!;
        private Marks _marks = null!;
        private long _rows;
        private bool _simulated;

        public Task BeginAsync(ChannelMap map)
        {
            _map = map;
            _marks = new Marks(map.Count);
            _text = new StreamWriter(_part.Stream, new UTF8Encoding(false), 1 << 16, leaveOpen: true) { NewLine = "\r\n" };
            return _text.WriteLineAsync(string.Join(',', ["time", "elapsed / s", "sequence", .. Enumerable.Range(0, map.Count).Select(c => CsvField.Of(Column(map, c))), "marks"]));
        }

        public async ValueTask AddAsync(Snapshot snapshot)
        {
            _row.Clear();
            _row.Append(CultureInfo.InvariantCulture, $"{snapshot.Time.Wall:yyyy-MM-ddTHH:mm:ss.fffZ},");
            AppendSeconds(_row, snapshot.Time.ElapsedUs);
            _row.Append(CultureInfo.InvariantCulture, $",{snapshot.Sequence}");
            foreach (var value in snapshot.RawValues)
            {
                _row.Append(',');
                if (!double.IsNaN(value)) _row.Append(CultureInfo.InvariantCulture, $"{value:R}");
            }

            _row.Append(',').Append(_marks.Changes(snapshot)).Append("\r\n");
            await _text.WriteAsync(_row);
            _rows++;
            _simulated |= snapshot.AnySimulated;
        }

        public async Task CompleteAsync()
        {
            await _text.DisposeAsync();
            Sidecar.Write(path, _map, _rows, _simulated);
            _part.Complete();
        }

        public void Dispose()
        {
            if (!_part.IsComplete) _text.Dispose();
            _part.Dispose();
        }
    }

    /// <summary>A channel's column: its name and its unit.</summary>
    internal static string Column(ChannelMap map, int channel) => map.UnitOf(channel) is { Length: > 0 } unit ? $"{map.NameOf(channel)} / {unit}" : map.NameOf(channel);

    /// <summary>Microseconds as exact seconds, six decimals.</summary>
    internal static void AppendSeconds(StringBuilder text, long us)
    {
        if (us < 0) text.Append('-');
        var magnitude = us < 0 ? unchecked((ulong)-us) : (ulong)us;
        text.Append(CultureInfo.InvariantCulture, $"{magnitude / 1_000_000}.{magnitude % 1_000_000:000000}");
    }
}
