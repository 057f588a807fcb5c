namespace CellWatch.Core.Snapshots;

/// <summary>
/// What a channel's value is worth. Checks and rules use only <see cref="Good"/>; everything else counts as unknown, and unknown as unsafe.
/// <c>default</c> is <see cref="Missing"/>: a channel nobody has written is not a good one.
/// </summary>
public enum Quality : byte
{
    /// <summary>Nothing has ever been read.</summary>
    Missing,

    /// <summary>Fresh and believable.</summary>
    Good,

    /// <summary>Older than its limit, or its port is gone.</summary>
    Stale,

    /// <summary>Outside what the quantity can be.</summary>
    OutOfRange,

    /// <summary>Repeats the same value while it should move.</summary>
    Stuck,

    /// <summary>The lead or sensor is open or shorted.</summary>
    Open,

    /// <summary>Contradicted by other evidence: mirrored by a neighbour, an impossible step, a copy.</summary>
    Doubtful,
}

/// <summary>Where a value comes from; apart from its quality. Permits need <see cref="Measured"/>.</summary>
public enum Origin : byte
{
    /// <summary>Not stated; never taken for measured.</summary>
    Unknown,

    /// <summary>Read from an instrument.</summary>
    Measured,

    /// <summary>Computed by a model of a pack; every page, message and file says so.</summary>
    Simulated,

    /// <summary>Played back from a log.</summary>
    Replayed,

    /// <summary>Put in by hand in place of a channel.</summary>
    Substituted,
}
