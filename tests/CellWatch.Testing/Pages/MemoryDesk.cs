using CellWatch.Core.Bench.Project;
using CellWatch.Core.Register;

namespace CellWatch.Testing.Pages;

/// <summary>A bench in memory for pages under test, with a clock that stands.</summary>
public sealed class MemoryDesk : IBenchDesk
{
    private readonly BenchProject project;

    /// <summary>Begins empty.</summary>
    public MemoryDesk() => project = new BenchProject(Store, BenchSite.For(Petrel.Layout, Core.Pack.CellType.Nmc420, "red button on the station", "0.9"));

    /// <summary>Where the records are.</summary>
    public MemoryRecordStore Store { get; } = new();

    /// <inheritdoc/>
    public event Action? Changed;

    /// <inheritdoc/>
    public string? Preparing { get; set; }

    /// <inheritdoc/>
    public DateTimeOffset Now { get; } = new(2026, 3, 9, 14, 0, 0, TimeSpan.Zero);

    /// <inheritdoc/>
    public bool Simulated => true;

    /// <summary>Reports to list.</summary>
    public IReadOnlyList<ReportEntry> Listed { get; set; } = [];

    /// <inheritdoc/>
    public T Read<T>(Func<BenchProject, T> read) => read(project);

    /// <inheritdoc/>
    public T Enter<T>(string? by, Func<BenchProject, Stamp, T> enter)
    {
        RefusedException.Unless(!string.IsNullOrWhiteSpace(by), "Say who you are.");
        try
        {
            return enter(project, new Stamp(by!, Now, true));
        }
        finally
        {
            Changed?.Invoke();
        }
    }

    /// <inheritdoc/>
    public IReadOnlyList<ReportEntry> Reports() => Listed;
}
