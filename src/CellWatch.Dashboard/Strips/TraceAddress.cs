using System.Collections.Immutable;
using System.Globalization;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Wording;

namespace CellWatch.Dashboard.Strips;

/// <summary>What Traces shows, as its address says it: the same link gives the same view.</summary>
/// <param name="Range">Wall time.</param>
/// <param name="Picked">Names of the channels drawn as lines, at most <see cref="MostPicked"/>; cells first, as typed.</param>
/// <param name="Faults">What in the address could not be followed, in sentences.</param>
public sealed record TraceAddress(TimeRange Range, ImmutableArray<string> Picked, ImmutableArray<string> Faults)
{
    /// <summary>Which cells the carpet shows.</summary>
    public TraceFilter Filter { get; init; } = new("", "");

    /// <summary>Most lines beside the band of all cells, two modules of six: more are not told apart.</summary>
    public const int MostPicked = 12;

    /// <summary>Shortest range, ms: a few scans.</summary>
    public const long ShortestMs = 5_000;

    /// <summary>Longest range, ms: two years.</summary>
    public const long LongestMs = 2L * 366 * 86_400_000;

    /// <summary>Reads an address. What is missing or wrong is replaced, and a sentence says so.</summary>
    /// <param name="from">Beginning, ISO 8601 with offset or Z; null for the usual range.</param>
    /// <param name="to">End.</param>
    /// <param name="cells">Names between commas or spaces; null for the usual ones.</param>
    /// <param name="usual">Range and names where nothing is said.</param>
    /// <param name="map">The pack's channels.</param>
    public static TraceAddress Read(string? from, string? to, string? cells, (TimeRange Range, IEnumerable<string> Picked) usual, ChannelMap map)
    {
        var faults = ImmutableArray.CreateBuilder<string>();
        var range = usual.Range;
        if (from is not null || to is not null)
        {
            var (a, b) = (Time(from), Time(to));
            if (a is { } f && b is { } t && t - f >= ShortestMs && t - f <= LongestMs) range = new TimeRange(f, t);
            else faults.Add(T("The times in the address make no range between 5\u202fs and two years; this is the usual one."));
        }

        var picked = cells is null ? [.. usual.Picked.Take(MostPicked)] : Names(cells, map, faults);
        return new TraceAddress(range, picked, faults.ToImmutable());
    }

    /// <summary>The address under the base, with times in UTC.</summary>
    public string ToUri() => $"traces?from={Iso(Range.FromUnixMs)}&to={Iso(Range.ToUnixMs)}"
        + (Filter.Module.Length > 0 ? $"&module={Uri.EscapeDataString(Filter.Module)}" : "") + (Filter.State.Length > 0 ? $"&state={Filter.State}" : "")
        + $"&cells={string.Join(',', Picked.Select(Uri.EscapeDataString))}";

    /// <summary>The address of the lines drawn, and the pack's current, as a Parquet table from the service's history.</summary>
    public string ToParquetUri(ChannelMap map, int columns) =>
        string.Create(CultureInfo.InvariantCulture, $"history/traces?channels={string.Join(',', Picked.Append(map.NameOf(map.PackCurrent)).Distinct(StringComparer.Ordinal).Select(Uri.EscapeDataString))}&from={Iso(Range.FromUnixMs)}&to={Iso(Range.ToUnixMs)}&columns={columns}&format=parquet");

    /// <summary>The link to a view around an instant.</summary>
    public static string Around(long unixMs, long beforeMs, long afterMs, IEnumerable<string> picked) =>
        new TraceAddress(new TimeRange(unixMs - beforeMs, unixMs + afterMs), [.. picked.Take(MostPicked)], []).ToUri();

    private static ImmutableArray<string> Names(string typed, ChannelMap map, ImmutableArray<string>.Builder faults)
    {
        var known = Enumerable.Range(0, map.Count).Select(map.NameOf).ToDictionary(n => n, n => n, StringComparer.OrdinalIgnoreCase);
        var modules = map.Layout.Modules.ToDictionary(m => m.Id.Text, m => m, StringComparer.OrdinalIgnoreCase);
        var picked = new List<string>();
        foreach (var word in typed.Split([',', ' ', ';'], StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            if (known.TryGetValue(word, out var name)) picked.Add(name);
            else if (modules.TryGetValue(word, out var module))
            {
                var index = map.Layout.Modules.IndexOf(module);
                for (var c = map.Layout.FirstCell(index); c < map.Layout.FirstCell(index + 1); c++) picked.Add(map.NameOf(c));
            }
            else faults.Add(T($"There is no cell, module or channel '{word}'{NearestName.Suggestion(word, [.. known.Keys, .. modules.Keys])}."));
        }

        var distinct = picked.Distinct(StringComparer.Ordinal).ToList();
        if (distinct.Count > MostPicked) faults.Add(T($"Twelve lines are drawn at most: {string.Join(", ", distinct.Skip(MostPicked))} left out."));
        return [.. distinct.Take(MostPicked)];
    }

    private static long? Time(string? text) =>
        DateTimeOffset.TryParse(text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out var at) ? at.ToUnixTimeMilliseconds() : null;

    private static string Iso(long unixMs) => DateTimeOffset.FromUnixTimeMilliseconds(unixMs).ToString("yyyy-MM-dd'T'HH:mm:ss.FFF'Z'", CultureInfo.InvariantCulture);
}
