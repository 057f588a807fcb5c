using System.Globalization;
using System.Runtime.CompilerServices;
using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Exchange;

/// <summary>
/// Reads a table of measured data as snapshots: any comma-separated text with a row of headings (packed with gzip or not), or Parquet. Every row is kept. A row whose clock goes back
/// while the rows after it go on where the clock was is kept and marked doubtful; a clock that starts anew and stays there begins another
/// record. Columns of words are kept as numbers, with the words in the report. A table without a time column is numbered by row.
/// </summary>
/// <param name="path">The file.</param>
/// <param name="options">What it does not say itself.</param>
public sealed class TableImport(string path, TableImportOptions? options = null)
{
    // A clock fault is taken for one only if time is back where it was within so many rows.
    private const int RowsOfAFault = 3;
    private const long BetweenRecordsMs = 3_600_000;

    private readonly TableImportOptions _options = options ?? new TableImportOptions();
    private readonly Queue<string[]> _ahead = new();

    /// <summary>What was found; complete when all snapshots have been read.</summary>
    public ImportReport Report { get; } = new();

    /// <summary>The snapshots, in the order of the file.</summary>
    /// <param name="progress">How much of the file is read, 0 to 1.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="InvalidDataException">The file has no row of headings, or a row has another number of fields; the message names the line.</exception>
    public async IAsyncEnumerable<Snapshot> ReadAsync(IProgress<double>? progress = null, [EnumeratorCancellation] CancellationToken cancellation = default)
    {
        await using var rows = await TableRows.OpenAsync(path, cancellation);
        var columns = new TableColumns(rows.Headings, _options);
        if (columns.Time < 0) Report.Note("There is no time column: rows are numbered, a second apart.");

        var buffer = new SnapshotBuffer(columns.Map);
        // The clock as it was read last, and as it is kept: rows within one step of the table's clock are kept a microsecond apart.
        var (readUs, lastUs) = (long.MinValue, long.MinValue);
        var (wallMs, offsetMs) = (_options.Start.ToUnixTimeMilliseconds(), _options.Start.ToUnixTimeMilliseconds());
        while (await TakeAsync(rows, cancellation) is { } row)
        {
            Report.Rows++;
            var (us, isFault) = (TimeOf(row, columns), false);
            if (us is null || us < readUs)
            {
                if (us is null || await IsFaultAsync(rows, columns, readUs, cancellation))
                {
                    isFault = true;
                    Report.Marked++;
                    us = lastUs == long.MinValue ? 0 : lastUs + 1;
                    readUs = Math.Max(readUs, 0);
                }
                else
                {
                    Report.Records++;
                    offsetMs = wallMs + BetweenRecordsMs - (us.Value / 1000);
                    readUs = us.Value;
                }
            }
            else
            {
                readUs = us.Value;
                us = Math.Max(us.Value, lastUs + 1);
            }

            lastUs = us.Value;
            wallMs = WallOf(row, columns) ?? (offsetMs + (lastUs / 1000));
            Fill(buffer, row, columns, isFault ? Quality.Doubtful : Quality.Good, new SnapshotTime(lastUs, wallMs));
            if (Report.Rows % 512 == 0) progress?.Report(rows.Share);
            yield return buffer.Freeze();
        }

        if (Report.Marked > 0) Report.Note($"{Report.Marked} rows whose clock went back are kept and marked doubtful; nothing is worked out from them.");
        if (Report.Records > 1) Report.Note($"The clock starts anew {Report.Records - 1} times: {Report.Records} records, laid an hour apart.");
        progress?.Report(1);
    }

    private ValueTask<string[]?> TakeAsync(TableRows rows, CancellationToken cancellation) =>
        _ahead.TryDequeue(out var row) ? ValueTask.FromResult<string[]?>(row) : rows.NextAsync(cancellation);

    /// <summary>Whether the clock is back where it was within a few rows.</summary>
    private async ValueTask<bool> IsFaultAsync(TableRows rows, TableColumns columns, long lastUs, CancellationToken cancellation)
    {
        while (_ahead.Count < RowsOfAFault && await rows.NextAsync(cancellation) is { } row) _ahead.Enqueue(row);
        return _ahead.Any(row => TimeOf(row, columns) >= lastUs);
    }

    private long? TimeOf(string[] row, TableColumns columns)
    {
        if (columns.Time < 0) return Report.Rows * 1_000_000;
        return double.TryParse(row[columns.Time], NumberStyles.Float, CultureInfo.InvariantCulture, out var s) && Math.Abs(s) < 1e12 ? (long)Math.Round(s * 1e6) : null;
    }

    private static long? WallOf(string[] row, TableColumns columns) =>
        columns.Wall >= 0 && double.TryParse(row[columns.Wall], NumberStyles.Float, CultureInfo.InvariantCulture, out var s) && Math.Abs(s) < 1e11 ? (long)Math.Round(s * 1000) : null;

    private void Fill(SnapshotBuffer buffer, string[] row, TableColumns columns, Quality quality, SnapshotTime time)
    {
        buffer.Begin(Report.Rows, time);
        for (var c = 0; c < row.Length; c++)
        {
            var channel = columns.Channel[c];
            if (channel < 0 || row[c].Length == 0) continue;
            var value = double.TryParse(row[c], NumberStyles.Float, CultureInfo.InvariantCulture, out var number) ? number : Report.CodeOf(columns.Headings[c], row[c]);
            if (double.IsNaN(value)) continue;
            buffer.Values[channel] = value;
            buffer.Qualities[channel] = quality;
            buffer.Origins[channel] = Origin.Replayed;
            buffer.AgesUs[channel] = 0;
        }
    }
}
