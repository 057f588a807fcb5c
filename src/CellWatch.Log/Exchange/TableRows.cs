using System.IO.Compression;

namespace CellWatch.Log.Exchange;

/// <summary>A table of measured data row by row, every field as text in the invariant culture; an empty field is a value that is not there.</summary>
internal abstract class TableRows : IAsyncDisposable
{
    /// <summary>Names of the columns.</summary>
    public abstract string[] Headings { get; }

    /// <summary>How much of the file is read, 0 to 1.</summary>
    public abstract double Share { get; }

    /// <summary>The next row; null at the end.</summary>
    /// <exception cref="InvalidDataException">It does not read; the message says where.</exception>
    public abstract ValueTask<string[]?> NextAsync(CancellationToken cancellation);

    public abstract ValueTask DisposeAsync();

    /// <summary>Opens a file by its ending: Parquet, else comma-separated text, also packed with gzip.</summary>
    public static async Task<TableRows> OpenAsync(string path, CancellationToken cancellation) =>
        Path.GetExtension(path).Equals(".parquet", StringComparison.OrdinalIgnoreCase) ? await ParquetRows.OpenAsync(path, cancellation) : new CsvRows(path);

    private sealed class CsvRows : TableRows
    {
        private readonly string _path;
        private readonly FileStream _stream;
        private readonly StreamReader _text;
        private readonly CsvReader _reader;
        private readonly List<string> _fields = [];

        public CsvRows(string path)
        {
            _path = path;
            _stream = File.OpenRead(path);
            _text = new StreamReader(Path.GetExtension(path).Equals(".gz", StringComparison.OrdinalIgnoreCase) ? new GZipStream(_stream, CompressionMode.Decompress) : _stream);
            _reader = new CsvReader(_text);
            if (!_reader.TryRead(_fields) || _fields.All(string.IsNullOrWhiteSpace))
            {
                _text.Dispose();
                throw new InvalidDataException($"{path} has no row of headings");
            }

            Headings = [.. _fields];
        }

        public override string[] Headings { get; }

        public override double Share => (double)_stream.Position / Math.Max(1, _stream.Length);

        public override ValueTask<string[]?> NextAsync(CancellationToken cancellation)
        {
            cancellation.ThrowIfCancellationRequested();
            while (_reader.TryRead(_fields))
            {
                // An empty line is no row.
                if (_fields.Count == 1 && _fields[0].Length == 0) continue;
                if (_fields.Count != Headings.Length) throw new InvalidDataException($"{_path}, line {_reader.Line}: {_fields.Count} fields where the headings have {Headings.Length}");
                return ValueTask.FromResult<string[]?>([.. _fields]);
            }

            return ValueTask.FromResult<string[]?>(null);
        }

        public override ValueTask DisposeAsync()
        {
            _text.Dispose();
            return ValueTask.CompletedTask;
        }
    }
}
