using System.ComponentModel;
using System.Globalization;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Register;
using CellWatch.Host.Pipeline;
using CellWatch.Log.BenchRecords;

namespace CellWatch.Host.Bench;

/// <summary>A sample project for a simulated pack.</summary>
/// <param name="Site">The site its records belong to.</param>
/// <param name="Story">The story whose opening the project leads up to.</param>
/// <param name="Language">The language its sentences are made in, as it was asked for.</param>
public sealed record BenchSample(BenchSite Site, string Story, string Language);

/// <summary>
/// Gives the demo's bench its records. They are entered through the HTTP door like a person's, in a process of their own that ends with all it
/// took, and then added to the demo's file at once, so that the pages never see half a project. A file that has records already is left as it is.
/// </summary>
public sealed partial class SampleFiller(BenchSample sample, ServicePlan plan, BenchDoor door, IRecordStore store, HistoryFiller history, ILogger<SampleFiller> log) : BackgroundService
{
    /// <inheritdoc/>
    public override Task StartAsync(CancellationToken cancellationToken)
    {
        if (store.All().Count > 0) return Task.CompletedTask;
        door.Prepare(T("the sample project is being entered, step by step; a few seconds."));
        return base.StartAsync(cancellationToken);
    }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        var file = Path.ChangeExtension(plan.LogFile, ".sample-project");
        try
        {
            await history.BoardsSpeak.WaitAsync(stoppingToken);
            await OwnProgram.RunAsync(
                ["bench", "petrel", "--make-only", "--file", file, "--story", sample.Story, "--language", sample.Language, "--until", door.Now.ToString("O", CultureInfo.InvariantCulture)], stoppingToken);
            LogFilled(Add(file));
            StartUpMemory.GiveBack();
        }
        catch (OperationCanceledException)
        {
            // The program stops; the next start begins again, because nothing was added.
        }
        catch (Exception fault) when (fault is InvalidDataException or IOException or RefusedException or Win32Exception or UnauthorizedAccessException)
        {
            LogFailed(fault);
        }
        finally
        {
            door.Prepare(null);
            TryRemove(file);
        }
    }

    private static void TryRemove(string file)
    {
        try
        {
            foreach (var left in new[] { file, file + "-wal", file + "-shm" }) File.Delete(left);
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            // It stays beside the log and harms nobody; what mattered of it is in there.
        }
    }

    private int Add(string file)
    {
        using var made = SqliteRecordStore.Open(file);
        RecordDraft[] drafts = [.. made.All().Select(r => new RecordDraft(r.Kind, r.Key, r.Revision - 1, r.By, r.At, r.Simulated, r.Json))];
        foreach (var sha256 in made.Files()) store.KeepFile(sha256, made.File(sha256)!);
        store.AppendAll(drafts);
        return drafts.Length;
    }

    [LoggerMessage(Level = LogLevel.Information, Message = "The sample project's {Records} records were added; all simulated")]
    private partial void LogFilled(int records);

    [LoggerMessage(Level = LogLevel.Error, Message = "The sample project could not be entered")]
    private partial void LogFailed(Exception fault);
}
