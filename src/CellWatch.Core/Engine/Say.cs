using System.Globalization;

namespace CellWatch.Core.Engine;

/// <summary>
/// Figures as a person reads them, in one place: true minus sign, a narrow space that does not break between number and unit,
/// decimals by quantity, 24 h clock.
/// </summary>
public static class Say
{
    /// <summary>Between number and unit: the thin space that does not break at a line's end (U+202F).</summary>
    public const char Thin = '\u202F';

    /// <summary>The true minus sign (U+2212).</summary>
    public const char Minus = '\u2212';

    /// <summary>A cell's voltage: <c>4.087 V</c>.</summary>
    public static string Volts(double v) => With(v, "0.000", "V");

    /// <summary>A pack's voltage: <c>441.3 V</c>.</summary>
    public static string PackVolts(double v) => With(v, "0.0", "V");

    /// <summary>A difference of cell voltages, given in V, with its sign: <c>−18 mV</c>, <c>+2 mV</c>.</summary>
    public static string SignedMillivolts(double v) => With(1000 * v, "+0;-0;0", "mV");

    /// <summary>A distance of voltages, given in V, without sign: <c>18 mV</c>.</summary>
    public static string Millivolts(double v) => With(Math.Abs(1000 * v), "0", "mV");

    /// <summary>A current: one decimal below 10, none above: <c>60 A</c>, <c>5.5 A</c>.</summary>
    public static string Amperes(double a) => With(a, Math.Abs(a) < 9.95 ? "0.0" : "0", "A");

    /// <summary>A temperature: <c>24.6 °C</c>.</summary>
    public static string Celsius(double t) => With(t, "0.0", "°C");

    /// <summary>A difference of temperatures: <c>6.1 K</c>.</summary>
    public static string Kelvin(double k) => With(k, "0.0", "K");

    /// <summary>A rise: <c>1.3 K/min</c>; two decimals below 1.</summary>
    public static string KelvinPerMinute(double k) => With(k, Math.Abs(k) < 0.995 ? "0.00" : "0.0", "K/min");

    /// <summary>A charge, one decimal: <c>2.3 Ah</c>; two below 1.</summary>
    public static string AmpereHours(double ah) => With(ah, Math.Abs(ah) < 0.995 ? "0.00" : "0.0", "Ah");

    /// <summary>A resistance of a cell, given in ohm: <c>1.08 mΩ</c>.</summary>
    public static string Milliohms(double ohm) => With(1000 * ohm, "0.00", "mΩ");

    /// <summary>A resistance of a link, given in ohm: <c>250 µΩ</c>.</summary>
    public static string Microohms(double ohm) => With(1e6 * ohm, "0", "µΩ");

    /// <summary>A share, given from 0 to 1: <c>83.4 %</c>.</summary>
    public static string Percent(double share) => With(100 * share, "0.0", "%");

    /// <summary>A span of time: seconds below 2 min, minutes below 2 h, then hours.</summary>
    public static string Span(double s) => s switch
    {
        < 119.5 => With(Math.Floor(s + 0.5), "0", "s"),
        < 7170 => With(s / 60, "0", "min"),
        _ => With(s / 3600, "0.0", "h"),
    };

    /// <summary>A time yet to pass: <c>about 6 min</c>, <c>less than 1 min</c>.</summary>
    public static string Until(double s) => s < 50 ? T("less than 1\u202fmin") : T($"about {With(Math.Max(1, s / 60), "0", "min")}");

    /// <summary>A count and its noun: <c>1 cell</c>, <c>36 cells</c>.</summary>
    public static string Count(int n, string one, string many) => FormattableString.Invariant($"{n} {(n == 1 ? one : many)}");

    /// <summary>A time of day in the given zone: <c>13:58:02</c>.</summary>
    public static string Clock(long wallUnixMs, TimeZoneInfo zone) =>
        Wording.SiteClock.OfDay(wallUnixMs, zone);

    /// <summary>A day in the given zone: <c>2026-03-12</c>.</summary>
    public static string Day(long wallUnixMs, TimeZoneInfo zone) =>
        TimeZoneInfo.ConvertTime(DateTimeOffset.FromUnixTimeMilliseconds(wallUnixMs), zone).ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);

    /// <summary>A value in a unit of the rule table.</summary>
    public static string Value(double value, string unit) => unit switch
    {
        "V" => Volts(value),
        "mV" => Millivolts(value / 1000),
        "degC" => Celsius(value),
        "K" => Kelvin(value),
        "K/min" => KelvinPerMinute(value),
        "A" => Amperes(value),
        "s" => Span(value),
        "Ah" => AmpereHours(value),
        "1" => value.ToString("0.#", CultureInfo.InvariantCulture),
        "%" => With(value, "0.0", "%"),
        "µOhm" => With(value, "0", "µΩ"),
        "" => value.ToString("0", CultureInfo.InvariantCulture),
        _ => With(value, "0.###", unit),
    };

    /// <summary>A number in a format, with the true minus sign, and its unit.</summary>
    public static string With(double value, string format, string unit) =>
        value.ToString(format, CultureInfo.InvariantCulture).Replace('-', Minus) + Thin + unit;
}
