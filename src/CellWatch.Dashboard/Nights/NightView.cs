using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Register;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Nights;

/// <summary>A night as the page shows it: found in the log this morning, or kept among the bench records.</summary>
public sealed record NightView
{
    /// <summary>How far back a night is looked for, ms.</summary>
    public const long ReachMs = 60L * 3_600_000;

    private const int Columns = 720;

    /// <summary>Name in the address and among the records.</summary>
    public required string Key { get; init; }

    /// <summary>Name on its press: a date, or the record's own.</summary>
    public required string Name { get; init; }

    /// <summary>Whether it comes from the log and is not kept yet.</summary>
    public bool FromLog { get; init; }

    /// <summary>The log's reading; null for a kept record.</summary>
    public NightReading? Reading { get; init; }

    /// <summary>Distances of all cells through the night, for the carpet; null for a kept record.</summary>
    public Traces? Cells { get; init; }

    /// <summary>The night; null while it cannot be judged.</summary>
    public NightRecord? Night { get; init; }

    /// <summary>Its review; null while it cannot be judged.</summary>
    public NightReviewOutcome? Review { get; init; }

    /// <summary>Whether it holds a simulated figure.</summary>
    public bool Simulated { get; init; }

    /// <summary>A kept night.</summary>
    public static NightView Of(Kept<NightKept> kept) => new()
    {
        Key = kept.Record.Key,
        Name = kept.Record.Key,
        Night = kept.Value.Night,
        Review = kept.Value.Review,
        Simulated = kept.Record.Simulated,
    };

    /// <summary>The last night in the log; null where nothing was bled lately.</summary>
    public static async Task<NightView?> FromLogAsync(IHistory history, PackState state, NightSetup setup, TimeZoneInfo zone, CancellationToken cancellation)
    {
        var map = state.Snapshot.Map;
        var now = state.Snapshot.Time.WallUnixMs;
        var traces = await history.ReadTracesAsync(new TraceQuery([.. NightReader.Channels(map)], new TimeRange(now - ReachMs, now), Columns), cancellation);
        if (NightReader.Last(map, traces, setup) is not { } reading) return null;
        var rules = setup.Rules with { BleedA = setup.Curve.VoltageAt(Math.Clamp(double.IsNaN(reading.LevelPercent) ? 90 : reading.LevelPercent, setup.Curve.BottomSocPercent, setup.Curve.TopSocPercent)) / setup.BleedOhm };
        var names = Enumerable.Range(0, map.CellCount).Select(map.NameOf).ToList();
        var date = Figures.Date(reading.Bleeding.FromUnixMs, zone);
        return new NightView
        {
            Key = T($"night-{date}"),
            Name = T($"last night, {date}"),
            FromLog = true,
            Reading = reading,
            Cells = traces with { Channels = traces.Channels[..map.CellCount] },
            Night = reading.Record,
            Review = reading.Record is { } record ? NightReview.Of(names, [record], reading.Low, rules) : null,
            Simulated = state.Simulated,
        };
    }
}
