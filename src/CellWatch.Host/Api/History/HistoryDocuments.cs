using CellWatch.Core.History;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Host.Api.History;

/// <summary>What the log holds, and for how long there is room. Times are RFC 3339 in UTC.</summary>
/// <param name="From">First instant of any kind; null in an empty log.</param>
/// <param name="To">Last instant.</param>
/// <param name="FullRateFrom">Oldest snapshot at full rate outside frozen stretches.</param>
/// <param name="FileBytes">Size of the log.</param>
/// <param name="FreeBytes">Room left on its disk.</param>
/// <param name="BytesPerDay">What a day adds; null before enough is known.</param>
/// <param name="DaysLeft">Days until nothing more can be kept; null where not known or where the rule holds the size for ever.</param>
/// <param name="DaysToThinning">Days until full rate is thinned before its time; null likewise.</param>
/// <param name="Rule">The retention rule in a sentence.</param>
/// <param name="Frozen">Stretches kept at full rate whatever their age.</param>
public sealed record StorageDocument(
    DateTimeOffset? From, DateTimeOffset? To, DateTimeOffset? FullRateFrom, long FileBytes, long FreeBytes, double? BytesPerDay, double? DaysLeft,
    double? DaysToThinning, string Rule, IReadOnlyList<FrozenDocument> Frozen);

/// <summary>A stretch kept at full rate whatever its age.</summary>
public sealed record FrozenDocument(DateTimeOffset From, DateTimeOffset To, string Reason);

/// <summary>A channel of the log.</summary>
public sealed record ChannelDocument(string Name, string Unit);

/// <summary>
/// Channels over a range, in columns no finer than asked for, each with its true least and greatest value. Columns without any record are left
/// out; <paramref name="BreakBefore"/> says where a line must not be drawn across.
/// </summary>
/// <param name="ColumnMs">Length of a column, ms; 0 where every column is a single snapshot.</param>
/// <param name="StartUnixMs">Beginning of each column, ms since 1970.</param>
/// <param name="Snapshots">Snapshots in each column.</param>
/// <param name="BreakBefore">Whether something is missing, or the clock was set, before the column.</param>
/// <param name="Channels">One trace a channel.</param>
public sealed record TracesDocument(double ColumnMs, IReadOnlyList<long> StartUnixMs, IReadOnlyList<int> Snapshots, IReadOnlyList<bool> BreakBefore, IReadOnlyList<TraceDocument> Channels);

/// <summary>A channel over the columns; null where it had no good value.</summary>
/// <param name="Name">The channel.</param>
/// <param name="Unit">Its unit.</param>
/// <param name="Min">Least good value.</param>
/// <param name="Mean">Mean of the good values.</param>
/// <param name="Max">Greatest good value.</param>
/// <param name="Good">How many good values.</param>
/// <param name="Quality">The value's quality where every column is a single snapshot, else null.</param>
/// <param name="Raw">The value as it came, whatever its quality, likewise.</param>
public sealed record TraceDocument(
    string Name, string Unit, IReadOnlyList<double?> Min, IReadOnlyList<double?> Mean, IReadOnlyList<double?> Max, IReadOnlyList<int> Good,
    IReadOnlyList<Quality>? Quality, IReadOnlyList<double?>? Raw);

/// <summary>Least, mean and greatest of all cells, or all temperatures, over the columns; null where none was good.</summary>
public sealed record EnvelopeDocument(
    EnvelopeOf Of, string Unit, double ColumnMs, IReadOnlyList<long> StartUnixMs, IReadOnlyList<int> Snapshots, IReadOnlyList<bool> BreakBefore,
    IReadOnlyList<double?> Min, IReadOnlyList<double?> Mean, IReadOnlyList<double?> Max, IReadOnlyList<double?> Known);

/// <summary>One step in an alarm's life.</summary>
public sealed record AlarmStepDocument(long Number, DateTimeOffset Time, AlarmState From, AlarmState To, string Why, AlarmDocument Alarm);

/// <summary>Something that happened to the record or the program, or a person's remark.</summary>
public sealed record EventDocument(long Id, DateTimeOffset Time, string Kind, string Text, string By, double? LengthS);

/// <summary>A command, who gave it and what was answered.</summary>
public sealed record CommandDocument(long Number, DateTimeOffset Time, string By, string Command, string Details, bool Accepted, string Answer);

/// <summary>A bounded stretch of the log with a purpose.</summary>
public sealed record RunDocument(long Id, RunKind Kind, string Title, DateTimeOffset From, DateTimeOffset? To, string OpenedBy, string ClosedBy, string Settings);

/// <summary>A note a person wrote.</summary>
public sealed record NoteDocument(long Id, DateTimeOffset Time, long? Run, string Text, string By);

/// <summary>A file kept with the log; its content is at <paramref name="Content"/>.</summary>
public sealed record AttachmentDocument(long Id, DateTimeOffset Time, long? Run, string Name, string MediaType, long Length, string By, string Content);

/// <summary>Opens a run. <paramref name="By"/> is the name the person types.</summary>
/// <param name="Kind">What for: rest, capacity, pulse, charge, balance, drive, storage.</param>
/// <param name="Title">Its title.</param>
/// <param name="By">Who.</param>
/// <param name="Settings">Settings that belong to it, as JSON; may be left out.</param>
public sealed record OpenRunBody(string? Kind, string? Title, string? By, string? Settings = null);

/// <summary>Closes a run.</summary>
/// <param name="By">Who.</param>
/// <param name="Settings">Settings and results in place of those it was opened with; left out, those stay.</param>
public sealed record CloseRunBody(string? By, string? Settings = null);

/// <summary>A note.</summary>
/// <param name="Text">The note.</param>
/// <param name="By">Who.</param>
/// <param name="Time">The instant it is about; left out, now.</param>
/// <param name="Run">The run it belongs to.</param>
public sealed record NoteBody(string? Text, string? By, DateTimeOffset? Time = null, long? Run = null);

/// <summary>Keeps a stretch at full rate whatever its age.</summary>
public sealed record FreezeBody(DateTimeOffset? From, DateTimeOffset? To, string? Reason, string? By);

/// <summary>The number of what was made.</summary>
public sealed record MadeDocument(long Id);
