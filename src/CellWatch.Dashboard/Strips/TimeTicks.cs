using System.Globalization;
using CellWatch.Core.History;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Strips;

/// <summary>One long mark of a time axis.</summary>
/// <param name="UnixMs">Where.</param>
/// <param name="Label">Its words: a time of day, or a date where the day begins.</param>
public readonly record struct TimeTick(long UnixMs, string Label);

/// <summary>
/// Long marks of a time axis at round times of the site's own clock. On the night the clocks are set, the hour that comes twice has two marks,
/// which say their zone, and the one that is skipped has none, because each mark is an instant.
/// </summary>
public static class TimeTicks
{
    private static readonly int[] StepS = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10_800, 21_600, 43_200, 86_400, 172_800, 604_800, 2_592_000];

    /// <summary>Marks over a range, at most so many.</summary>
    public static IReadOnlyList<TimeTick> Of(TimeRange range, TimeZoneInfo zone, int most)
    {
        var stepMs = StepS.Select(s => s * 1000L).FirstOrDefault(s => range.LengthMs / s <= most, StepS[^1] * 1000L);
        var ticks = new List<TimeTick>();
        // Walks instants; a step of an hour or less is round on every clock whose offset is a multiple of it.
        var walkMs = Math.Min(stepMs, 900_000);
        for (var at = (range.FromUnixMs + walkMs - 1) / walkMs * walkMs; at < range.ToUnixMs; at += walkMs)
        {
            var local = Figures.At(at, zone);
            if (local.Ticks / TimeSpan.TicksPerMillisecond % stepMs != 0) continue;
            ticks.Add(new TimeTick(at, local.TimeOfDay == TimeSpan.Zero && stepMs >= 900_000 ? local.ToString("d MMM", CultureInfo.InvariantCulture)
                : stepMs < 60_000 ? Figures.Clock(at, zone) : Figures.ClockMinute(at, zone)));
        }

        return ticks;
    }

    /// <summary>
    /// Offsets of the site's clock in minutes, each from the instant it begins, so that the scripts read the right hour on the night the clocks are
    /// set. They begin three hours before the range, so that the second of two like hours is known for what it is.
    /// </summary>
    public static IReadOnlyList<long[]> Zones(TimeRange range, TimeZoneInfo zone)
    {
        const long QuarterMs = 900_000;
        const long AroundMs = 12 * QuarterMs;
        var zones = new List<long[]>();
        // Clocks are set at full quarters of an hour everywhere.
        for (var at = (range.FromUnixMs - AroundMs) / QuarterMs * QuarterMs; at < range.ToUnixMs + AroundMs; at += QuarterMs)
        {
            var minutes = (long)Figures.At(at, zone).Offset.TotalMinutes;
            if (zones.Count == 0 || zones[^1][1] != minutes) zones.Add([at, minutes]);
        }

        return zones;
    }
}
