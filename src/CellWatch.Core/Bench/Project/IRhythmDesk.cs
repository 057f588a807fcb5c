using CellWatch.Core.Proofs;

namespace CellWatch.Core.Bench.Project;

/// <summary>A rhythm while it is played.</summary>
/// <param name="Order">What was asked for.</param>
/// <param name="By">Who asked.</param>
/// <param name="Count">What to do with the load now.</param>
/// <param name="Rhythm">The whole rhythm.</param>
/// <param name="ElapsedS">Seconds since it began.</param>
/// <param name="Scans">Scans recorded.</param>
/// <param name="SoFar">What the complete cycles say; null before the first.</param>
public sealed record RhythmView(RhythmOrder Order, string By, RhythmCount Count, LoadRhythm Rhythm, double ElapsedS, int Scans, RhythmOutcome? SoFar);

/// <summary>How the last rhythm ended.</summary>
/// <param name="Order">What was asked for.</param>
/// <param name="Outcome">The verdict as kept; null where nothing was judged.</param>
/// <param name="Sentence">What to say.</param>
/// <param name="At">When.</param>
public sealed record RhythmResult(RhythmOrder Order, RhythmOutcome? Outcome, string Sentence, DateTimeOffset At);

/// <summary>
/// Plays a rhythm on live data, one at a time: the builder switches a load on and off after the count, the program correlates the scans and keeps
/// the proof. Safe from any thread.
/// </summary>
public interface IRhythmDesk
{
    /// <summary>Raised when the count or the verdict so far changed, on the pack's own task or a task of the desk: a handler only notes it.</summary>
    event Action? Changed;

    /// <summary>The rhythm being played; null when none is.</summary>
    RhythmView? Playing { get; }

    /// <summary>How the last one ended; null before.</summary>
    RhythmResult? Last { get; }

    /// <summary>Whether the model's load can follow the count: only of a simulated pack.</summary>
    bool CanSimulateLoad { get; }

    /// <summary>Begins.</summary>
    /// <exception cref="Register.RefusedException">It may not be played now; the message says why.</exception>
    RhythmView Begin(string by, RhythmOrder order);

    /// <summary>Stops it without a verdict.</summary>
    /// <exception cref="Register.RefusedException">None is being played, or nobody is named.</exception>
    void Stop(string by);
}
