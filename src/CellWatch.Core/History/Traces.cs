using System.Collections.Immutable;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.History;

/// <summary>What a page asks for: some channels over a range, no finer than it can draw.</summary>
/// <param name="Channels">Names as <see cref="ChannelMap.NameOf"/> gives them; one that was never recorded gives a trace of gaps.</param>
/// <param name="Range">Wall time.</param>
/// <param name="MaxColumns">Most columns to give, 1 to 100,000: the width of the drawing in pixels. Range and rate decide whether a column is
/// one snapshot or many.</param>
public sealed record TraceQuery(ImmutableArray<string> Channels, TimeRange Range, int MaxColumns);

/// <summary>
/// The columns of an answer, in the order they were recorded. Columns without any record are left out, and the one after them says so.
/// </summary>
public sealed record TimeColumns
{
    /// <summary>Beginning of each column, ms since 1970; for a single snapshot its instant.</summary>
    public required long[] StartUnixMs { get; init; }

    /// <summary>Length of a column, ms; 0 where every column is a single snapshot.</summary>
    public required double ColumnMs { get; init; }

    /// <summary>
    /// Whether something is missing, or the wall clock was set, between the column before and this one: a line must not be drawn across. Same length.
    /// </summary>
    public required bool[] BreakBefore { get; init; }

    /// <summary>Snapshots in each column. Same length.</summary>
    public required int[] Snapshots { get; init; }

    /// <summary>How many.</summary>
    public int Count => StartUnixMs.Length;
}

/// <summary>One channel over the columns. All arrays have one entry a column; NaN where the channel had no good value.</summary>
public sealed record Trace
{
    /// <summary>The channel's name.</summary>
    public required string Channel { get; init; }

    /// <summary>Its unit; empty for a flag or an unknown channel.</summary>
    public required string Unit { get; init; }

    /// <summary>Least good value.</summary>
    public required double[] Min { get; init; }

    /// <summary>Greatest good value.</summary>
    public required double[] Max { get; init; }

    /// <summary>Mean of the good values.</summary>
    public required double[] Mean { get; init; }

    /// <summary>How many good values.</summary>
    public required int[] Good { get; init; }

    /// <summary>Where every column is a single snapshot: the value's quality, else null. A value that is not good is in <see cref="Raw"/>, never in the others.</summary>
    public Quality[]? Quality { get; init; }

    /// <summary>Where every column is a single snapshot: the value as it came, whatever its quality, else null.</summary>
    public double[]? Raw { get; init; }
}

/// <summary>Answer to a <see cref="TraceQuery"/>.</summary>
/// <param name="Columns">The columns all traces share.</param>
/// <param name="Channels">One trace a channel, in the order asked.</param>
public sealed record Traces(TimeColumns Columns, ImmutableArray<Trace> Channels);

/// <summary>Which channels an envelope spans.</summary>
public enum EnvelopeOf
{
    /// <summary>All cells' voltages, V.</summary>
    Cells,

    /// <summary>All modules' temperatures, degC.</summary>
    Temperatures,
}

/// <summary>Least, mean and greatest of all cells (or temperatures) over the columns; NaN where none was good.</summary>
/// <param name="Columns">The columns.</param>
/// <param name="Min">Least good value of any channel.</param>
/// <param name="Mean">Mean of all good values.</param>
/// <param name="Max">Greatest good value of any channel.</param>
/// <param name="Known">Channels that were good, on average over the column's snapshots.</param>
public sealed record Envelope(TimeColumns Columns, double[] Min, double[] Mean, double[] Max, double[] Known);
