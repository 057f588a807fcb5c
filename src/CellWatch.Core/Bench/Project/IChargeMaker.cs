using CellWatch.Core.History;
using CellWatch.Core.Register;

namespace CellWatch.Core.Bench.Project;

/// <summary>Makes the record of a charge out of the cell log.</summary>
public interface IChargeMaker
{
    /// <summary>The newest charge of the log that is over; null where there is none.</summary>
    Task<RunRecord?> LastAsync(CancellationToken cancellation = default);

    /// <summary>Works a record out and keeps it.</summary>
    /// <param name="by">Who asks.</param>
    /// <param name="order">Which charge, and what the log does not know.</param>
    /// <param name="cancellation">Ends it before anything is kept.</param>
    /// <exception cref="RefusedException">The log holds no such charge; the message says what to do.</exception>
    Task<Kept<ChargeRecord>> MakeAsync(string by, ChargeOrder order, CancellationToken cancellation = default);
}
