using System.Collections.Immutable;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Bench;

/// <summary>One look at a battery in quarantine.</summary>
/// <param name="At">When.</param>
/// <param name="AmbientDegC">Air beside it, in its shade.</param>
/// <param name="SurfaceDegC">Points on its surface; six are usual.</param>
/// <param name="Words">Smell, sound, leakage, dents; empty when nothing is to be said.</param>
/// <param name="Alarming">Hiss, sweet smell, smoke, leak: any of them.</param>
/// <param name="By">Who looked.</param>
public sealed record QuarantineReading(DateTimeOffset At, double AmbientDegC, ImmutableArray<double> SurfaceDegC, string Words, bool Alarming, string By);

/// <summary>The quarantine of a battery: since when, and every look.</summary>
public sealed record Quarantine(DateTimeOffset ArrivedAt, DateTimeOffset? ImpactAt, ImmutableArray<QuarantineReading> Readings);

/// <summary>What the quarantine log says.</summary>
/// <param name="Passed">Whether the days and readings are there and none was warm.</param>
/// <param name="Stop">Warmth or an alarming sign: outdoors, call the fire service.</param>
/// <param name="Days">Days outdoors up to the last reading.</param>
/// <param name="WarmestOverAmbientK">Of all readings.</param>
/// <param name="NextReadingDue">When to look again.</param>
/// <param name="Sentence">In words.</param>
public sealed record QuarantineState(bool Passed, bool Stop, double Days, double WarmestOverAmbientK, DateTimeOffset NextReadingDue, string Sentence);

/// <summary>
/// Rules of the make-safe watch: hourly on the first day, then twice a day, 14 days outdoors without warmth above ambient (common practice, no
/// source; one crashed vehicle burned three weeks later, US Fire Administration InfoGram of 28 January 2021).
/// </summary>
public sealed record QuarantineRules
{
    /// <summary>Days outdoors.</summary>
    public double Days { get; init; } = 14;

    /// <summary>Above ambient by this is warm, K (thermal camera +-2 K).</summary>
    public double WarmK { get; init; } = 3;

    /// <summary>Readings on the first day come at least this often, h.</summary>
    public double FirstDayHours { get; init; } = 2;

    /// <summary>Later readings come at least this often, h.</summary>
    public double LaterHours { get; init; } = 18;

    /// <summary>Judges a log.</summary>
    public QuarantineState Judge(Quarantine q)
    {
        var readings = q.Readings.OrderBy(r => r.At).ToList();
        if (readings.Count == 0) return new(false, false, 0, double.NaN, q.ArrivedAt, T("No reading yet: measure six points of the surface and the air now."));
        var over = readings.SelectMany(r => r.SurfaceDegC.Select(t => t - r.AmbientDegC)).DefaultIfEmpty(double.NaN).Max();
        var last = readings[^1];
        var days = (last.At - q.ArrivedAt).TotalDays;
        var due = last.At.AddHours((last.At - q.ArrivedAt).TotalDays < 1 ? FirstDayHours : LaterHours);
        if (readings.Find(r => r.Alarming) is { } alarming)
            return new(false, true, days, over, due, T($"STOP: {alarming.Words} at {alarming.At:yyyy-MM-dd HH:mm}. Stay outdoors, keep away, call the fire service."));
        if (over > WarmK) return new(false, true, days, over, due, T($"STOP: {over:0.0} K above ambient. Stay outdoors, keep away, call the fire service; not 'look again tomorrow'."));
        if (double.IsNaN(over)) return new(false, false, days, over, due, T("The readings hold no surface temperature: measure six points."));
        if (LongestGap(q, readings) is { } gap) return new(false, false, days, over, due, gap);
        return days >= Days
            ? new(true, false, days, over, due, T($"{days:0.0} days outdoors, {readings.Count} readings, never more than {over:0.0} K above ambient."))
            : new(false, false, days, over, due, T($"{days:0.0} of {Days:0} days, {readings.Count} readings, at most {over:0.0} K above ambient. Next reading by {due:yyyy-MM-dd HH:mm}."));
    }

    private string? LongestGap(Quarantine q, List<QuarantineReading> readings)
    {
        var before = q.ArrivedAt;
        foreach (var r in readings)
        {
            var allowed = (before - q.ArrivedAt).TotalDays < 1 ? FirstDayHours : LaterHours;
            if ((r.At - before).TotalHours > allowed * 1.5)
                return T($"Nobody looked for {(r.At - before).TotalHours:0} h from {before:yyyy-MM-dd HH:mm}: the days count from {r.At:yyyy-MM-dd HH:mm} on. Note it and start again there.");
            before = r.At;
        }

        return null;
    }

    /// <summary>Slope of the warmest point over ambient, K a day; NaN with fewer than two readings.</summary>
    public static double SlopeKPerDay(Quarantine q)
    {
        var readings = q.Readings.Where(r => r.SurfaceDegC.Length > 0).OrderBy(r => r.At).ToList();
        if (readings.Count < 2) return double.NaN;
        return LineFit.Through([.. readings.Select(r => (r.At - readings[0].At).TotalDays)], [.. readings.Select(r => r.SurfaceDegC.Max() - r.AmbientDegC)])?.Slope ?? double.NaN;
    }
}
