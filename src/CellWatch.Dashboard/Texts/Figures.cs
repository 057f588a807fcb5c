using System.Globalization;
using SiteClock = CellWatch.Core.Wording.SiteClock;

namespace CellWatch.Dashboard.Texts;

/// <summary>
/// Figures as a person reads them: SI units, fixed decimals per quantity, true minus sign, narrow no-break space before the unit.
/// A figure that is not known is said in words, never as a dash or a zero.
/// </summary>
public static class Figures
{
    /// <summary>Narrow no-break space between a number and its unit.</summary>
    public static string Thin => "\u202f";

    /// <summary>Said where a figure is not known.</summary>
    public static string NotKnown => T("not known");

    /// <summary>A number with a fixed count of decimals and the true minus sign; a value that rounds to zero has no sign.</summary>
    public static string Number(double value, int decimals, bool signed = false)
    {
        var rounded = Math.Round(value, decimals, MidpointRounding.AwayFromZero);
        var text = Math.Abs(rounded).ToString("F" + decimals.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
        if (rounded == 0) return text;
        return rounded < 0 ? "\u2212" + text : signed ? "+" + text : text;
    }

    /// <summary>A number with unit.</summary>
    public static string With(double value, int decimals, string unit, bool signed = false) => Number(value, decimals, signed) + Thin + unit;

    /// <summary>A cell's voltage: <c>4.087 V</c>.</summary>
    public static string CellVoltage(double? voltageV) => voltageV is { } v ? With(v, 3, "V") : NotKnown;

    /// <summary>A deviation in whole mV with its sign: <c>−12 mV</c>.</summary>
    public static string Deviation(double deviationV) => With(deviationV * 1000, 0, "mV", signed: true);

    /// <summary>Current without unit: one decimal below 100 A, none above.</summary>
    public static string CurrentNumber(double currentA) => Number(Math.Abs(currentA), Math.Abs(currentA) < 99.95 ? 1 : 0);

    /// <summary>Current with unit; the direction is said in words beside it.</summary>
    public static string Current(double currentA) => CurrentNumber(currentA) + Thin + "A";

    /// <summary>A temperature: <c>24.6 °C</c>.</summary>
    public static string Temperature(double temperatureDegC) => With(temperatureDegC, 1, "°C");

    /// <summary>Charge in balance, two decimals below 2 Ah, one above.</summary>
    public static string Charge(double chargeAh) => With(chargeAh, Math.Abs(chargeAh) < 1.995 ? 2 : 1, "Ah");

    /// <summary>A length of time: seconds below a minute, minutes below two hours, then hours and minutes.</summary>
    public static string Duration(double seconds)
    {
        if (!double.IsFinite(seconds)) return NotKnown;
        var s = Math.Max(0, seconds);
        if (s < 59.5) return With(s, s < 10 && s % 1 > 0.05 ? 1 : 0, "s");
        var minutes = Math.Round(s / 60);
        if (minutes < 120) return With(minutes, 0, "min");
        var hours = Math.Floor(minutes / 60);
        return hours < 48
            ? $"{With(hours, 0, "h")} {With(minutes - hours * 60, 0, "min")}"
            : $"{With(Math.Floor(hours / 24), 0, T("days"))}";
    }

    /// <summary>Age of data: a tenth of a second below ten, then like a duration.</summary>
    public static string Age(double seconds) => seconds < 10 ? With(seconds, 1, "s") : Duration(seconds);

    /// <summary>Time left on a countdown: <c>24:10</c>.</summary>
    public static string Countdown(double seconds)
    {
        var left = (long)Math.Max(0, Math.Ceiling(seconds));
        if (left >= 7_200) return Duration(left);
        return string.Create(CultureInfo.InvariantCulture, $"{left / 60}:{left % 60:00}");
    }

    /// <summary>Time of day in a zone: <c>14:31:08</c>; in the hour that comes twice with its zone.</summary>
    public static string Clock(long unixMs, TimeZoneInfo zone) => SiteClock.OfDay(unixMs, zone);

    /// <summary>Time of day without seconds: <c>14:31</c>.</summary>
    public static string ClockMinute(long unixMs, TimeZoneInfo zone) => SiteClock.OfDay(unixMs, zone, "HH:mm");

    /// <summary>ISO date in a zone.</summary>
    public static string Date(long unixMs, TimeZoneInfo zone) => At(unixMs, zone).ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);

    /// <summary>The zone as written after a time: <c>UTC</c> or <c>UTC+2</c>.</summary>
    public static string ZoneName(long unixMs, TimeZoneInfo zone) => SiteClock.ZoneName(unixMs, zone);

    /// <summary>A local time with its offset.</summary>
    public static DateTimeOffset At(long unixMs, TimeZoneInfo zone) => SiteClock.At(unixMs, zone);

    /// <summary>For how long there is room for the record.</summary>
    public static string DaysLeft(double? days) => days switch
    {
        null => T("room not known"),
        double.NaN => T("room not known"),
        > 3650 => T("room for years"),
        < 1 => T($"{Duration(days.Value * 86_400)} left"),
        { } d => T($"{Count((int)d, T("day"), T("days"))} left"),
    };

    /// <summary>A number as a person types it, with point or comma and either minus sign; null where it is none.</summary>
    public static double? Typed(string text) =>
        double.TryParse(text.Trim().Replace(',', '.').Replace('\u2212', '-'), NumberStyles.Float, CultureInfo.InvariantCulture, out var value) && double.IsFinite(value) ? value : null;

    /// <summary>A text with a capital first letter.</summary>
    public static string Capital(string text) => text.Length == 0 ? text : char.ToUpperInvariant(text[0]) + text[1..];

    /// <summary>A count with its noun: <c>1 cell</c>, <c>6 cells</c>.</summary>
    public static string Count(int count, string one, string many) =>
        count.ToString(CultureInfo.InvariantCulture) + " " + (count == 1 ? one : many);
}
