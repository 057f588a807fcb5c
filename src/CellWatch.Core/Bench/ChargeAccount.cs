using CellWatch.Core.History;
using CellWatch.Core.Pack;

namespace CellWatch.Core.Bench;

/// <summary>Which charge of the log a record is made of, and what the log does not know.</summary>
/// <param name="Id">Name of the record.</param>
/// <param name="Kind">AC or DC.</param>
/// <param name="Run">Number of a run of the log; null where times are given.</param>
/// <param name="From">Beginning; null where a run is given.</param>
/// <param name="To">End; null where a run is given.</param>
/// <param name="FrontEndsIsolated">Whether every front end is isolated; null where that is not known.</param>
/// <param name="People">People present; null: as many as confirmed their presence.</param>
/// <param name="WallWh">Energy from the wall; null where not measured.</param>
public sealed record ChargeOrder(string Id, ChargeKind Kind, long? Run = null, DateTimeOffset? From = null, DateTimeOffset? To = null, bool? FrontEndsIsolated = null, int? People = null, double? WallWh = null);

/// <summary>Something that happened at a charge.</summary>
public sealed record ChargeEvent(DateTimeOffset At, string What, string By);

/// <summary>What a record made from the log holds beyond one entered by hand.</summary>
/// <param name="Source">Where it was taken from.</param>
/// <param name="LimitedAt">When the first cell was at its target; null for never.</param>
/// <param name="HighestCell">Highest cell of all; empty where none was known.</param>
/// <param name="HighestV">Its voltage.</param>
/// <param name="HighestAt">When.</param>
/// <param name="LeastHeadroomMv">Target less that voltage, mV; negative above it.</param>
/// <param name="LongestAtTargetS">Longest time at the target without the current falling.</param>
/// <param name="TaperS">Time constant of the taper; NaN where none fits.</param>
/// <param name="TaperRSquared">How well it fits.</param>
/// <param name="EndA">Current at the end.</param>
/// <param name="Hottest">Hottest sensor with its temperature, in words.</param>
/// <param name="NotCountedS">Time for which charge or energy was not known.</param>
/// <param name="Gaps">Gaps of the record.</param>
/// <param name="Presence">Who confirmed presence when.</param>
/// <param name="Events">Alarms, marks and what the log says of itself.</param>
/// <param name="Remarks">What could not be told, in sentences.</param>
public sealed record ChargeDetails(
    string Source, DateTimeOffset? LimitedAt, string HighestCell, double HighestV, DateTimeOffset HighestAt, double LeastHeadroomMv, double LongestAtTargetS, double TaperS, double TaperRSquared,
    double EndA, string Hottest, double NotCountedS, IReadOnlyList<ChargeGap> Gaps, IReadOnlyList<ChargeEvent> Presence, IReadOnlyList<ChargeEvent> Events, IReadOnlyList<string> Remarks);

/// <summary>What the log holds beside the scans, from twelve hours before a charge to its end.</summary>
/// <param name="Alarms">Steps in alarms' lives.</param>
/// <param name="Commands">Commands.</param>
/// <param name="Events">Events.</param>
/// <param name="RestPercent">Charge level by the rest voltage before it; NaN where there was no rest.</param>
public sealed record ChargeTrail(IReadOnlyList<AlarmRecord> Alarms, IReadOnlyList<CommandRecord> Commands, IReadOnlyList<EventRecord> Events, double RestPercent);

/// <summary>
/// Puts the record of a charge together out of what the log holds. Unknown counts as unsafe: what the log does not show was not done. Stop rules are
/// those of the ladder, each judged by the scans or by the alarm that stands for it.
/// </summary>
public static class ChargeAccount
{
    /// <summary>A cut-off that was reported counts where the current fell to zero within so long before, s (own rule).</summary>
    public const double CutSeenWithinS = 120;

    /// <summary>Presence confirmed so soon after the beginning counts as from the beginning, min (own rule).</summary>
    public const double PresenceSoonMinutes = 5;

    private static readonly (string Rule, int Stop)[] RuleOfStop =
    [
        ("data-age", 1), ("no-data", 1), ("no-current", 1), ("cell-high-warn", 2), ("cell-high", 2), ("cell-high-absolute", 2), ("heat-unexplained", 3), ("heat-at-rest", 3), ("taper-missing", 5), ("presence-missed", 6),
    ];

    /// <summary>When the hand cut-off was reported and the log shows it; null for never.</summary>
    public static DateTimeOffset? CutOffSeen(ChargeReading reading, ChargeTrail trail) =>
        trail.Commands.Where(c => c.Accepted && c.Command == nameof(Commands.HandCutOffTried) && IsIn(reading, c.WallUnixMs, 300_000))
            .Where(c => reading.ZeroUnixMs.Any(z => c.WallUnixMs - z is >= 0 and <= (long)(1000 * CutSeenWithinS))).Select(c => At(c.WallUnixMs)).Cast<DateTimeOffset?>().FirstOrDefault();

    /// <summary>Minutes between the last confirmation before the charge, or one soon after it began, and the beginning; null for none.</summary>
    public static double? PresenceMinutesAgo(ChargeReading reading, ChargeTrail trail)
    {
        var minutes = Presence(trail).Select(p => (reading.FromUnixMs - p.At.ToUnixTimeMilliseconds()) / 60_000.0).Where(m => m >= -PresenceSoonMinutes).ToList();
        return minutes.Count == 0 ? null : Math.Max(0, minutes.Min());
    }

    /// <summary>People who confirmed presence or pressed anything during the charge.</summary>
    public static int PeopleSeen(ChargeReading reading, ChargeTrail trail) =>
        trail.Commands.Where(c => c.Accepted && IsIn(reading, c.WallUnixMs, 0)).Select(c => c.By.Trim().ToUpperInvariant()).Distinct(StringComparer.Ordinal).Count();

    /// <summary>Makes the record.</summary>
    /// <param name="order">What was asked for.</param>
    /// <param name="source">The stretch of the log, in words.</param>
    /// <param name="reading">What the scans say.</param>
    /// <param name="trail">What lies beside them.</param>
    /// <param name="preconditions">As they were when it began.</param>
    /// <param name="map">Channels, for names.</param>
    /// <param name="limits">Limits it is judged by.</param>
    /// <param name="offset">Offset of the site's clock from UTC, for the times in it.</param>
    public static ChargeRecord Make(
        ChargeOrder order, string source, ChargeReading reading, ChargeTrail trail, IReadOnlyList<Precondition> preconditions, Snapshots.ChannelMap map, CellLimits limits, TimeSpan offset)
    {
        DateTimeOffset At(long unixMs) => ChargeAccount.At(unixMs).ToOffset(offset);
        ChargeEvent Here(ChargeEvent e) => e with { At = e.At.ToOffset(offset) };
        var during = trail.Alarms.Select(a => a.Transition).Where(t => IsIn(reading, t.WallUnixMs, 0) && t.From == Rules.AlarmState.Normal).ToList();
        var cut = CutOffSeen(reading, trail)?.ToOffset(offset);
        var presence = Presence(trail).Where(p => IsIn(reading, p.At.ToUnixTimeMilliseconds(), 0)).Select(Here).ToList();
        var limited = reading.LimitedBy >= 0;
        var details = new ChargeDetails(
            source, reading.LimitedAtUnixMs is { } ms ? At(ms) : null, reading.HighestCell < 0 ? "" : map.NameOf(reading.HighestCell), reading.HighestV, At(reading.HighestAtUnixMs),
            1000 * (limits.ChargeTargetV - reading.HighestV), reading.LongestAtTargetS, reading.TaperS, reading.TaperRSquared, reading.EndA,
            reading.HottestSensor < 0 ? T("not known") : $"{map.NameOf(reading.HottestSensor)} {reading.HottestDegC:0.0} degC", reading.NotCountedS, [.. reading.Gaps.Select(g => g with { At = g.At.ToOffset(offset) })], presence,
            [.. during.Select(t => new ChargeEvent(At(t.WallUnixMs), t.Alarm.Message, "")).Concat(Other(reading, trail).Select(Here)).OrderBy(e => e.At)], Remarks(reading, trail, cut));
        return new ChargeRecord(
            order.Id.Trim(), order.Kind, At(reading.FromUnixMs), At(reading.ToUnixMs), preconditions, cut, limited ? map.NameOf(reading.LimitedBy) : "", reading.LimitedAtV, reading.LimitedAtA, reading.LimitedAtDegC,
            limited && reading.LongestAtTargetS < ChargeReader.ObeysWithinS, Stops(reading, during, presence), Math.Round(reading.InAh, 3), order.WallWh ?? double.NaN, Math.Round(reading.PackWh, 1), source, reading.Curve, limits, details);
    }

    private static List<string> Stops(ChargeReading reading, List<Rules.AlarmTransition> alarms, List<ChargeEvent> presence)
    {
        var met = RuleOfStop.Where(r => alarms.Exists(a => a.Alarm.Rule == r.Rule)).Select(r => r.Stop).ToHashSet();
        if (reading.UnprovenScans > 0) met.Add(0);
        if (reading.LongestSilenceS > 5) met.Add(1);
        if (reading.LongestAtTargetS >= ChargeReader.ObeysWithinS) met.Add(5);
        long[] marks = [reading.FromUnixMs, .. presence.Select(p => p.At.ToUnixTimeMilliseconds()).Order(), reading.ToUnixMs];
        if (marks.Zip(marks.Skip(1), (a, b) => b - a).Any(ms => ms > 60_000 * ChargeLadder.PresenceMinutes)) met.Add(6);
        return [.. met.Order().Select(i => ChargeLadder.StopRules[i])];
    }

    private static List<string> Remarks(ChargeReading reading, ChargeTrail trail, DateTimeOffset? cut)
    {
        var remarks = new List<string>();
        if (reading.Gaps.Count > 0) remarks.Add(T($"{reading.Gaps.Count} {(reading.Gaps.Count == 1 ? "gap" : "gaps")} in the record, {reading.Gaps.Sum(g => g.LengthS):0} s together: nothing is counted across them."));
        if (reading.NotCountedS > 0) remarks.Add(T($"Charge or energy was not known for {reading.NotCountedS:0} s: what went in is at least the figure given."));
        if (reading.LimitedBy < 0) remarks.Add(T("No cell was at its target: whether the current obeys the limit is not shown by this charge."));
        else if (double.IsNaN(reading.TaperS)) remarks.Add(T("No exponential fits the taper, or it was too short to fit."));
        if (cut is null && trail.Commands.Any(c => c.Accepted && c.Command == nameof(Commands.HandCutOffTried) && IsIn(reading, c.WallUnixMs, 300_000)))
            remarks.Add(T($"The hand cut-off was reported, but the log does not show the current fall to zero within {CutSeenWithinS:0} s before it."));
        if (double.IsNaN(trail.RestPercent)) remarks.Add(T("The charge level at the beginning is not known: there was no rest before it, or the curve does not tell there."));
        return remarks;
    }

    private static IEnumerable<ChargeEvent> Other(ChargeReading reading, ChargeTrail trail) =>
        trail.Events.Where(e => IsIn(reading, e.WallUnixMs, 0)).Select(e => new ChargeEvent(At(e.WallUnixMs), e.Text, e.By))
            .Concat(trail.Commands.Where(c => c.Accepted && c.Command is nameof(Commands.HandCutOffTried) or nameof(Commands.ArmPermit) or nameof(Commands.AcknowledgeAlarm) && IsIn(reading, c.WallUnixMs, 0)).Select(c => new ChargeEvent(At(c.WallUnixMs), Words(c.Command), c.By)));

    private static string Words(string command) => command switch
    {
        nameof(Commands.HandCutOffTried) => T("hand cut-off reported as tried"),
        nameof(Commands.ArmPermit) => T("charge permit armed or disarmed"),
        _ => T("an alarm acknowledged"),
    };

    private static List<ChargeEvent> Presence(ChargeTrail trail) =>
        [.. trail.Commands.Where(c => c.Accepted && c.Command == nameof(Commands.ConfirmPresence)).Select(c => new ChargeEvent(At(c.WallUnixMs), "present", c.By))];

    private static bool IsIn(ChargeReading reading, long ms, long afterMs) => ms >= reading.FromUnixMs && ms <= reading.ToUnixMs + afterMs;

    private static DateTimeOffset At(long unixMs) => DateTimeOffset.FromUnixTimeMilliseconds(unixMs);
}
