namespace CellWatch.Core.Bench.Project;

/// <summary>Closes a run with what the cell log holds of it since it began.</summary>
public interface IRunCloser
{
    /// <summary>Whether a module's channels are among those the log records.</summary>
    bool Records(string module);

    /// <summary>Reads the run's stretch, judges it and keeps the result.</summary>
    /// <param name="by">Who closes it.</param>
    /// <param name="runId">The run.</param>
    /// <param name="cancellation">Stops the reading; nothing is kept then.</param>
    /// <returns>The finding.</returns>
    /// <exception cref="Register.RefusedException">It cannot be closed with what there is; the message says why and what to do.</exception>
    Task<string> CloseAsync(string by, string runId, CancellationToken cancellation = default);
}
