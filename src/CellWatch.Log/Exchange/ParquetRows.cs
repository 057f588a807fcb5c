using System.Globalization;
using Parquet;
using Parquet.Schema;

namespace CellWatch.Log.Exchange;

/// <summary>
/// Rows of a Parquet table that others wrote: plain columns of numbers, words, truth values or times; one row group in memory at a time. A time becomes
/// seconds since 1970, a value that is not there an empty field.
/// </summary>
internal sealed class ParquetRows : TableRows
{
    private readonly string _path;
    private readonly FileStream _stream;
    private readonly ParquetReader _reader;
    private readonly DataField[] _fields;
    private Func<int, string>[] _columns = [];
    private int _group;
    private int _rows;
    private int _row;

    private ParquetRows(string path, FileStream stream, ParquetReader reader)
    {
        (_path, _stream, _reader) = (path, stream, reader);
        _fields = reader.Schema.GetDataFields();
        if (_fields.Length == 0) throw new InvalidDataException($"{path} has no columns");
        if (Array.Find(_fields, f => f.IsArray || f.MaxRepetitionLevel > 0) is { } nested) throw new InvalidDataException($"{path}: the column '{nested.Name}' holds lists; a table of one value a row is needed");
        Headings = [.. _fields.Select(f => f.Name)];
    }

    public override string[] Headings { get; }

    public override double Share => _reader.RowGroupCount == 0 ? 1 : (_group - (_rows == 0 ? 0 : 1 - ((double)_row / _rows))) / _reader.RowGroupCount;

    public static new async Task<TableRows> OpenAsync(string path, CancellationToken cancellation)
    {
        var stream = File.OpenRead(path);
        try
        {
            return new ParquetRows(path, stream, await ParquetReader.CreateAsync(stream, cancellationToken: cancellation));
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            await stream.DisposeAsync();
            // The library throws many kinds for a file that is cut or not of this format.
            throw e as InvalidDataException ?? new InvalidDataException($"{path} does not read as Parquet: {e.Message}", e);
        }
    }

    public override async ValueTask<string[]?> NextAsync(CancellationToken cancellation)
    {
        while (_row == _rows)
        {
            if (_group == _reader.RowGroupCount) return null;
            cancellation.ThrowIfCancellationRequested();
            await ReadGroupAsync(cancellation);
        }

        var row = new string[_columns.Length];
        for (var c = 0; c < row.Length; c++) row[c] = _columns[c](_row);
        _row++;
        return row;
    }

    public override async ValueTask DisposeAsync()
    {
        await _reader.DisposeAsync();
        await _stream.DisposeAsync();
    }

    private async Task ReadGroupAsync(CancellationToken cancellation)
    {
        try
        {
            using var group = _reader.OpenRowGroupReader(_group++);
            (_row, _rows) = (0, checked((int)group.RowCount));
            _columns = new Func<int, string>[_fields.Length];
            for (var c = 0; c < _fields.Length; c++) _columns[c] = await ColumnAsync(group, _fields[c], _rows, cancellation);
        }
        catch (Exception e) when (e is not (OperationCanceledException or InvalidDataException))
        {
            throw new InvalidDataException($"{_path}, row group {_group}: {e.Message}", e);
        }
    }

    private async Task<Func<int, string>> ColumnAsync(ParquetRowGroupReader group, DataField field, int rows, CancellationToken cancellation)
    {
        var type = Nullable.GetUnderlyingType(field.ClrType) ?? field.ClrType;
        if (type == typeof(double)) return await NumbersAsync<double>(group, field, rows, v => double.IsNaN(v) ? "" : v.ToString("R", CultureInfo.InvariantCulture), cancellation);
        // By way of the shortest text, so that 3.7 kept as a single does not become 3.7000000477.
        if (type == typeof(float)) return await NumbersAsync<float>(group, field, rows, v => float.IsNaN(v) ? "" : v.ToString("R", CultureInfo.InvariantCulture), cancellation);
        if (type == typeof(decimal)) return await NumbersAsync<decimal>(group, field, rows, v => v.ToString(CultureInfo.InvariantCulture), cancellation);
        if (type == typeof(long)) return await NumbersAsync<long>(group, field, rows, v => v.ToString(CultureInfo.InvariantCulture), cancellation);
        if (type == typeof(ulong)) return await NumbersAsync<ulong>(group, field, rows, v => v.ToString(CultureInfo.InvariantCulture), cancellation);
        if (type == typeof(int)) return await NumbersAsync<int>(group, field, rows, v => v.ToString(CultureInfo.InvariantCulture), cancellation);
        if (type == typeof(uint)) return await NumbersAsync<uint>(group, field, rows, v => v.ToString(CultureInfo.InvariantCulture), cancellation);
        if (type == typeof(short)) return await NumbersAsync<short>(group, field, rows, v => v.ToString(CultureInfo.InvariantCulture), cancellation);
        if (type == typeof(ushort)) return await NumbersAsync<ushort>(group, field, rows, v => v.ToString(CultureInfo.InvariantCulture), cancellation);
        if (type == typeof(sbyte)) return await NumbersAsync<sbyte>(group, field, rows, v => v.ToString(CultureInfo.InvariantCulture), cancellation);
        if (type == typeof(byte)) return await NumbersAsync<byte>(group, field, rows, v => v.ToString(CultureInfo.InvariantCulture), cancellation);
        if (type == typeof(bool)) return await NumbersAsync<bool>(group, field, rows, v => v ? "1" : "0", cancellation);
        if (type == typeof(DateTime)) return await NumbersAsync<DateTime>(group, field, rows, UnixSeconds, cancellation);
        if (type != typeof(string) && type != typeof(ReadOnlyMemory<char>)) throw new InvalidDataException($"{_path}: the column '{field.Name}' is of {type.Name}; numbers, words, truth values and times are read");
        var words = new string[rows];
        await group.ReadAsync(field, words, cancellationToken: cancellation);
        return r => words[r] ?? "";
    }

    private static async Task<Func<int, string>> NumbersAsync<T>(ParquetRowGroupReader group, DataField field, int rows, Func<T, string> text, CancellationToken cancellation)
        where T : struct
    {
        if (!field.IsNullable)
        {
            var all = new T[rows];
            await group.ReadAsync<T>(field, all, cancellationToken: cancellation);
            return r => text(all[r]);
        }

        var some = new T?[rows];
        await group.ReadAsync<T>(field, some, cancellationToken: cancellation);
        return r => some[r] is { } v ? text(v) : "";
    }

    /// <summary>A time without a zone is taken as UTC, as the Battery Data Format's clock is.</summary>
    private static string UnixSeconds(DateTime time)
    {
        var ticks = (time.Kind == DateTimeKind.Local ? time.ToUniversalTime() : time).Ticks - DateTime.UnixEpoch.Ticks;
        return ((decimal)ticks / TimeSpan.TicksPerSecond).ToString(CultureInfo.InvariantCulture);
    }
}
