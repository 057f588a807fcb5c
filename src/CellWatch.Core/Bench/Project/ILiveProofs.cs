using CellWatch.Core.Register;

namespace CellWatch.Core.Bench.Project;

/// <summary>What is on the current sensor while it is read.</summary>
public enum CurrentStep
{
    /// <summary>Nothing.</summary>
    Zero,

    /// <summary>A load, with a clamp meter around it.</summary>
    Load,

    /// <summary>A charger.</summary>
    Charger,
}

/// <summary>A proof read live at a press.</summary>
/// <param name="Kept">Whether an attempt was kept; a first reading of several is only noted.</param>
/// <param name="Passed">Whether it passed.</param>
/// <param name="Sentence">What was found.</param>
public sealed record LiveProof(bool Kept, bool Passed, string Sentence);

/// <summary>Readings of the current sensor so far; null: not read yet.</summary>
public sealed record CurrentSoFar(double? ZeroA, double? LoadedA, double? MeterA);

/// <summary>
/// Proofs read from the live scans at a press: the last seconds of the cell log, judged by the same judges as readings typed in, kept with their stretch
/// of the log at full rate.
/// </summary>
public interface ILiveProofs
{
    /// <summary>What was read of the current sensor so far.</summary>
    CurrentSoFar Current { get; }

    /// <summary>A hand was held on a sensor: names the sensor that rose and keeps the attempt.</summary>
    /// <param name="by">Who.</param>
    /// <param name="sensor">The sensor the hand was on.</param>
    /// <param name="seconds">How far back the stretch goes, 20 to 600 s: it begins before the hand.</param>
    /// <param name="cancellation">Ends it before anything is kept.</param>
    /// <exception cref="RefusedException">The data do not allow it; the message says why.</exception>
    Task<LiveProof> WarmHandAsync(string by, string sensor, double seconds, CancellationToken cancellation = default);

    /// <summary>Reads the current sensor with nothing, a load or a charger on it. The load and the charger are judged and kept.</summary>
    /// <param name="by">Who.</param>
    /// <param name="step">What is on it.</param>
    /// <param name="meterA">The clamp meter at the load, A, as a positive figure.</param>
    /// <param name="cancellation">Ends it before anything is kept.</param>
    /// <exception cref="RefusedException">The data do not allow it, or a reading before it is missing.</exception>
    Task<LiveProof> CurrentAsync(string by, CurrentStep step, double? meterA, CancellationToken cancellation = default);

    /// <summary>Sum of the cells and the string's channel against a hand meter.</summary>
    /// <param name="by">Who.</param>
    /// <param name="meterV">The hand meter, V.</param>
    /// <param name="cancellation">Ends it before anything is kept.</param>
    /// <exception cref="RefusedException">The data do not allow it.</exception>
    Task<LiveProof> StringVoltageAsync(string by, double meterV, CancellationToken cancellation = default);
}
