using CellWatch.Core.History;

namespace CellWatch.Core.Bench;

/// <summary>A night as the cell log holds it: two readings at rest and the bleeding between them. Arrays have one entry a cell, in string order.</summary>
public sealed record NightReading
{
    /// <summary>The reading before; empty where there is none.</summary>
    public TimeRange Before { get; init; }

    /// <summary>The reading after; empty while there is none.</summary>
    public TimeRange After { get; init; }

    /// <summary>From the first bleed to the last.</summary>
    public required TimeRange Bleeding { get; init; }

    /// <summary>Mean voltage in the reading before, V; NaN where a cell was not known.</summary>
    public double[] BeforeV { get; init; } = [];

    /// <summary>Mean voltage in the reading after, V.</summary>
    public double[] AfterV { get; init; } = [];

    /// <summary>Median charge in the reading after, else before, %; NaN where the curve cannot tell.</summary>
    public double LevelPercent { get; init; } = double.NaN;

    /// <summary>Columns of the night, for the carpet.</summary>
    public required TimeColumns Columns { get; init; }

    /// <summary>Share of each column in which a cell's bleed was commanded on: one row a cell; NaN where it was not known.</summary>
    public required double[][] BleedShare { get; init; }

    /// <summary>Stretches of the night without a record.</summary>
    public IReadOnlyList<TimeRange> Holes { get; init; } = [];

    /// <summary>The night for the review; null while it cannot be judged.</summary>
    public NightRecord? Record { get; init; }

    /// <summary>A rest lower on the curve, so that capacity and charge are told apart; null where the stretch holds none.</summary>
    public LowReading? Low { get; init; }

    /// <summary>Why it cannot be judged yet, in a sentence; empty when it can.</summary>
    public string Waiting { get; init; } = "";
}
