using System.Globalization;
using CellWatch.Core.Bench;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Strips;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Nights;

/// <summary>A night's review in words and in figures for its drawings.</summary>
public static class NightWords
{
    /// <summary>The state word: a cell that does not come in by bleeding is a caution; a night that is only not finished is none.</summary>
    public static StateWord? StateOf(NightView night) => night.Review is not { Withheld.Count: 0 } review ? null
        : review.Cells.Any(c => IsTrouble(c.Cause)) ? StateWord.Caution : StateWord.Normal;

    /// <summary>The first sentence.</summary>
    public static string Headline(NightView night) =>
        night.Reading is { Waiting.Length: > 0 } reading ? reading.Waiting : night.Review is { } review ? Set(review.Sentence) : T("This night holds no figures.");

    /// <summary>
    /// What to do next: what can be settled by a test first, then whom to leave out of the bleeding, then whom to bleed again. Empty where all are level.
    /// </summary>
    public static string Next(NightReviewOutcome review)
    {
        var steps = new List<string>();
        foreach (var cell in review.Cells.Where(c => c.Cause is NightCause.BleedStuckOn or NightCause.BleedDead or NightCause.Leak && c.DecidingTest.Length > 0).Take(2))
            steps.Add($"{cell.Cell}: {Sentence(cell.DecidingTest)}");
        if (review.Cells.Where(c => c.NightsLeft > 0).ToList() is { Count: > 0 } more)
            steps.Add($"{(steps.Count == 0 ? T("bleed") : T("Bleed"))} {Names(more.OrderByDescending(c => c.LeftAh).Select(c => c.Cell).ToList())} {Figures.Count(more.Max(c => c.NightsLeft!.Value), T("more night"), T("more nights"))}.");
        if (review.Cells.Where(c => c.Cause == NightCause.LowCapacity).Select(c => c.Cell).ToList() is { Count: > 0 } low)
            steps.Add(T($"{(steps.Count == 0 ? T("do") : T("Do"))} not bleed {Names(low)}: {(low.Count == 1 ? T("it has") : T("they have"))} less capacity, a bench discharge measures it."));
        if (review.Cells.Where(c => c.Cause == NightCause.Undecided && c.DecidingTest.Length > 0).ToList() is { Count: > 0 } open)
            steps.Add(T($"{Names(open.OrderByDescending(c => Math.Abs(c.LeftAh)).Select(c => c.Cell).ToList())} undecided: {Set(open.MaxBy(c => Math.Abs(c.LeftAh))!.DecidingTest).Split(" (")[0].TrimEnd('.')}."));
        return string.Join(" ", steps);
    }

    /// <summary>How many nights more, in a word where no count answers it.</summary>
    public static string MoreNights(NightCell cell) => cell.NightsLeft is { } n ? n.ToString(CultureInfo.InvariantCulture)
        : cell.Cause switch
        {
            NightCause.LowCapacity => T("no help"),
            NightCause.Level or NightCause.ChargeOffset => "0",
            NightCause.Undecided => T("not known"),
            _ => T("find cause"),
        };

    private static string Names(List<string> names) => names.Count <= 3 ? string.Join(", ", names) : T($"{string.Join(", ", names.Take(2))} and {names.Count - 2} more");

    /// <summary>Whether a cause is more than charge that bleeding takes away.</summary>
    public static bool IsTrouble(NightCause cause) => cause is NightCause.LowCapacity or NightCause.Leak or NightCause.BleedStuckOn or NightCause.BleedDead;

    /// <summary>A cause in words.</summary>
    public static string Of(NightCause cause) => Figures.Capital(BenchWording.Of(cause));

    /// <summary>Cells that do not come in first, then by what is left.</summary>
    public static IEnumerable<NightCell> Rows(NightReviewOutcome review) => review.Cells.OrderBy(c => IsTrouble(c.Cause) ? 0 : c.IntegratedAh > 0 || c.PlannedAh > 0 ? 1 : 2).ThenByDescending(c => Math.Abs(c.LeftAh));

    /// <summary>Charge with two decimals and no unit; words where it is not known.</summary>
    public static string Ah(double ah) => double.IsFinite(ah) ? Figures.Number(Math.Abs(ah) < 0.005 ? 0 : ah, 2) : T("not known");

    /// <summary>When and in what state one of the two readings was taken.</summary>
    public static string Reading(NightView night, bool after, Picture picture, bool brief = false)
    {
        var parts = new List<string>();
        if (night.Reading is { } r && (after ? r.After : r.Before) is { LengthMs: > 0 } range) parts.Add(T($"{picture.Minute(range.FromUnixMs)} to {picture.Minute(range.ToUnixMs)}"));
        if (night.Night is { } n && (after ? n.After : n.Before) is { } c)
        {
            parts.Add(c.AtRest ? T("at rest") : T("not at rest"));
            if (double.IsFinite(c.TemperatureDegC)) parts.Add(Figures.Temperature(c.TemperatureDegC));
            if (!brief) parts.Add(T($"bleed off {Figures.Duration(60 * c.BleedOffMinutes)}"));
        }

        return string.Join(", ", parts);
    }

    /// <summary>Both readings for the drawing.</summary>
    public static object? BeforeAfter(NightView night, ChannelMap map, Picture picture)
    {
        if (night.Night is not { } n || night.Review is not { Withheld.Count: 0 } review) return null;
        var causes = review.Cells.ToDictionary(c => c.Cell, c => c, StringComparer.Ordinal);
        var most = review.Cells.Where(c => !IsTrouble(c.Cause)).OrderByDescending(c => c.LeftAh).FirstOrDefault();
        return new
        {
            modules = map.Layout.Modules.Select((m, i) => new { id = m.Id.Text, box = m.Box, cells = map.Layout.FirstCell(i + 1) - map.Layout.FirstCell(i) }),
            cells = Enumerable.Range(0, map.CellCount).Select(c => new
            {
                b = Math.Round(n.BeforeAh[c], 3),
                a = Math.Round(n.AfterAh[c], 3),
                s = causes.TryGetValue(map.NameOf(c), out var cause) && IsTrouble(cause.Cause) ? (int)StateWord.Caution : (int)StateWord.Normal,
                o = cause?.Cause == NightCause.BleedStuckOn,
                n = cause is not null && (IsTrouble(cause.Cause) || cause == most) ? map.NameOf(c) : "",
            }),
            before = Figures.Charge(review.SpreadBeforeAh),
            after = Figures.Charge(review.SpreadAfterAh),
            sayBefore = Reading(night, false, picture),
            sayAfter = Reading(night, true, picture),
            briefBefore = Reading(night, false, picture, brief: true),
            briefAfter = Reading(night, true, picture, brief: true),
            movedAh = 0.08,
        };
    }

    /// <summary>Rows of bleed on and off: each cell that bled, and each that fell without being told to.</summary>
    public static object? Bleeds(NightView night, ChannelMap map, Picture picture)
    {
        if (night.Reading is not { } r) return null;
        var from = r.Bleeding.FromUnixMs - 1_800_000;
        var to = (r.After.LengthMs > 0 ? r.After.ToUnixMs : r.Bleeding.ToUnixMs) + 300_000;
        var fell = night.Review?.Cells.Where(c => c.Cause == NightCause.BleedStuckOn).Select(c => c.Cell).ToHashSet(StringComparer.Ordinal) ?? [];
        var rows = new List<object>();
        foreach (var c in Enumerable.Range(0, map.CellCount).OrderBy(c => fell.Contains(map.NameOf(c)) ? 0 : 1))
        {
            var runs = Runs(r, c, from, to);
            if (runs.Count > 0 || fell.Contains(map.NameOf(c))) rows.Add(new { name = map.NameOf(c), fell = fell.Contains(map.NameOf(c)), runs });
        }

        return new { from, to, ticks = Ticks(from, to, picture), holes = r.Holes.Select(h => new[] { h.FromUnixMs, h.ToUnixMs }), rows };
    }

    /// <summary>All cells through the night; null where nothing of it is in the log.</summary>
    public static Carpet? Carpet(NightView night, ChannelMap map)
    {
        if (night.Reading is not { } r || night.Cells is not { } cells) return null;
        var from = r.Before.LengthMs > 0 ? r.Before.FromUnixMs : r.Bleeding.FromUnixMs;
        var to = r.After.LengthMs > 0 ? r.After.ToUnixMs : r.Bleeding.ToUnixMs;
        return Strips.Carpet.Of(new Crowd(cells), new TimeRange(from, to), [.. Enumerable.Range(0, map.CellCount)]);
    }

    /// <summary>The core writes for a terminal; the page sets its signs.</summary>
    public static string Set(string text) => Core.Wording.Typeset.Of(text.Replace(" -> ", " to ", StringComparison.Ordinal));

    /// <summary>A phrase of the review as a sentence.</summary>
    public static string Sentence(string text) => Set(text) is var set && set.Length > 0 && set[^1] is '.' or '?' ? set : set + ".";

    private static IEnumerable<object> Ticks(long from, long to, Picture picture) => TimeTicks.Of(new TimeRange(from, to), picture.Options.TimeZone, 5).Select(t => new { t = t.UnixMs, l = t.Label });

    private static List<long[]> Runs(NightReading r, int cell, long from, long to)
    {
        var runs = new List<long[]>();
        for (var i = 0; i < r.Columns.Count; i++)
        {
            var start = r.Columns.StartUnixMs[i];
            if (start < from || start >= to || !(r.BleedShare[cell][i] > 0.01)) continue;
            var end = (long)(start + Math.Max(1, r.Columns.ColumnMs));
            if (runs.Count > 0 && !r.Columns.BreakBefore[i] && start - runs[^1][1] < 2) runs[^1][1] = end;
            else runs.Add([start, end]);
        }

        return runs;
    }
}
