using System.Globalization;
using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Exchange;

/// <summary>
/// Reads a table of measured data, any comma-separated text with a row of headings, as snapshots. Every row is kept. A row whose clock goes back
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
    /// <exception cref="InvalidDataException">The file has no row of headings, or a row has another number of fields; the message names the line.</exception>
    public IEnumerable<Snapshot> Read(IProgress<double>? progress = null)
    {
        using var stream = File.OpenRead(path);
        using var text = new StreamReader(stream);
        var reader = new CsvReader(text);
        var fields = new List<string>();
        if (!reader.TryRead(fields) || fields.All(string.IsNullOrWhiteSpace)) throw new InvalidDataException($"{path} has no row of headings");
        var columns = new TableColumns(fields, _options);
        if (columns.Time < 0) Report.Note("There is no time column: rows are numbered, a second apart.");

        var buffer = new SnapshotBuffer(columns.Map);
        // The clock as it was read last, and as it is kept: rows within one step of the table's clock are kept a microsecond apart.
        var (readUs, lastUs) = (long.MinValue, long.MinValue);
        var (wallMs, offsetMs) = (_options.Start.ToUnixTimeMilliseconds(), _options.Start.ToUnixTimeMilliseconds());
        while (TryTake(reader, fields, columns.Headings.Length, out var row))
        {
            Report.Rows++;
            var (us, isFault) = (TimeOf(row, columns), false);
            if (us is null || us < readUs)
            {
                if (us is null || IsFault(reader, fields, columns, readUs))
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
            if (Report.Rows % 512 == 0) progress?.Report((double)stream.Position / stream.Length);
            yield return buffer.Freeze();
        }

        if (Report.Marked > 0) Report.Note($"{Report.Marked} rows whose clock went back are kept and marked doubtful; nothing is worked out from them.");
        if (Report.Records > 1) Report.Note($"The clock starts anew {Report.Records - 1} times: {Report.Records} records, laid an hour apart.");
        progress?.Report(1);
    }

    private bool TryTake(CsvReader reader, List<string> fields, int count, out string[] row)
    {
        if (_ahead.TryDequeue(out row!)) return true;
        return TryReadRow(reader, fields, count, out row);
    }

    private bool TryReadRow(CsvReader reader, List<string> fields, int count, out string[] row)
    {
        row = [];
        while (reader.TryRead(fields))
        {
            // An empty line is no row.
            if (fields.Count == 1 && fields[0].Length == 0) continue;
            if (fields.Count != count) throw new InvalidDataException($"{path}, line {reader.Line}: {fields.Count} fields where the headings have {count}");
            row = [.. fields];
            return true;
        }

        return false;
    }

    /// <summary>Whether the clock is back where it was within a few rows.</summary>
    private bool IsFault(CsvReader reader, List<string> fields, TableColumns columns, long lastUs)
    {
        while (_ahead.Count < RowsOfAFault && TryReadRow(reader, fields, columns.Headings.Length, out var row)) _ahead.Enqueue(row);
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
