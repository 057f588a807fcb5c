using CellWatch.Core.Bench.Project;
using CellWatch.Core.Register;
using CellWatch.Host.Reports;

namespace CellWatch.Host.Bench;

/// <summary>
/// The one way to the bench project: one caller at a time, the service's clock, and the mark of a simulated pack on everything entered while one
/// is running. Tells when something may have changed.
/// </summary>
/// <param name="project">The project.</param>
/// <param name="time">The clock of wall time.</param>
/// <param name="simulated">Whether the pack is simulated.</param>
public sealed class BenchDoor(BenchProject project, TimeProvider time, bool simulated) : IBenchDesk
{
    private readonly Lock gate = new();

    /// <inheritdoc/>
    public event Action? Changed;

    /// <inheritdoc/>
    public string? Preparing { get; private set; }

    /// <inheritdoc/>
    public DateTimeOffset Now => time.GetLocalNow();

    /// <inheritdoc/>
    public bool Simulated => simulated;

    /// <inheritdoc/>
    public TAnswer Read<TAnswer>(Func<BenchProject, TAnswer> read)
    {
        lock (gate) return read(project);
    }

    /// <inheritdoc/>
    public TAnswer Enter<TAnswer>(string? by, Func<BenchProject, Stamp, TAnswer> enter) => Enter(by, false, enter);

    /// <summary>Enters something.</summary>
    /// <param name="by">The name the person typed.</param>
    /// <param name="isSimulated">Whether the caller says that a figure is simulated.</param>
    /// <param name="enter">What is entered.</param>
    /// <exception cref="RefusedException">It cannot be taken; nothing was stored.</exception>
    public TAnswer Enter<TAnswer>(string? by, bool isSimulated, Func<BenchProject, Stamp, TAnswer> enter)
    {
        RefusedException.Unless(!string.IsNullOrWhiteSpace(by), T("Say who you are: every record carries a name."));
        RefusedException.Unless(Preparing is null, T($"Not yet: {Preparing}"));
        try
        {
            lock (gate) return enter(project, new Stamp(by!.Trim(), time.GetLocalNow(), simulated || isSimulated));
        }
        finally
        {
            // Also after a refusal: a failed proof is kept, and it may take others away.
            Changed?.Invoke();
        }
    }

    /// <inheritdoc/>
    public IReadOnlyList<ReportEntry> Reports() => Read(p => new BenchReports(p).List());

    /// <summary>Says what is still being done before the records are there; null when they are.</summary>
    public void Prepare(string? what)
    {
        Preparing = what;
        Changed?.Invoke();
    }
}
