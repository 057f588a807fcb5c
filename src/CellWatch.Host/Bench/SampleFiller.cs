using CellWatch.Core.Bench.Project;
using CellWatch.Core.Register;
using CellWatch.Host.Pipeline;

namespace CellWatch.Host.Bench;

/// <summary>A sample project for a simulated pack.</summary>
/// <param name="Site">The site its records belong to.</param>
/// <param name="Steps">Its steps up to an instant.</param>
public sealed record BenchSample(BenchSite Site, Func<DateTimeOffset, IEnumerable<ProjectStep>> Steps);

/// <summary>
/// Gives the demo's bench its records. They are entered by a door of their own like a person's, in memory, and then added to the demo's file at
/// once, so that the pages never see half a project. A file that has records already is left as it is.
/// </summary>
public sealed partial class SampleFiller(BenchSample sample, BenchDoor door, IRecordStore store, HistoryFiller history, ILogger<SampleFiller> log) : BackgroundService
{
    /// <summary>Between two steps the boards, the engine and the page that has just been opened come first.</summary>
    private static readonly TimeSpan Breather = TimeSpan.FromMilliseconds(10);

    /// <inheritdoc/>
    public override Task StartAsync(CancellationToken cancellationToken)
    {
        if (store.All().Count > 0) return Task.CompletedTask;
        door.Prepare("the sample project is being entered, step by step; a few seconds.");
        return base.StartAsync(cancellationToken);
    }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        try
        {
            await history.BoardsSpeak.WaitAsync(stoppingToken);
            var made = new MemoryRecordStore();
            await SampleProject.EnterAsync(sample.Site, sample.Steps(door.Now), () => made, Breather, stoppingToken);
            store.AppendAll([.. made.All().Select(r => new RecordDraft(r.Kind, r.Key, r.Revision - 1, r.By, r.At, r.Simulated, r.Json))]);
            LogFilled(made.All().Count);
            StartUpMemory.GiveBack();
            door.Prepare(null);
        }
        catch (OperationCanceledException)
        {
            // The program stops; the next start begins again, because nothing was added.
        }
        catch (Exception fault) when (fault is InvalidDataException or IOException or RefusedException)
        {
            LogFailed(fault);
            door.Prepare(null);
        }
    }

    [LoggerMessage(Level = LogLevel.Information, Message = "The sample project's {Records} records were added; all simulated")]
    private partial void LogFilled(int records);

    [LoggerMessage(Level = LogLevel.Error, Message = "The sample project could not be entered")]
    private partial void LogFailed(Exception fault);
}
