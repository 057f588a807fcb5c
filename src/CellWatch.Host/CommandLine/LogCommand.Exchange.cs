using System.CommandLine;
using System.Globalization;
using System.Text;
using CellWatch.Core.History;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds;
using CellWatch.FrontEnds.FrameFiles;
using CellWatch.Host.Site;
using CellWatch.Log;
using CellWatch.Log.Exchange;

namespace CellWatch.Host.CommandLine;

/// <summary>Out to files that other programs read, and in again.</summary>
public static partial class LogCommand
{
    private static Command Export()
    {
        var file = LogFile();
        var output = new Option<FileSystemInfo>("--out", "-o") { Description = "The file to write; for bdf and attachments the folder", Required = true };
        var format = new Option<string>("--format") { Description = "csv (RFC 4180), parquet, bdf: one file a cell with Battery Data Format labels, or attachments: photographs and certificates with a table of them", DefaultValueFactory = _ => "csv" };
        format.AcceptOnlyFromAmong("csv", "parquet", "bdf", "attachments");
        var institution = new Option<string>("--institution") { Description = "First part of the names of bdf files, letters and digits", DefaultValueFactory = _ => "Workshop" };
        var (from, to) = (FromOption(), ToOption());
        var command = new Command("export", "Writes full-rate history to files, with a side file that says what the columns are; no half file is left when stopped") { file, output, format, from, to, institution };
        command.SetAction((result, cancellation) => RunAsync(result.InvocationConfiguration, async (console, progress) =>
        {
            var (range, target) = (Range(result.GetValue(from), result.GetValue(to)), result.GetValue(output)!.FullName);
            using var history = LogHistory.Open(result.GetValue(file)!.FullName);
            Directory.CreateDirectory(result.GetValue(format) is "bdf" or "attachments" ? target : Path.GetDirectoryName(target)!);
            var files = result.GetValue(format) switch
            {
                "parquet" => await LogExport.ToParquetAsync(history, range, target, progress, cancellation),
                "bdf" => await BdfExport.WriteAsync(history, range, target, result.GetValue(institution)!, progress, cancellation),
                "attachments" => await AttachmentExport.WriteAsync(history, range, target, progress, cancellation),
                _ => await LogExport.ToCsvAsync(history, range, target, progress, cancellation),
            };
            progress.Clear();
            foreach (var written in files) console.Output.WriteLine(written);
            if (files.Count == 0) console.Error.WriteLine("There is nothing of that kind in that range: nothing was written.");
            return files.Count == 0 ? ExitCode.BadInput : ExitCode.Ok;
        }));
        return command;
    }

    private static Command Import()
    {
        var data = new Argument<FileInfo>("DATA") { Description = "An export of this program (csv or parquet), any csv or parquet with units in its headings or Battery Data Format labels, also .bdf and .gz, or a candump log" };
        var into = new Option<FileInfo>("--into") { Description = "The log it goes into; made where it is not there", Required = true };
        var site = new Option<FileInfo?>("--site", "-s") { Description = "For a candump log: the site file whose front ends name the signal database and which signal is which cell" };
        var module = new Option<string>("--module") { Description = "For a table: the module its cells belong to", DefaultValueFactory = _ => "M1" };
        var cell = new Option<int>("--cell") { Description = "For a table with one voltage: which cell it is, from 1", DefaultValueFactory = _ => 1 };
        var start = new Option<DateTimeOffset?>("--start") { Description = "For a table without a wall clock: the instant of its time zero" };
        var command = new Command("import", "Reads measured data into a log; every row is kept, and one whose clock went back is marked and not used") { data, into, site, module, cell, start };
        command.SetAction((result, cancellation) => RunAsync(result.InvocationConfiguration, async (console, progress) =>
        {
            var path = result.GetValue(data)!.FullName;
            if (!File.Exists(path)) throw new FileNotFoundException($"There is no file {path}.", path);
            var table = new TableImportOptions
            {
                Module = ModuleId.IsValid(result.GetValue(module)) ? new ModuleId(result.GetValue(module)!) : throw new InvalidDataException($"--module is '{result.GetValue(module)}'; a module has one to eight letters or digits, for example B07."),
                Cell = result.GetValue(cell) is >= 1 and <= ModuleTopology.MaxSeries and var number ? number : throw new InvalidDataException($"--cell is {result.GetValue(cell)}; allowed are 1 to {ModuleTopology.MaxSeries}."),
                Start = result.GetValue(start) ?? new TableImportOptions().Start,
            };
            var frames = Path.GetExtension(path).Equals(".log", StringComparison.OrdinalIgnoreCase) ? Frames(result.GetValue(site), console.Error) : null;
            await using var log = CellLog.Open(result.GetValue(into)!.FullName);
            var (count, report) = await ReadAsync(path, table, frames, log, progress, cancellation);
            log.RecordEvent("imported", $"{Path.GetFileName(path)} was imported.", new SnapshotTime(0, TimeProvider.System.GetUtcNow().ToUnixTimeMilliseconds()));
            await log.FlushAsync().WaitAsync(cancellation);
            progress.Clear();
            console.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{count} snapshots were written to {result.GetValue(into)!.FullName}."));
            foreach (var note in report?.Notes ?? []) console.Output.WriteLine(note);
            foreach (var (column, words) in report?.Legend ?? new Dictionary<string, List<string>>()) console.Output.WriteLine($"Column '{column}' is kept as numbers: {string.Join(", ", words.Select((w, i) => string.Create(CultureInfo.InvariantCulture, $"{i} = {w}")))}.");
            return ExitCode.Ok;
        }));
        return command;
    }

    private static async Task<(long Count, ImportReport? Report)> ReadAsync(string path, TableImportOptions options, FrameLogImport? frames, CellLog log, ShareLine progress, CancellationToken cancellation)
    {
        if (frames is not null) return (await log.AppendAllAsync(frames.Read(Lines(path, progress)), cancellation), frames.Report);
        if (Path.GetExtension(path).Equals(".parquet", StringComparison.OrdinalIgnoreCase) && ExportImport.IsOwn(path))
            return (await log.AppendAllAsync(ExportImport.FromParquetAsync(path, progress, cancellation), cancellation), null);
        if (ExportImport.IsOwn(path)) return (await log.AppendAllAsync(ExportImport.FromCsv(path, progress), cancellation), null);
        var table = new TableImport(path, options);
        return (await log.AppendAllAsync(table.ReadAsync(progress, cancellation), cancellation), table.Report);
    }

    /// <summary>A candump log is read as the site's front ends would have read the frames.</summary>
    private static FrameLogImport Frames(FileInfo? siteFile, TextWriter error)
    {
        if (siteFile is null) throw new InvalidDataException("A candump log needs --site: the site file names the signal database and which signal is which cell.");
        if (SiteArgument.Read(siteFile, error) is not { } site) throw new InvalidDataException("The site file cannot be used.");
        var map = new ChannelMap(site.Layout);
        try
        {
            var reader = new FrameReadings(site.Document.FrontEnds.Select(f => SiteFrontEnds.Expand(f, site.Folder)), map, site.Folder);
            return new FrameLogImport(map, (string line, List<Reading> readings, out long unixUs) => Decode(reader, line, readings, out unixUs));
        }
        catch (FrontEndOptionsException fault)
        {
            throw new InvalidDataException(fault.Message, fault);
        }
    }

    private static FrameLine Decode(FrameReadings reader, string line, List<Reading> readings, out long unixUs)
    {
        Span<byte> ascii = stackalloc byte[CandumpLine.Longest];
        unixUs = 0;
        if (line.Length > ascii.Length) return FrameLine.Bad;
        var kind = reader.Read(ascii[..Encoding.ASCII.GetBytes(line, ascii)], readings, out var time, out var isTaken);
        unixUs = time.Microseconds;
        return kind switch
        {
            CandumpLineKind.Dropped => FrameLine.Loss,
            CandumpLineKind.Rejected => FrameLine.Bad,
            CandumpLineKind.Frame when isTaken => FrameLine.Frame,
            _ => FrameLine.Other,
        };
    }

    private static IEnumerable<string> Lines(string path, ShareLine progress)
    {
        using var stream = File.OpenRead(path);
        using var text = new StreamReader(stream, Encoding.ASCII);
        for (long lines = 0; text.ReadLine() is { } line; lines++)
        {
            if (lines % 4096 == 0) progress.Report((double)stream.Position / Math.Max(1, stream.Length));
            yield return line;
        }
    }
}
