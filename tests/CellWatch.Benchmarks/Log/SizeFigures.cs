using System.Globalization;
using System.Text;
using CellWatch.Core.Snapshots;
using CellWatch.Log;
using CellWatch.Testing;
using DuckDB.NET.Data;
using Parquet;
using Parquet.Schema;

namespace CellWatch.Benchmarks.Log;

/// <summary>The same charge in five forms. Every form holds all channels: cells, temperatures, current, string voltage, bleed flags, and both clocks.</summary>
internal static class SizeFigures
{
    public static async Task RunAsync()
    {
        Console.WriteLine("| cells' steps | entropy of differences | sealed chunks | the log's file, with roll-ups | zstd -3 CSV | zstd -19 CSV | Parquet, zstd | DuckDB file |");
        Console.WriteLine("| --- | --- | --- | --- | --- | --- | --- | --- |");
        foreach (var stepsPerV in (double[])[10_000, 1_000])
        {
            var pack = new SyntheticPack { CellStepsPerV = stepsPerV };
            var charge = pack.Next(7200);
            var folder = Directory.CreateTempSubdirectory("cellwatch-size-").FullName;
            try
            {
                var entropy = FirstDifferenceEntropy.Bytes(charge);
                var (chunks, file) = await LogAsync(charge, Path.Combine(folder, "a.cellog"));
                var csv = Csv(charge);
                var (csv3, csv19) = (Zstd(csv, 3), Zstd(csv, 19));
                var parquet = await ParquetAsync(charge, Path.Combine(folder, "a.parquet"));
                var duck = Duck(charge, Path.Combine(folder, "a.duckdb"));
                Console.WriteLine(string.Join(" | ", $"| {1000 / stepsPerV} mV", $"{entropy / 1024:F0} KiB", Cell(chunks), Cell(file), Cell(csv3), Cell(csv19), Cell(parquet), Cell(duck)) + " |");
                string Cell(double bytes) => string.Create(CultureInfo.InvariantCulture, $"{bytes / 1024:F0} KiB ({bytes / entropy:F2})");
            }
            finally
            {
                Directory.Delete(folder, recursive: true);
            }
        }

        Console.WriteLine("| the log alone, a day | entropy of differences | sealed chunks | the log's file, with all roll-ups |");
        Console.WriteLine("| --- | --- | --- | --- |");
        foreach (var stepsPerV in (double[])[10_000, 1_000]) await DayAsync(stepsPerV);
        Console.WriteLine("Two hours at 1 Hz, 108 cells, 36 temperatures, 1 mV rms noise on every cell; in brackets the ratio to the entropy.");
    }

    /// <summary>What an empty file and an unfinished hour weigh is little beside a day.</summary>
    private static async Task DayAsync(double stepsPerV)
    {
        var day = new SyntheticPack { CellStepsPerV = stepsPerV }.Next(86_400);
        var folder = Directory.CreateTempSubdirectory("cellwatch-size-").FullName;
        try
        {
            var entropy = FirstDifferenceEntropy.Bytes(day);
            var (chunks, file) = await LogAsync(day, Path.Combine(folder, "a.cellog"));
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"| {1000 / stepsPerV} mV | {entropy / 1024:F0} KiB | {chunks / 1024:F0} KiB ({chunks / entropy:F2}) | {file / 1024:F0} KiB ({file / entropy:F2}) |"));
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task<(double Chunks, double File)> LogAsync(Snapshot[] charge, string path)
    {
        await using (var log = CellLog.Open(path)) await log.AppendAllAsync(charge);
        using var connection = new Microsoft.Data.Sqlite.SqliteConnection($"Data Source={path};Mode=ReadOnly;Pooling=False");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT sum(length(block)) FROM chunk";
        return ((long)command.ExecuteScalar()!, new FileInfo(path).Length);
    }

    private static byte[] Csv(Snapshot[] charge)
    {
        var text = new StringBuilder();
        foreach (var s in charge)
        {
            text.Append(CultureInfo.InvariantCulture, $"{s.Time.Wall:yyyy-MM-ddTHH:mm:ss.fffZ},{s.Time.ElapsedS:F6}");
            foreach (var v in s.RawValues) text.Append(CultureInfo.InvariantCulture, $",{v}");
            text.Append("\r\n");
        }

        return Encoding.UTF8.GetBytes(text.ToString());
    }

    private static double Zstd(byte[] bytes, int level)
    {
        using var compressor = new ZstdSharp.Compressor(level);
        return compressor.Wrap(bytes).Length;
    }

    private static async Task<double> ParquetAsync(Snapshot[] charge, string path)
    {
        var map = charge[0].Map;
        DataField[] fields = [new DataField<long>("unix_time_ms"), new DataField<long>("elapsed_us"), .. Enumerable.Range(0, map.Count).Select(c => new DataField<double>(map.NameOf(c)))];
        await using (var stream = File.Create(path))
        {
            await using var writer = await ParquetWriter.CreateAsync(new ParquetSchema(fields), stream, new ParquetOptions { CompressionMethod = CompressionMethod.Zstd });
            using var group = writer.CreateRowGroup();
            await group.WriteAsync<long>(fields[0], charge.Select(s => s.Time.WallUnixMs).ToArray());
            await group.WriteAsync<long>(fields[1], charge.Select(s => s.Time.ElapsedUs).ToArray());
            for (var c = 0; c < map.Count; c++) await group.WriteAsync<double>(fields[c + 2], charge.Select(s => s.RawValues[c]).ToArray());
            group.CompleteValidate();
        }

        return new FileInfo(path).Length;
    }

    private static double Duck(Snapshot[] charge, string path)
    {
        var map = charge[0].Map;
        using (var connection = new DuckDBConnection($"Data Source={path}"))
        {
            connection.Open();
            using (var create = connection.CreateCommand())
            {
                create.CommandText = $"CREATE TABLE log (unix_time_ms BIGINT, elapsed_us BIGINT, {string.Join(", ", Enumerable.Range(0, map.Count).Select(c => $"\"{map.NameOf(c)}\" DOUBLE"))})";
                create.ExecuteNonQuery();
            }

            using (var appender = connection.CreateAppender("log"))
            {
                foreach (var s in charge)
                {
                    var row = appender.CreateRow();
                    row.AppendValue(s.Time.WallUnixMs).AppendValue(s.Time.ElapsedUs);
                    foreach (var v in s.RawValues) row.AppendValue(v);
                    row.EndRow();
                }
            }

            using var checkpoint = connection.CreateCommand();
            checkpoint.CommandText = "CHECKPOINT";
            checkpoint.ExecuteNonQuery();
        }

        return new FileInfo(path).Length;
    }
}
