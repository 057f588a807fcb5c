using System.Globalization;

namespace CellWatch.Core.Wording;

/// <summary>
/// Times of day on the site's own clock. The hour that comes twice on the night summer time ends carries its zone, so that two instants never
/// read the same; lengths of time are taken from instants and know nothing of it.
/// </summary>
public static class SiteClock
{
    /// <summary>A time of day: <c>14:31:08</c>; in the hour that comes twice <c>02:30:00 UTC+2</c>.</summary>
    /// <param name="unixMs">Instant, ms since 1970.</param>
    /// <param name="zone">The site's zone.</param>
    /// <param name="format">Parts that are wanted.</param>
    public static string OfDay(long unixMs, TimeZoneInfo zone, string format = "HH:mm:ss")
    {
        var text = At(unixMs, zone).ToString(format, CultureInfo.InvariantCulture);
        return IsTwice(unixMs, zone) ? $"{text} {ZoneName(unixMs, zone)}" : text;
    }

    /// <summary>Whether this time of day comes twice that night.</summary>
    public static bool IsTwice(long unixMs, TimeZoneInfo zone) => zone.SupportsDaylightSavingTime && zone.IsAmbiguousTime(At(unixMs, zone));

    /// <summary>The zone as written after a time: <c>UTC</c> or <c>UTC+2</c>.</summary>
    public static string ZoneName(long unixMs, TimeZoneInfo zone) => NameOf(At(unixMs, zone).Offset);

    /// <summary>An offset as written after a time.</summary>
    public static string NameOf(TimeSpan offset)
    {
        if (offset == TimeSpan.Zero) return "UTC";
        var text = (offset < TimeSpan.Zero ? "\u2212" : "+") + Math.Abs(offset.Hours).ToString(CultureInfo.InvariantCulture);
        if (offset.Minutes != 0) text += ":" + Math.Abs(offset.Minutes).ToString("00", CultureInfo.InvariantCulture);
        return "UTC" + text;
    }

    /// <summary>A local time with its offset.</summary>
    public static DateTimeOffset At(long unixMs, TimeZoneInfo zone) => TimeZoneInfo.ConvertTime(DateTimeOffset.FromUnixTimeMilliseconds(unixMs), zone);

    /// <summary>The instant a day begins on the site's clock, ms since 1970.</summary>
    /// <param name="unixMs">An instant of that day.</param>
    /// <param name="zone">The site's zone.</param>
    public static long Midnight(long unixMs, TimeZoneInfo zone)
    {
        var local = At(unixMs, zone).Date;
        // Where the clocks are set at midnight a day may begin at one.
        while (zone.IsInvalidTime(local)) local = local.AddMinutes(15);
        var offset = zone.IsAmbiguousTime(local) ? zone.GetAmbiguousTimeOffsets(local).Max() : zone.GetUtcOffset(local);
        return new DateTimeOffset(local, offset).ToUnixTimeMilliseconds();
    }
}
