namespace CellWatch.Core.Bench.Project;

/// <summary>
/// The bench as the pages see it: the same project, by the same door, as the HTTP API and the command line. Nothing is worked out on the other side
/// of it.
/// </summary>
public interface IBenchDesk
{
    /// <summary>Raised after something was entered by anyone, on that caller's thread.</summary>
    event Action? Changed;

    /// <summary>What is being done before the records are there, in words; null when they are.</summary>
    string? Preparing { get; }

    /// <summary>Wall time of the pack's clock.</summary>
    DateTimeOffset Now { get; }

    /// <summary>Whether everything entered here is marked as simulated.</summary>
    bool Simulated { get; }

    /// <summary>Reads.</summary>
    T Read<T>(Func<BenchProject, T> read);

    /// <summary>Enters something under the name a person typed.</summary>
    /// <exception cref="Register.RefusedException">It cannot be taken; the message is the sentence to show.</exception>
    T Enter<T>(string? by, Func<BenchProject, Stamp, T> enter);

    /// <summary>Reports that can be made now, the newest first.</summary>
    IReadOnlyList<ReportEntry> Reports();
}

/// <summary>A report that can be made now.</summary>
/// <param name="Kind">Kind, as in the address.</param>
/// <param name="Title">Title.</param>
/// <param name="About">What it is about; empty where there is only one.</param>
/// <param name="Date">Date of the newest record in it.</param>
/// <param name="Revision">Revision of that record.</param>
/// <param name="Limits">Fingerprint of the limits that applied: the grading's where it rests on a grade, else of all settings.</param>
/// <param name="Uncertainty">How its figures are hedged, in words; empty where it holds none.</param>
/// <param name="Note">Its finding, or what changed since the last one.</param>
/// <param name="Simulated">Whether any figure in it is simulated.</param>
/// <param name="Since">What changed against the one before it, or that there is none before it; empty where the note says it.</param>
public sealed record ReportEntry(
    string Kind, string Title, string About, DateTimeOffset Date, int Revision, string Limits, string Uncertainty, string Note, bool Simulated, string Since = "");
