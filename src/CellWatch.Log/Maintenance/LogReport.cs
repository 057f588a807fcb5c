using System.Globalization;
using System.Text;
using CellWatch.Core.History;

namespace CellWatch.Log.Maintenance;

/// <summary>A part of a log that does not read.</summary>
/// <param name="What">What it is, in words: <c>full rate</c>, <c>10 s roll-up</c>, <c>alarms</c>.</param>
/// <param name="Range">Wall time it stood for; null where that cannot be told.</param>
/// <param name="Snapshots">Snapshots lost at full rate; null where that cannot be told.</param>
/// <param name="Reason">What does not fit.</param>
/// <param name="StandIn">What answers in its place.</param>
public sealed record LostPart(string What, TimeRange? Range, long? Snapshots, string Reason, string StandIn);

/// <summary>What a check of a log found. Nothing was changed.</summary>
public sealed record LogReport
{
    /// <summary>The file.</summary>
    public required string Path { get; init; }

    /// <summary>Whether the database itself opens; else everything was read from its bare pages.</summary>
    public bool Opens { get; init; }

    /// <summary>What the database says of its own structure; empty where it is in order.</summary>
    public IReadOnlyList<string> Structure { get; init; } = [];

    /// <summary>Snapshots at full rate that read.</summary>
    public long Snapshots { get; init; }

    /// <summary>Blocks at full rate that read, sealed or in the tail.</summary>
    public long FullRateBlocks { get; init; }

    /// <summary>Roll-up blocks that read, all levels.</summary>
    public long RollUpBlocks { get; init; }

    /// <summary>Alarms, events, commands, runs, notes and attachments that read.</summary>
    public long Records { get; init; }

    /// <summary>First and last instant at full rate.</summary>
    public TimeRange? FullRate { get; init; }

    /// <summary>Everything that does not read or is missing.</summary>
    public IReadOnlyList<LostPart> Lost { get; init; } = [];

    /// <summary>Whether everything reads.</summary>
    public bool IsSound => Opens && Structure.Count == 0 && Lost.Count == 0;

    /// <summary>The report as a person reads it.</summary>
    public string InWords()
    {
        var text = new StringBuilder();
        text.AppendLine(CultureInfo.InvariantCulture, $"{Path}: {(IsSound ? "sound" : "damaged")}");
        if (!Opens) text.AppendLine("The database does not open; what follows was read from its bare pages.");
        if (FullRate is { } range) text.AppendLine(CultureInfo.InvariantCulture, $"Full rate from {Time(range.FromUnixMs)} to {Time(range.ToUnixMs)}.");
        text.AppendLine(CultureInfo.InvariantCulture, $"Reads: {Snapshots} snapshots in {FullRateBlocks} blocks, {RollUpBlocks} roll-up blocks, {Records} records.");
        foreach (var line in Structure) text.AppendLine(CultureInfo.InvariantCulture, $"Structure: {line}");
        foreach (var part in Lost)
        {
            text.Append(CultureInfo.InvariantCulture, $"Lost: {part.What}");
            if (part.Range is { } r) text.Append(CultureInfo.InvariantCulture, $" from {Time(r.FromUnixMs)} to {Time(r.ToUnixMs)}");
            if (part.Snapshots is { } n) text.Append(CultureInfo.InvariantCulture, $", {n} snapshots");
            text.AppendLine(CultureInfo.InvariantCulture, $": {part.Reason}. {part.StandIn}");
        }

        return text.ToString();
    }

    private static string Time(long unixMs) => DateTimeOffset.FromUnixTimeMilliseconds(unixMs).ToString("yyyy-MM-dd HH:mm:ss'Z'", CultureInfo.InvariantCulture);
}

/// <summary>What a repair did.</summary>
/// <param name="Found">What the check before it found.</param>
/// <param name="DamagedFile">Where the damaged file is kept, untouched.</param>
/// <param name="After">The check of the new file.</param>
public sealed record RepairReport(LogReport Found, string DamagedFile, LogReport After);
