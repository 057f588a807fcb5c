using System.Collections.Immutable;
using CellWatch.Core.Rules;

namespace CellWatch.Core.History;

/// <summary>Something that happened to the record or the program: a start, a gap, a clock that was set, old data thinned, a mark a person made.</summary>
/// <param name="Id">Its number.</param>
/// <param name="WallUnixMs">When, ms since 1970.</param>
/// <param name="Kind">One of <see cref="EventKinds"/>, or a caller's own word.</param>
/// <param name="Text">What, in a sentence.</param>
/// <param name="By">Who; empty where no person did it.</param>
/// <param name="LengthS">How long it lasted or how much it is, s; null where that has no meaning.</param>
public sealed record EventRecord(long Id, long WallUnixMs, string Kind, string Text, string By, double? LengthS);

/// <summary>Kinds of event the log itself writes.</summary>
public static class EventKinds
{
    /// <summary>Recording began.</summary>
    public const string Start = "start";

    /// <summary>Recording ended in order.</summary>
    public const string Stop = "stop";

    /// <summary>The last run did not end in order.</summary>
    public const string Recovered = "recovered";

    /// <summary>Nothing was recorded for a while, or what was measured could not be kept.</summary>
    public const string Gap = "gap";

    /// <summary>The wall clock was set.</summary>
    public const string ClockStep = "clock step";

    /// <summary>Old data were thinned by the stated rule.</summary>
    public const string Thinned = "thinned";

    /// <summary>A part of the file does not read.</summary>
    public const string Damage = "damage";

    /// <summary>The pack's layout changed.</summary>
    public const string Layout = "layout";

    /// <summary>A person's remark on the time line.</summary>
    public const string Mark = "mark";
}

/// <summary>One step in an alarm's life as recorded.</summary>
/// <param name="Number">Its number in the record.</param>
/// <param name="Transition">The step.</param>
public sealed record AlarmRecord(long Number, AlarmTransition Transition);

/// <summary>A command as recorded: who asked for what, and the answer.</summary>
/// <param name="Number">Its number in the record.</param>
/// <param name="WallUnixMs">When, ms since 1970.</param>
/// <param name="By">Who.</param>
/// <param name="Command">Which: the name of the command.</param>
/// <param name="Details">Everything it said, as JSON.</param>
/// <param name="Accepted">Whether it was applied.</param>
/// <param name="Answer">What was answered.</param>
public sealed record CommandRecord(long Number, long WallUnixMs, string By, string Command, string Details, bool Accepted, string Answer);

/// <summary>What a stretch of the log is for.</summary>
public enum RunKind
{
    /// <summary>Self-discharge test at rest.</summary>
    Rest,

    /// <summary>Capacity test.</summary>
    Capacity,

    /// <summary>Pulse resistance test.</summary>
    Pulse,

    /// <summary>A charge.</summary>
    Charge,

    /// <summary>Balancing.</summary>
    Balance,

    /// <summary>A drive or voyage.</summary>
    Drive,

    /// <summary>Storage.</summary>
    Storage,
}

/// <summary>A run: a bounded stretch of the log with a purpose.</summary>
/// <param name="Id">Its number.</param>
/// <param name="Kind">What for.</param>
/// <param name="Title">Its title.</param>
/// <param name="FromUnixMs">Beginning, ms since 1970.</param>
/// <param name="ToUnixMs">End; null while it is open.</param>
/// <param name="OpenedBy">Who opened it; <c>recognised</c> where the program did.</param>
/// <param name="ClosedBy">Who closed it; empty while it is open.</param>
/// <param name="Settings">Settings and results that belong to it, as JSON; empty where none.</param>
public sealed record RunRecord(long Id, RunKind Kind, string Title, long FromUnixMs, long? ToUnixMs, string OpenedBy, string ClosedBy, string Settings);

/// <summary>A note a person wrote, about an instant and perhaps a run.</summary>
/// <param name="Id">Its number.</param>
/// <param name="WallUnixMs">The instant it is about, ms since 1970.</param>
/// <param name="Run">The run it belongs to; null where none.</param>
/// <param name="Text">The note.</param>
/// <param name="By">Who.</param>
public sealed record NoteRecord(long Id, long WallUnixMs, long? Run, string Text, string By);

/// <summary>A file kept with the log: a photograph, a certificate.</summary>
/// <param name="Id">Its number.</param>
/// <param name="WallUnixMs">When it was attached, ms since 1970.</param>
/// <param name="Run">The run it belongs to; null where none.</param>
/// <param name="Name">File name.</param>
/// <param name="MediaType">Media type: <c>image/png</c>.</param>
/// <param name="Length">Bytes.</param>
/// <param name="By">Who.</param>
public sealed record AttachmentRecord(long Id, long WallUnixMs, long? Run, string Name, string MediaType, long Length, string By);

/// <summary>How much is kept and for how long there is room.</summary>
public sealed record StorageView
{
    /// <summary>First and last instant with data of any kind, by wall time; null while the log is empty.</summary>
    public TimeRange? Recorded { get; init; }

    /// <summary>Oldest snapshot still kept at full rate outside frozen windows, ms since 1970; null where there is none.</summary>
    public long? FullRateFromUnixMs { get; init; }

    /// <summary>Size of the file and what belongs to it, bytes.</summary>
    public long FileBytes { get; init; }

    /// <summary>Room left on its disk, bytes.</summary>
    public long FreeBytes { get; init; }

    /// <summary>What a day of full rate adds, bytes; null before enough is known.</summary>
    public double? BytesPerDay { get; init; }

    /// <summary>Days until nothing more can be kept, thinning considered; null where not known, infinite where the rule holds the size.</summary>
    public double? DaysLeft { get; init; }

    /// <summary>Days until full rate has to be thinned before its time; null where not known, infinite where it never has.</summary>
    public double? DaysToThinning { get; init; }

    /// <summary>The retention rule in a sentence.</summary>
    public string Rule { get; init; } = "";
}

/// <summary>A stretch kept at full rate whatever its age.</summary>
/// <param name="Range">The stretch.</param>
/// <param name="Reason">Why: the alarm's identity, or a person's words.</param>
public sealed record FrozenWindow(TimeRange Range, string Reason);

/// <summary>Names of everything a log has channels for.</summary>
/// <param name="Names">Channel names in the order of the newest layout, then those of older ones.</param>
/// <param name="Units">Their units.</param>
public sealed record ChannelList(ImmutableArray<string> Names, ImmutableArray<string> Units);
