using System.CommandLine;
using System.Globalization;
using System.Text;
using CellWatch.FrontEnds.FrameFiles;
using CellWatch.FrontEnds.SignalDatabase;

namespace CellWatch.Host.CommandLine;

/// <summary>
/// <c>decode --database X.dbc FILE</c>: a candump log or a serial-line CAN capture to one JSON object a line, in file order, for every
/// line that should be a frame.
/// </summary>
public static class DecodeCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Create()
    {
        var database = new Option<FileInfo>("--database", "-d") { Description = "Signal database (DBC)", Required = true };
        var file = new Argument<FileInfo>("FILE") { Description = "candump log or serial-line CAN capture; - reads standard input" };
        var format = new Option<FrameFileFormat>("--format") { Description = "What the file is; found out from its first lines unless said" };
        var command = new Command("decode", "Decodes a candump log or a serial-line CAN capture to one JSON object a line") { database, file, format };
        command.SetAction((result, cancellation) => Task.Run(
            () => Run(result.GetValue(database)!, result.GetValue(file)!, result.GetValue(format), result.InvocationConfiguration, cancellation), cancellation));
        return command;
    }

    private static int Run(FileInfo databaseFile, FileInfo file, FrameFileFormat format, InvocationConfiguration console, CancellationToken cancellation)
    {
        try
        {
            var database = CanDatabase.Load(databaseFile.FullName);
            foreach (var warning in database.Warnings) console.Error.WriteLine($"{databaseFile.Name}: {warning}");
            var fromStandardInput = file.Name == "-";
            using var input = fromStandardInput ? Console.OpenStandardInput() : file.OpenRead();
            using var output = OwnsConsole(console) ? new StreamWriter(Console.OpenStandardOutput(), new UTF8Encoding(false), 1 << 16) { NewLine = "\n" } : null;
            var progress = new ProgressLine(console.Error, fromStandardInput ? null : file.Length);
            var summary = FrameFileDecoder.Decode(input, database, output ?? console.Output, format, progress.Report, cancellation);
            progress.Clear();
            console.Error.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"{summary.Frames} frames, {summary.UnknownIds} of an unknown id, {summary.Undecoded} not decoded, {summary.Malformed} lines malformed{(summary.Dropped > 0 ? $", {summary.Dropped} lost before the file by its own word" : "")}."));
            return ExitCode.Ok;
        }
        catch (DatabaseException fault)
        {
            console.Error.WriteLine($"{databaseFile.FullName}: {fault.Message}");
            return ExitCode.BadInput;
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            console.Error.WriteLine(fault.Message);
            return ExitCode.Failed;
        }
    }

    private static bool OwnsConsole(InvocationConfiguration console) => ReferenceEquals(console.Output, Console.Out);
}
