using CellWatch.Core.Pack;

namespace CellWatch.Log.Exchange;

/// <summary>What a table of measured data does not say itself.</summary>
public sealed record TableImportOptions
{
    /// <summary>Name of the site in the layout it is given.</summary>
    public string Site { get; init; } = "import";

    /// <summary>Module its cells belong to.</summary>
    public ModuleId Module { get; init; } = new("M1");

    /// <summary>Number of the cell where the table has one voltage only, counted from the module's negative end, from 1.</summary>
    public int Cell { get; init; } = 1;

    /// <summary>Wall time of time zero, where the table has no wall clock.</summary>
    public DateTimeOffset Start { get; init; } = new(2000, 1, 1, 0, 0, 0, TimeSpan.Zero);
}
