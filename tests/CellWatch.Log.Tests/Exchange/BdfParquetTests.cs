using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Exchange;
using CellWatch.Testing;
using DuckDB.NET.Data;
using Xunit;

namespace CellWatch.Log.Tests.Exchange;

/// <summary>
/// Battery Data Format as Parquet (<c>name.bdf.parquet</c> is allowed by the format, ontology 1.3.0). The files are written by DuckDB, not by the project's
/// own writer.
/// </summary>
public sealed class BdfParquetTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData("Test Time / s", "Voltage / V", "Current / A", "Unix Time / s", "Surface Temperature / degC", "Step Count / 1", "Step Type")]
    [InlineData("test_time_second", "voltage_volt", "current_ampere", "unix_time_second", "surface_temperature_celsius", "step_count", "step_type")]
    public async Task A_file_another_program_wrote_is_imported_row_by_row(string time, string voltage, string current, string wall, string surface, string step, string kind)
    {
        var path = _folder.File("Petrel__B02.3__20261125_001.bdf.parquet");
        // 300,000 rows are three row groups of DuckDB's; every seventh surface temperature is not there, the current is a single, the step an integer.
        Sql($"""
             COPY (SELECT i * 0.5 AS "{time}", 3.5 + i / 1048576.0 AS "{voltage}", (-7.3)::FLOAT AS "{current}", 1790000000 + i * 0.5 AS "{wall}",
                          CASE WHEN i % 7 = 0 THEN NULL ELSE 20.25 END AS "{surface}", (1 + i // 100000)::INTEGER AS "{step}", CASE WHEN i < 100000 THEN 'REST' ELSE 'CC_DCH' END AS "{kind}"
                   FROM range(300000) t(i)) TO '{path}' (FORMAT parquet)
             """);
        await using var log = CellLog.Open(_folder.File());
        var import = new TableImport(path, new TableImportOptions { Module = new("B02"), Cell = 3 });
        var snapshots = new List<Snapshot>();
        await foreach (var s in import.ReadAsync()) snapshots.Add(s);
        await log.AppendAllAsync(snapshots);

        Assert.Equal(300_000, import.Report.Rows);
        var map = snapshots[0].Map;
        var (cell, temperature, stepAt, kindAt) = (Index(map, "B02.3"), map.FirstTemperature, Index(map, step), Index(map, kind));
        foreach (var i in (int[])[0, 1, 7, 99_999, 100_000, 122_880, 299_999])
        {
            var s = snapshots[i];
            Assert.Equal((i * 500_000L, 1_790_000_000_000 + (i * 500L)), (s.Time.ElapsedUs, s.Time.WallUnixMs));
            Assert.Equal(3.5 + (i / 1048576.0), s.RawValues[cell]);
            Assert.Equal(-7.3, s.RawValues[map.PackCurrent]);
            Assert.Equal(1 + (i / 100_000), s.RawValues[stepAt]);
            Assert.Equal(i < 100_000 ? 0 : 1, s.RawValues[kindAt]);
            Assert.Equal(i % 7 == 0 ? Quality.Missing : Quality.Good, s.Quality[temperature]);
            Assert.Equal(Origin.Replayed, s.Origin[cell]);
        }

        Assert.Equal(["REST", "CC_DCH"], import.Report.Legend[kind]);
        var kept = await CellLogTests.ReadAll(log);
        CellLogTests.AssertSame([.. snapshots], kept);
    }

    [Fact]
    public async Task The_same_table_as_Parquet_and_as_text_gives_the_same_snapshots()
    {
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(new SyntheticPack(modules: 1).Next(500));
        var csv = (await BdfExport.WriteAsync(log, TimeRange.All, _folder.Path, "Petrel"))[2];
        var parquet = _folder.File("Petrel__B01.3__20260921_001.bdf.parquet");
        Sql($"COPY (SELECT * FROM read_csv('{csv}')) TO '{parquet}' (FORMAT parquet)");
        var packed = _folder.File("Petrel__B01.3__20260921_001.bdf.gz");
        await using (var to = new System.IO.Compression.GZipStream(File.Create(packed), System.IO.Compression.CompressionLevel.Fastest)) await to.WriteAsync(await File.ReadAllBytesAsync(csv));

        var expected = await ReadAsync(csv);
        Assert.Equal(500, expected.Count);
        CellLogTests.AssertSame([.. expected], await ReadAsync(parquet));
        CellLogTests.AssertSame([.. expected], await ReadAsync(packed));
    }

    /// <summary>A time as DuckDB's own type: TIMESTAMP is taken as UTC.</summary>
    [Fact]
    public async Task A_wall_clock_kept_as_a_time_becomes_the_wall_clock()
    {
        var path = _folder.File("a.parquet");
        Sql($"""COPY (SELECT i * 1.0 AS "Test Time / s", 3.7 AS "Voltage / V", 0.0 AS "Current / A", TIMESTAMP '2026-11-25 02:00:00.250' + INTERVAL (i) SECOND AS "Unix Time / s" FROM range(10) t(i)) TO '{path}' (FORMAT parquet)""");
        var read = await ReadAsync(path);
        Assert.Equal(new DateTimeOffset(2026, 11, 25, 2, 0, 9, 250, TimeSpan.Zero), read[9].Time.Wall);
    }

    [Fact]
    public async Task What_cannot_be_read_is_said_in_a_sentence()
    {
        var path = _folder.File("a.parquet");
        Sql($"COPY (SELECT [1, 2] AS \"Voltage / V\") TO '{path}' (FORMAT parquet)");
        Assert.Contains("lists", (await Assert.ThrowsAsync<InvalidDataException>(() => ReadAsync(path))).Message, StringComparison.Ordinal);
        await File.WriteAllTextAsync(path, "Voltage / V\n3.7\n");
        Assert.Contains("does not read as Parquet", (await Assert.ThrowsAsync<InvalidDataException>(() => ReadAsync(path))).Message, StringComparison.Ordinal);
        Sql($"COPY (SELECT i * 1.0 AS \"Test Time / s\", sqrt(i) AS \"Voltage / V\" FROM range(5000) t(i)) TO '{path}' (FORMAT parquet)");
        var bytes = await File.ReadAllBytesAsync(path);
        await File.WriteAllBytesAsync(path, bytes[..(bytes.Length / 2)]);
        Assert.Contains("a.parquet", (await Assert.ThrowsAsync<InvalidDataException>(() => ReadAsync(path))).Message, StringComparison.Ordinal);
    }

    private static int Index(ChannelMap map, string name) => Enumerable.Range(0, map.Count).First(c => map.NameOf(c) == name);

    private static async Task<List<Snapshot>> ReadAsync(string path)
    {
        var all = new List<Snapshot>();
        await foreach (var s in new TableImport(path).ReadAsync()) all.Add(s);
        return all;
    }

    private static void Sql(string sql)
    {
        using var connection = new DuckDBConnection("Data Source=:memory:");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        command.ExecuteNonQuery();
    }
}
