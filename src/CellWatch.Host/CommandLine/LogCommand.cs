using System.CommandLine;
using CellWatch.Core.History;
using CellWatch.Host.Api.History;
using CellWatch.Log;
using CellWatch.Log.Maintenance;

namespace CellWatch.Host.CommandLine;

/// <summary><c>log check|repair|export|import</c>: a site's cell log from the command line.</summary>
public static partial class LogCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Create() => new("log", "Checks, repairs, exports and imports a cell log") { Check(), Repair(), Export(), Import() };

    private static Command Check()
    {
        var file = LogFile();
        var command = new Command("check", "Reads everything in a log and says what is lost and what stands in; changes nothing, also while a service is writing") { file };
        command.SetAction((result, cancellation) => RunAsync(result.InvocationConfiguration, async (console, progress) =>
        {
            var report = await Task.Run(() => LogMaintenance.Check(result.GetValue(file)!.FullName, progress), cancellation);
            progress.Clear();
            console.Output.Write(report.InWords());
            return report.IsSound ? ExitCode.Ok : ExitCode.BadInput;
        }));
        return command;
    }

    private static Command Repair()
    {
        var file = LogFile();
        var command = new Command("repair", "Writes a new log of everything that reads; the damaged one is kept beside it, untouched") { file };
        command.SetAction((result, cancellation) => RunAsync(result.InvocationConfiguration, async (console, progress) =>
        {
            var report = await Task.Run(() => LogMaintenance.Repair(result.GetValue(file)!.FullName, TimeProvider.System.GetUtcNow(), progress), cancellation);
            progress.Clear();
            console.Output.WriteLine("Found:");
            console.Output.Write(report.Found.InWords());
            console.Output.WriteLine($"The damaged file is kept as {report.DamagedFile}.");
            console.Output.WriteLine("Now:");
            console.Output.Write(report.After.InWords());
            return ExitCode.Ok;
        }));
        return command;
    }

    private static Argument<FileInfo> LogFile() => new("LOG") { Description = "The cell log, a .cells.db file" };

    private static Option<string?> FromOption() => new("--from") { Description = "First instant, RFC 3339 with an offset: 2026-11-25T02:00:00Z; left out, from the beginning" };

    private static Option<string?> ToOption() => new("--to") { Description = "End, not included; left out, to the end" };

    private static TimeRange Range(string? from, string? to) => HistoryQuestion.TryRange(from, to, out var range, out var refusal) ? range : throw new InvalidDataException(refusal);

    /// <summary>Runs a command with a line of progress, and says in a sentence what went wrong.</summary>
    private static async Task<int> RunAsync(InvocationConfiguration console, Func<InvocationConfiguration, ShareLine, Task<int>> run)
    {
        var progress = new ShareLine(console.Error);
        try
        {
            return await run(console, progress);
        }
        catch (OperationCanceledException)
        {
            progress.Clear();
            console.Error.WriteLine("Stopped.");
            return ExitCode.Failed;
        }
        catch (InvalidDataException fault)
        {
            progress.Clear();
            console.Error.WriteLine(fault.Message);
            return ExitCode.BadInput;
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException or LogInUseException)
        {
            progress.Clear();
            console.Error.WriteLine(fault.Message);
            return ExitCode.Failed;
        }
    }

    /// <summary>Progress given as a share, 0 to 1.</summary>
    private sealed class ShareLine(TextWriter error) : IProgress<double>
    {
        private readonly ProgressLine _line = new(error, 10_000);

        public void Report(double value) => _line.Report((long)(value * 10_000));

        public void Clear() => _line.Clear();
    }
}
