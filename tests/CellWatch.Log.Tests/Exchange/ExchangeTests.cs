using System.Globalization;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Exchange;
using CellWatch.Testing;
using DuckDB.NET.Data;
using Xunit;

namespace CellWatch.Log.Tests.Exchange;

public sealed class ExchangeTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task Csv_out_in_and_out_again_is_the_same_to_the_byte()
    {
        await using var first = CellLog.Open(_folder.File("first.cellog"));
        var written = Awkward();
        await first.AppendAllAsync(written);
        var file = Assert.Single(await LogExport.ToCsvAsync(first, TimeRange.All, _folder.File("first.csv")));
        await using var second = CellLog.Open(_folder.File("second.cellog"));
        await second.AppendAllAsync(ExportImport.FromCsv(file));
        CellLogTests.AssertSame(written, await CellLogTests.ReadAll(second));
        await LogExport.ToCsvAsync(second, TimeRange.All, _folder.File("second.csv"));

        Assert.Equal(File.ReadAllBytes(_folder.File("first.csv")), File.ReadAllBytes(_folder.File("second.csv")));
        Assert.Equal(File.ReadAllBytes(_folder.File("first.csv.json")), File.ReadAllBytes(_folder.File("second.csv.json")));
        Assert.True(ExportImport.IsOwn(file));
        var text = File.ReadAllText(file);
        Assert.StartsWith("time,elapsed / s,sequence,B01.1 / V,", text, StringComparison.Ordinal);
        // RFC 4180: CR LF ends every record and stands nowhere else.
        Assert.Equal(text.Count(c => c == '\n'), text.Split("\r\n").Length - 1);
        Assert.Contains("\"simulated\": true", File.ReadAllText(file + ".json"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Parquet_out_in_and_out_again_is_the_same_to_the_byte()
    {
        await using var first = CellLog.Open(_folder.File("first.cellog"));
        var written = Awkward();
        await first.AppendAllAsync(written);
        var file = Assert.Single(await LogExport.ToParquetAsync(first, TimeRange.All, _folder.File("first.parquet")));
        await using var second = CellLog.Open(_folder.File("second.cellog"));
        var read = new List<Snapshot>();
        await foreach (var s in ExportImport.FromParquetAsync(file)) read.Add(s);
        await second.AppendAllAsync(read);
        CellLogTests.AssertSame(written, await CellLogTests.ReadAll(second));
        await LogExport.ToParquetAsync(second, TimeRange.All, _folder.File("second.parquet"));
        Assert.Equal(File.ReadAllBytes(_folder.File("first.parquet")), File.ReadAllBytes(_folder.File("second.parquet")));
    }

    /// <summary>Outside source: DuckDB reads the Parquet export by its own reader.</summary>
    [Fact]
    public async Task DuckDB_reads_the_same_numbers_from_the_Parquet_export()
    {
        await using var log = CellLog.Open(_folder.File());
        var written = new SyntheticPack(modules: 2).Next(20_000);
        await log.AppendAllAsync(written);
        await LogExport.ToParquetAsync(log, TimeRange.All, _folder.File("a.parquet"));
        using var connection = new DuckDBConnection("Data Source=:memory:");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = $"SELECT unix_time_ms, elapsed_us, sequence, \"B01.1 / V\", \"B02.6 / V\", \"packCurrentA / A\" FROM '{_folder.File("a.parquet")}' ORDER BY sequence";
        using var reader = command.ExecuteReader();
        var row = 0;
        for (; reader.Read(); row++)
        {
            Assert.Equal(written[row].Time.WallUnixMs, reader.GetInt64(0));
            Assert.Equal(written[row].Time.ElapsedUs, reader.GetInt64(1));
            Assert.Equal(written[row].Sequence, reader.GetInt64(2));
            Assert.Equal(written[row].RawValues[0], reader.GetDouble(3));
            Assert.Equal(written[row].RawValues[11], reader.GetDouble(4));
            Assert.Equal(written[row].RawValues[written[row].Map.PackCurrent], reader.GetDouble(5));
        }

        Assert.Equal(written.Length, row);
    }

    /// <summary>Outside source: DuckDB again, for what a page shows.</summary>
    [Theory]
    [InlineData(2000, "B01.1 / V")]
    [InlineData(50, "B01.1 greatest / V")]
    public async Task DuckDB_reads_what_is_seen_from_its_Parquet(int maxColumns, string column)
    {
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(new SyntheticPack(modules: 1) { Disturb = b => { if (b.View.Sequence % 9 == 0) b.Qualities[0] = Quality.Doubtful; } }.Next(1800));
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1", "packCurrentA"], TimeRange.All, maxColumns));
        File.WriteAllBytes(_folder.File("seen.parquet"), await TracesParquet.WriteAsync(traces));
        using var connection = new DuckDBConnection("Data Source=:memory:");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = $"SELECT unix_time_ms, snapshots, \"{column}\" FROM '{_folder.File("seen.parquet")}'";
        using var reader = command.ExecuteReader();
        var row = 0;
        for (; reader.Read(); row++)
        {
            Assert.Equal((traces.Columns.StartUnixMs[row], traces.Columns.Snapshots[row]), (reader.GetInt64(0), reader.GetInt32(1)));
            Assert.Equal(traces.Channels[0].Max[row], reader.GetDouble(2));
        }

        Assert.Equal(traces.Columns.Count, row);
        Assert.Equal(maxColumns == 2000, traces.Channels[0].Max.Any(double.IsNaN));
    }

    [Fact]
    public async Task Battery_data_files_carry_the_required_labels_one_cell_a_file_and_come_back_the_same()
    {
        await using var first = CellLog.Open(_folder.File("first.cellog"));
        var written = new SyntheticPack(modules: 2).Next(300);
        await first.AppendAllAsync(written);
        Directory.CreateDirectory(_folder.File("out1"));
        Directory.CreateDirectory(_folder.File("out2"));
        var files = await BdfExport.WriteAsync(first, TimeRange.All, _folder.File("out1"), "Petrel");

        Assert.Equal(12, files.Count);
        Assert.Equal("Petrel__B01.1__20260921_001.csv", Path.GetFileName(files[0]));
        var lines = File.ReadAllLines(files[8]);
        // Labels, units and sign: Battery Data Format, ontology 1.3.0.
        Assert.Equal("Test Time / s,Voltage / V,Current / A,Unix Time / s,Temperature T1 / degC,Temperature T2 / degC", lines[0]);
        Assert.Equal(301, lines.Length);
        var fields = lines[100].Split(',').Select(f => double.Parse(f, CultureInfo.InvariantCulture)).ToArray();
        Assert.Equal([99, written[99].RawValues[8], written[99].RawValues[written[99].Map.PackCurrent], written[99].Time.WallUnixMs / 1000.0], fields[..4]);

        await using var second = CellLog.Open(_folder.File("second.cellog"));
        var import = new TableImport(files[8], new TableImportOptions { Module = new("B02"), Cell = 3 });
        await second.AppendAllAsync(import.ReadAsync());
        var again = Assert.Single(await BdfExport.WriteAsync(second, TimeRange.All, _folder.File("out2"), "Petrel"));
        Assert.Equal(Path.GetFileName(files[8]), Path.GetFileName(again));
        Assert.Equal(File.ReadAllBytes(files[8]), File.ReadAllBytes(again));
    }

    [Fact]
    public async Task An_interrupted_export_leaves_nothing_under_the_final_name()
    {
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(new SyntheticPack(modules: 1).Next(3000));
        using var stop = new CancellationTokenSource();
        var progress = new Stopper(stop);
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => LogExport.ToCsvAsync(log, TimeRange.All, _folder.File("a.csv"), progress, stop.Token));
        using var stopParquet = new CancellationTokenSource();
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => LogExport.ToParquetAsync(log, TimeRange.All, _folder.File("a.parquet"), new Stopper(stopParquet), stopParquet.Token));
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => BdfExport.WriteAsync(log, TimeRange.All, _folder.Path, "Petrel", progress, stop.Token));
        Assert.All(Directory.GetFiles(_folder.Path), f => Assert.StartsWith("a.cellog", Path.GetFileName(f).Replace(Path.GetFileName(_folder.File()), "a.cellog", StringComparison.Ordinal), StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_changed_layout_begins_a_new_file()
    {
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(new SyntheticPack(modules: 1).Next(10));
        await log.AppendAllAsync(new SyntheticPack(modules: 2) { Start = new SnapshotTime(100_000_000, 1_790_000_100_000) }.Next(10));
        var files = await LogExport.ToCsvAsync(log, TimeRange.All, _folder.File("a.csv"));
        Assert.Equal(["a.csv", "a-2.csv"], files.Select(Path.GetFileName));
    }

    public static TheoryData<string> SharedTables =>
        SharedMaterial.Root is null ? ["none"] : [.. Directory.GetFiles(SharedMaterial.PathOf("data"), "*.csv").Order(StringComparer.Ordinal).Select(f => "data/" + Path.GetFileName(f))];

    /// <summary>Outside source: measured data of open repositories.</summary>
    [SharedTheory("data")]
    [MemberData(nameof(SharedTables))]
    public async Task Every_measured_table_is_imported_row_by_row(string file)
    {
        var path = SharedMaterial.PathOf(file);
        var lines = File.ReadLines(path).Count() - 1;
        await using var log = CellLog.Open(_folder.File());
        var import = new TableImport(path);
        await log.AppendAllAsync(import.ReadAsync());
        var kept = await CellLogTests.ReadAll(log);

        Assert.Equal(lines, import.Report.Rows);
        Assert.Equal(lines, kept.Count);
        var fault = file.Contains("clock_fault", StringComparison.Ordinal);
        Assert.Equal(fault ? 3 : 0, import.Report.Marked);
        Assert.Equal(import.Report.Marked, kept.Count(s => s.Quality.Contains(Quality.Doubtful)));
        if (!fault) return;
        // Story 9: three rows at time 0 in mid-file are kept, marked, not used; 4.043 Ah in, then 7.280 Ah out (reference_answers.csv).
        var (inAh, outAh) = ChargeAh(kept);
        Assert.Equal(4.043, inAh, 0.0015);
        Assert.Equal(7.280, outAh, 0.0015);
    }

    [Fact]
    public async Task Frames_are_decoded_by_the_caller_and_silence_is_a_gap()
    {
        var map = new SyntheticPack(modules: 1).Map;
        string[] lines = ["0 3.7", "500000 3.71", "nonsense", "1500000 3.72", "DROPCOUNT", "20000000 3.9", "20400000 3.91"];
        var import = new FrameLogImport(map, Decode);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(import.Read(lines));
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], TimeRange.All, 1000));

        Assert.Equal(5, import.Report.Rows);
        Assert.Equal(1, import.Report.Bad);
        Assert.Contains(import.Report.Notes, n => n.Contains("lost", StringComparison.Ordinal));
        Assert.Contains(true, traces.Columns.BreakBefore);
        Assert.Equal(3.71, traces.Channels[0].Mean[0]);
        Assert.Equal(3.91, traces.Channels[0].Mean[^1]);

        static FrameLine Decode(string line, List<Reading> readings, out long unixUs)
        {
            unixUs = 0;
            if (line == "DROPCOUNT") return FrameLine.Loss;
            var words = line.Split(' ');
            if (words.Length != 2) return FrameLine.Bad;
            unixUs = 1_790_000_000_000_000 + long.Parse(words[0], CultureInfo.InvariantCulture);
            readings.Add(new Reading(0, double.Parse(words[1], CultureInfo.InvariantCulture)));
            return FrameLine.Frame;
        }
    }

    /// <summary>Charge in and out by the trapezoid rule over good rows only.</summary>
    private static (double InAh, double OutAh) ChargeAh(List<Snapshot> snapshots)
    {
        double inAs = 0, outAs = 0;
        Snapshot? before = null;
        foreach (var s in snapshots)
        {
            if (!s.TryGetPackCurrentA(out var a)) continue;
            if (before is not null && before.TryGetPackCurrentA(out var b))
            {
                var charge = 0.5 * (a + b) * (s.Time.ElapsedS - before.Time.ElapsedS);
                if (charge > 0) inAs += charge;
                else outAs -= charge;
            }

            before = s;
        }

        return (inAs / 3600, outAs / 3600);
    }

    /// <summary>Two runs of the machine, a clock that is set, dropped boards, values off every grid.</summary>
    private static Snapshot[] Awkward()
    {
        var turn = 0;
        var first = new SyntheticPack(modules: 2)
        {
            Disturb = b =>
            {
                turn++;
                b.Values[0] = turn % 7 == 0 ? Math.PI * turn : b.Values[0];
                if (turn % 11 == 0) (b.Values[1], b.Qualities[1], b.Origins[1]) = (double.NaN, Quality.Missing, Origin.Unknown);
                if (turn % 5 == 0) b.Qualities[3] = Quality.Stale;
                if (turn % 50 == 0) b.Values[4] = double.PositiveInfinity;
            },
        }.Next(700);
        var second = new SyntheticPack(modules: 2, seed: 2) { Start = new SnapshotTime(3_000_001, 1_790_003_600_123), PeriodUs = 333_333 }.Next(300);
        var third = new SyntheticPack(modules: 2, seed: 3) { Start = new SnapshotTime(1_000_000_000, 1_790_000_000_000 - 86_400_000) }.Next(300);
        return [.. first, .. second, .. third];
    }

    private sealed class Stopper(CancellationTokenSource stop) : IProgress<double>
    {
        public void Report(double value)
        {
            if (value >= 0.3) stop.Cancel();
        }
    }
}
