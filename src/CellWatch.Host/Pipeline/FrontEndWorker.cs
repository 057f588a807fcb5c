namespace CellWatch.Host.Pipeline;

/// <summary>Runs every front end on a task of its own; a front end whose task ends by a fault is said once and the others go on.</summary>
public sealed partial class FrontEndWorker(IReadOnlyList<WiredFrontEnd> frontEnds, HistoryFiller past, ILogger<FrontEndWorker> log) : BackgroundService
{
    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        // Opened any earlier, emulated boards that do not speak yet would be taken for silent ones.
        await past.BoardsSpeak.WaitAsync(stoppingToken).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        await Task.WhenAll(frontEnds.Select(f => Task.Run(() => RunAsync(f, stoppingToken), CancellationToken.None)));
    }

    private async Task RunAsync(WiredFrontEnd wired, CancellationToken cancellation)
    {
        try
        {
            await wired.FrontEnd.RunAsync(cancellation);
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
            // Asked to stop.
        }
#pragma warning disable CA1031 // The stage border: one front end's mistake must not take the others along; its channels grow stale and say so.
        catch (Exception fault)
#pragma warning restore CA1031
        {
            LogEnded(fault, wired.FrontEnd.Name);
        }
    }

    [LoggerMessage(Level = LogLevel.Error, Message = "Instrument {Name}: its task ended by a fault; its cells stay unknown until the service is started again")]
    private partial void LogEnded(Exception fault, string name);
}
