using System.Collections.Immutable;
using System.Globalization;
using CellWatch.Core.History;
using CellWatch.Core.Wording;

namespace CellWatch.Host.Api.History;

/// <summary>What a request asks of history, read from its query; or the sentence that says what is wrong with it.</summary>
internal static class HistoryQuestion
{
    /// <summary>Columns an answer has unless the caller says otherwise: a wide screen.</summary>
    public const int UsualColumns = 2000;

    /// <summary>Most columns: the log's own limit.</summary>
    public const int MostColumns = 100_000;

    /// <summary>Reads a range. Both ends may be left out: then it is open on that side.</summary>
    /// <param name="from">RFC 3339 with an offset, as <c>2026-11-25T02:00:00Z</c>.</param>
    /// <param name="to">Likewise; not included.</param>
    /// <param name="range">The range.</param>
    /// <param name="refusal">What is wrong; empty where nothing is.</param>
    public static bool TryRange(string? from, string? to, out TimeRange range, out string refusal)
    {
        range = TimeRange.All;
        if (!TryTime("from", from, TimeRange.All.FromUnixMs, out var fromMs, out refusal) || !TryTime("to", to, TimeRange.All.ToUnixMs, out var toMs, out refusal)) return false;
        range = new TimeRange(fromMs, toMs);
        refusal = fromMs < toMs ? "" : $"'from' ({from}) is not before 'to' ({to}).";
        return refusal.Length == 0;
    }

    /// <summary>Reads how many columns are wanted.</summary>
    public static bool TryColumns(int? columns, out int most, out string refusal)
    {
        most = columns ?? UsualColumns;
        refusal = most is >= 1 and <= MostColumns ? "" : string.Create(CultureInfo.InvariantCulture, $"'columns' is {most}; allowed are 1 to {MostColumns}.");
        return refusal.Length == 0;
    }

    /// <summary>Reads channel names parted by commas, and checks that the log knows them.</summary>
    public static bool TryChannels(string? channels, ChannelList known, out ImmutableArray<string> names, out string refusal)
    {
        names = [.. (channels ?? "").Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries)];
        refusal = "";
        if (names.IsEmpty)
        {
            refusal = "'channels' is missing: names parted by commas, as in channels=B07.3,packCurrentA. GET /history/channels lists them.";
            return false;
        }

        foreach (var name in names)
        {
            if (known.Names.Contains(name)) continue;
            refusal = $"The log has no channel '{name}'{Suggestion(name, known.Names)} GET /history/channels lists them.";
            return false;
        }

        return true;
    }

    /// <summary>Ends the sentence with the nearest name, or with nothing but its stop.</summary>
    public static string Suggestion(string typed, IEnumerable<string> names) => NearestName.Suggestion(typed, names) is { Length: > 0 } near ? near : ".";

    /// <summary>Reads an instant that must be there.</summary>
    public static bool TryInstant(string name, string text, out long unixMs, out string refusal) => TryTime(name, text, 0, out unixMs, out refusal);

    private static bool TryTime(string name, string? text, long otherwiseMs, out long unixMs, out string refusal)
    {
        (unixMs, refusal) = (otherwiseMs, "");
        if (string.IsNullOrEmpty(text)) return true;
        // A plus sign that was not escaped in the address arrives as a space.
        var written = text.Replace(' ', '+');
        if (HasOffset(written) && DateTimeOffset.TryParse(written, CultureInfo.InvariantCulture, DateTimeStyles.None, out var time))
        {
            unixMs = time.ToUnixTimeMilliseconds();
            return true;
        }

        refusal = $"'{name}' is '{text}'; it takes a time after RFC 3339 with an offset, for example 2026-11-25T02:00:00Z or 2026-11-25T03:00:00+01:00.";
        return false;
    }

    private static bool HasOffset(string text)
    {
        var time = text.IndexOf('T', StringComparison.OrdinalIgnoreCase);
        return time == 10 && (text.EndsWith('Z') || text.EndsWith('z') || text.AsSpan(time).IndexOfAny('+', '-') > 0);
    }
}
