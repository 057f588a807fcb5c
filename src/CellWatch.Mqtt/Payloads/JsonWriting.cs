using System.Globalization;
using System.Text.Json;

namespace CellWatch.Mqtt;

/// <summary>What every payload writes the same way: times, rounded figures, values that may be unknown.</summary>
internal static class JsonWriting
{
    /// <summary>Digits behind the point of a voltage: 0.1 mV, finer than the accuracy of any cell front end (common practice, no source).</summary>
    public const int VoltageDigits = 4;

    /// <summary>Digits of a temperature: 0.01 K.</summary>
    public const int TemperatureDigits = 2;

    /// <summary>Digits of a current: 1 mA.</summary>
    public const int CurrentDigits = 3;

    /// <summary>Digits of a span of time: 1 ms.</summary>
    public const int TimeDigits = 3;

    /// <summary>A time as RFC 3339, UTC, to the millisecond: <c>2026-08-01T10:15:00.250Z</c>.</summary>
    public static void WriteTime(this Utf8JsonWriter json, string name, long? unixMs)
    {
        if (unixMs is not { } ms)
        {
            json.WriteNull(name);
            return;
        }

        Span<byte> text = stackalloc byte[32];
        DateTimeOffset.FromUnixTimeMilliseconds(ms).UtcDateTime
            .TryFormat(text, out var length, "yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture);
        json.WriteString(name, text[..length]);
    }

    /// <summary>A figure, or null where it is not known.</summary>
    public static void WriteFigure(this Utf8JsonWriter json, string name, double? value, int digits)
    {
        json.WritePropertyName(name);
        json.WriteFigureValue(value ?? double.NaN, digits);
    }

    /// <summary>A figure in an array, or null where it is not a number.</summary>
    public static void WriteFigureValue(this Utf8JsonWriter json, double value, int digits)
    {
        // Adding zero turns a rounded -0 into 0.
        if (double.IsFinite(value)) json.WriteNumberValue(Math.Round(value, digits) + 0.0);
        else json.WriteNullValue();
    }

    /// <summary>A text, or null where it is empty.</summary>
    public static void WriteText(this Utf8JsonWriter json, string name, string? text)
    {
        if (string.IsNullOrEmpty(text)) json.WriteNull(name);
        else json.WriteString(name, text);
    }

    /// <summary>A whole number, or null.</summary>
    public static void WriteCount(this Utf8JsonWriter json, string name, long? count)
    {
        if (count is { } n) json.WriteNumber(name, n);
        else json.WriteNull(name);
    }

    /// <summary>A yes or no, or null where it is not known.</summary>
    public static void WriteFlag(this Utf8JsonWriter json, string name, bool? flag)
    {
        if (flag is { } f) json.WriteBoolean(name, f);
        else json.WriteNull(name);
    }

    /// <summary>An age, s, or null where nothing has been read.</summary>
    public static void WriteAgeValue(this Utf8JsonWriter json, long ageUs) =>
        json.WriteFigureValue(ageUs == long.MaxValue ? double.NaN : ageUs * 1e-6, TimeDigits);
}
