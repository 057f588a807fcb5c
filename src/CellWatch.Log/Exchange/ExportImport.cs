using System.Globalization;
using System.Runtime.CompilerServices;
using CellWatch.Core.Snapshots;
using Parquet;

namespace CellWatch.Log.Exchange;

/// <summary>Reads the project's own exports back, bit for bit: exporting again gives the same bytes.</summary>
public static class ExportImport
{
    /// <summary>Whether a file is one of the project's own exports.</summary>
    public static bool IsOwn(string path) => Sidecar.IsBeside(path);

    /// <summary>The snapshots of a comma-separated export.</summary>
    /// <exception cref="InvalidDataException">The file does not read; the message names the line.</exception>
    public static IEnumerable<Snapshot> FromCsv(string path, IProgress<double>? progress = null)
    {
        var map = Sidecar.ReadMap(path);
        using var stream = File.OpenRead(path);
        using var text = new StreamReader(stream);
        var reader = new CsvReader(text);
        var fields = new List<string>();
        var expected = map.Count + 4;
        if (!reader.TryRead(fields) || fields.Count != expected) throw new InvalidDataException($"{path}: the headings do not fit the layout beside it");
        var buffer = new SnapshotBuffer(map);
        var marks = new Marks(map.Count);
        for (long rows = 0; reader.TryRead(fields); rows++)
        {
            if (fields.Count != expected) throw new InvalidDataException($"{path}, line {reader.Line}: {fields.Count} fields where {expected} are expected");
            try
            {
                buffer.Begin(
                    long.Parse(fields[2], NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture),
                    new SnapshotTime(Microseconds(fields[1]), DateTimeOffset.ParseExact(fields[0], "yyyy-MM-ddTHH:mm:ss.fffZ", CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal).ToUnixTimeMilliseconds()));
                for (var c = 0; c < map.Count; c++)
                {
                    if (fields[3 + c].Length == 0) continue;
                    buffer.Values[c] = double.Parse(fields[3 + c], NumberStyles.Float, CultureInfo.InvariantCulture);
                    buffer.AgesUs[c] = 0;
                }

                marks.Apply(fields[^1], buffer);
            }
            catch (Exception e) when (e is FormatException or OverflowException or InvalidDataException)
            {
                throw new InvalidDataException($"{path}, line {reader.Line}: {e.Message}", e);
            }

            if (rows % 512 == 0) progress?.Report((double)stream.Position / stream.Length);
            yield return buffer.Freeze();
        }

        progress?.Report(1);
    }

    /// <summary>The snapshots of a Parquet export.</summary>
    /// <exception cref="InvalidDataException">The file does not fit the layout beside it.</exception>
    public static async IAsyncEnumerable<Snapshot> FromParquetAsync(string path, IProgress<double>? progress = null, [EnumeratorCancellation] CancellationToken cancellation = default)
    {
        var map = Sidecar.ReadMap(path);
        await using var stream = File.OpenRead(path);
        await using var reader = await ParquetReader.CreateAsync(stream, cancellationToken: cancellation);
        var fields = reader.Schema.GetDataFields();
        if (fields.Length != map.Count + 4) throw new InvalidDataException($"{path}: the columns do not fit the layout beside it");
        var buffer = new SnapshotBuffer(map);
        var marks = new Marks(map.Count);
        for (var g = 0; g < reader.RowGroupCount; g++)
        {
            cancellation.ThrowIfCancellationRequested();
            using var group = reader.OpenRowGroupReader(g);
            var n = (int)group.RowCount;
            long[] wall = new long[n], elapsed = new long[n], sequence = new long[n];
            await group.ReadAsync<long>(fields[0], wall, cancellationToken: cancellation);
            await group.ReadAsync<long>(fields[1], elapsed, cancellationToken: cancellation);
            await group.ReadAsync<long>(fields[2], sequence, cancellationToken: cancellation);
            var values = new double[map.Count][];
            for (var c = 0; c < map.Count; c++)
            {
                values[c] = new double[n];
                await group.ReadAsync<double>(fields[3 + c], values[c], cancellationToken: cancellation);
            }

            var changes = new string[n];
            await group.ReadAsync(fields[^1], changes, cancellationToken: cancellation);
            for (var i = 0; i < n; i++)
            {
                buffer.Begin(sequence[i], new SnapshotTime(elapsed[i], wall[i]));
                for (var c = 0; c < map.Count; c++)
                {
                    buffer.Values[c] = values[c][i];
                    if (!double.IsNaN(values[c][i])) buffer.AgesUs[c] = 0;
                }

                marks.Apply(changes[i] ?? "", buffer);
                yield return buffer.Freeze();
            }

            progress?.Report((g + 1.0) / reader.RowGroupCount);
        }
    }

    /// <summary>Exact seconds as microseconds, without going through a double.</summary>
    private static long Microseconds(string seconds)
    {
        var point = seconds.IndexOf('.', StringComparison.Ordinal);
        if (point < 0 || seconds.Length - point != 7) throw new FormatException($"'{seconds}' is no time in seconds with six decimals");
        return long.Parse(seconds.Remove(point, 1), NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture);
    }
}
