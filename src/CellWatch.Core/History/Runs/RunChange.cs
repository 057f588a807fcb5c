using CellWatch.Core.Snapshots;

namespace CellWatch.Core.History.Runs;

/// <summary>Why a recognised run ended.</summary>
public enum RunEnd : byte
{
    /// <summary>The pack stopped doing it.</summary>
    Over,

    /// <summary>The pack began something else.</summary>
    AnotherBegan,

    /// <summary>The current was not known for longer than a run goes on across.</summary>
    DataEnd,
}

/// <summary>What a run amounted to, from its beginning to the last instant that belongs to it.</summary>
/// <param name="ChargeInAh">Charge put in where the current was known, Ah, 0 or above.</param>
/// <param name="ChargeOutAh">Charge taken out where the current was known, Ah, 0 or above.</param>
/// <param name="GapCount">Times without a known current; nothing is counted in them.</param>
/// <param name="GapS">How long they were together, s.</param>
public readonly record struct RunFigures(double ChargeInAh, double ChargeOutAh, int GapCount, double GapS);

/// <summary>A run that was recognised. It begins where it began to show, which is before it was sure.</summary>
/// <param name="Kind">What for.</param>
/// <param name="From">Its beginning.</param>
public readonly record struct RunBegan(RunKind Kind, SnapshotTime From);

/// <summary>A recognised run that ended.</summary>
/// <param name="Kind">What it was.</param>
/// <param name="From">Its beginning.</param>
/// <param name="To">The last instant that belongs to it.</param>
/// <param name="Why">Why it ended.</param>
/// <param name="Figures">What it amounted to.</param>
public readonly record struct RunEnded(RunKind Kind, SnapshotTime From, SnapshotTime To, RunEnd Why, RunFigures Figures);
