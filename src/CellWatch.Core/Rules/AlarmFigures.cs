using System.Collections.Immutable;

namespace CellWatch.Core.Rules;

/// <summary>An alarm and how often it was raised in the last day.</summary>
/// <param name="Id">The alarm.</param>
/// <param name="Count">Times raised.</param>
public sealed record AlarmRepeat(string Id, int Count);

/// <summary>
/// How the alarms themselves are doing. Aims as commonly quoted from ISA-18.2 / IEC 62682 (not opened): about six an hour, no more than
/// ten in ten minutes, none chattering, fewer than five active for a day, shares about 80 / 15 / 5 % low / medium / high.
/// </summary>
public sealed record AlarmFigures
{
    /// <summary>Raised in the last ten minutes, window (t−600 s, t].</summary>
    public int InTenMinutes { get; init; }

    /// <summary>Raised in the last day.</summary>
    public int InDay { get; init; }

    /// <summary>More than ten in ten minutes; over when under five.</summary>
    public bool Flood { get; init; }

    /// <summary>Active for longer than a day.</summary>
    public ImmutableArray<string> LongStanding { get; init; } = [];

    /// <summary>Raised three times within a minute in the last day.</summary>
    public ImmutableArray<string> Chattering { get; init; } = [];

    /// <summary>The worst repeaters of the last day, at most five.</summary>
    public ImmutableArray<AlarmRepeat> Repeaters { get; init; } = [];

    /// <summary>Raised in the last day with low priority.</summary>
    public int Low { get; init; }

    /// <summary>With medium priority.</summary>
    public int Medium { get; init; }

    /// <summary>With high priority.</summary>
    public int High { get; init; }
}
