using CellWatch.Core.History;
using Parquet;
using Parquet.Schema;

namespace CellWatch.Log.Exchange;

/// <summary>
/// An answer of history as a Parquet table, zstd: <c>unix_time_ms</c>, <c>snapshots</c>, <c>break_before</c>; then of each channel, with its unit, the value and
/// its quality where every column is a single snapshot, else least, mean, greatest and how many were good. What was not good is NaN.
/// </summary>
public static class TracesParquet
{
    /// <summary>The media type of the file.</summary>
    public const string MediaType = "application/vnd.apache.parquet";

    /// <summary>Packs an answer.</summary>
    public static async Task<byte[]> WriteAsync(Traces traces, CancellationToken cancellation = default)
    {
        var isSingle = traces.Columns.ColumnMs == 0;
        var fields = new List<DataField> { new DataField<long>("unix_time_ms"), new DataField<int>("snapshots"), new DataField<bool>("break_before") };
        foreach (var trace in traces.Channels)
        {
            var unit = trace.Unit.Length > 0 ? $" / {trace.Unit}" : "";
            if (isSingle) fields.AddRange([new DataField<double>(trace.Channel + unit), new DataField($"{trace.Channel} quality", typeof(string), false)]);
            else fields.AddRange([new DataField<double>($"{trace.Channel} least{unit}"), new DataField<double>($"{trace.Channel} mean{unit}"), new DataField<double>($"{trace.Channel} greatest{unit}"), new DataField<int>($"{trace.Channel} good")]);
        }

        using var stream = new MemoryStream();
        await using (var writer = await ParquetWriter.CreateAsync(new ParquetSchema(fields), stream, new ParquetOptions { CompressionMethod = CompressionMethod.Zstd }, cancellationToken: cancellation))
        {
            using var group = writer.CreateRowGroup();
            var next = 0;
            await group.WriteAsync<long>(fields[next++], traces.Columns.StartUnixMs, cancellationToken: cancellation);
            await group.WriteAsync<int>(fields[next++], traces.Columns.Snapshots, cancellationToken: cancellation);
            await group.WriteAsync<bool>(fields[next++], traces.Columns.BreakBefore, cancellationToken: cancellation);
            foreach (var trace in traces.Channels)
            {
                if (isSingle)
                {
                    await group.WriteAsync<double>(fields[next++], trace.Mean, cancellationToken: cancellation);
                    await group.WriteAsync(fields[next++], trace.Quality!.Select(q => q.ToString().ToLowerInvariant()).ToArray());
                    continue;
                }

                await group.WriteAsync<double>(fields[next++], trace.Min, cancellationToken: cancellation);
                await group.WriteAsync<double>(fields[next++], trace.Mean, cancellationToken: cancellation);
                await group.WriteAsync<double>(fields[next++], trace.Max, cancellationToken: cancellation);
                await group.WriteAsync<int>(fields[next++], trace.Good, cancellationToken: cancellation);
            }

            group.CompleteValidate();
        }

        return stream.ToArray();
    }
}
