using System.Globalization;

namespace CellWatch.Log.Store;

/// <summary>The forecast of room in words for the pages.</summary>
internal static class RoomWords
{
    public static string Of(double? daysLeft, Retention rule, TimeProvider time)
    {
        if (daysLeft is not { } days || days > rule.WarnDays) return T("recording");
        var end = TimeZoneInfo.ConvertTime(time.GetUtcNow() + TimeSpan.FromDays(days), time.LocalTimeZone);
        return days < 1
            ? T($"NOT RECORDING from about {end:HH:mm}: the disk will be full in {Words.Duration(TimeSpan.FromDays(days))}. Make room.")
            : T($"recording; the disk will be full in about {(days < 1.5 ? T("a day") : days.ToString("0", CultureInfo.InvariantCulture) + T(" days"))}, on {end:d MMMM}. Make room.");
    }
}
