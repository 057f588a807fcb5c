using System.Globalization;

namespace CellWatch.Log.Store;

/// <summary>Figures in words for sentences a person reads.</summary>
internal static class Words
{
    /// <summary>A duration to two units: <c>3 h 12 min</c>, <c>41 s</c>.</summary>
    public static string Duration(TimeSpan d) => d switch
    {
        { TotalDays: >= 2 } => T($"{(int)d.TotalDays} days {d.Hours} h"),
        { TotalHours: >= 1 } => string.Create(CultureInfo.InvariantCulture, $"{(int)d.TotalHours} h {d.Minutes} min"),
        { TotalMinutes: >= 1 } => string.Create(CultureInfo.InvariantCulture, $"{(int)d.TotalMinutes} min {d.Seconds} s"),
        _ => string.Create(CultureInfo.InvariantCulture, $"{d.TotalSeconds:0.#} s"),
    };
}
