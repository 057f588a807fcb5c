using CellWatch.Core.History;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Strips;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Pages;

/// <summary>What happened last before cells moved: a step of the current, an alarm, a gap, a run or what people noted.</summary>
public static class JustBefore
{
    /// <summary>Change of the pack's current from one column to the next that counts as a step, A (own rule: above the noise of a current sensor at rest).</summary>
    public const double StepA = 2;

    // A column's mean smears a step over two columns, and a cell takes some seconds to leave its place.
    private const int EarlierColumns = 2;

    /// <summary>In words, of a reading that is not empty. Where no cell moved: the last that happened in the range at all.</summary>
    public static string Of(TraceReading reading, Picture picture)
    {
        var moved = reading.Crowd.FirstToMove();
        var until = moved.Count > 0 ? moved[0].UnixMs : reading.Address.Range.ToUnixMs;
        // A run's bounds follow from the current: they are said only where nothing else is. What was before the record is nothing that happened.
        var inside = reading with { Gaps = [.. reading.Gaps.Where(g => g.FromUnixMs > reading.Address.Range.FromUnixMs)] };
        var last = Last(Happened(inside with { Runs = [] }).Concat(Steps(reading).Select(s => (s.At, Text: Say(s))))) ?? Last(Happened(inside));
        return last is { } found ? T($"{TraceWords.When(found.At, reading, picture)} {found.Text.TrimEnd('.')}.") : T("nothing on record, no step of the current.");

        IEnumerable<(long At, string Text)> Happened(TraceReading of) => TraceWords.Happened(of, picture).Select(h => (h.At, h.Text));
        (long At, string Text)? Last(IEnumerable<(long At, string Text)> all) =>
            all.Where(h => h.At <= until + reading.Crowd.Columns.ColumnMs).OrderBy(h => h.At).Cast<(long At, string Text)?>().LastOrDefault();
    }

    private static string Say((long At, double FromA, double ToA) step) =>
        T($"current from {Figures.With(step.FromA, 1, "A", signed: true)} to {Figures.With(step.ToA, 1, "A", signed: true)}");

    /// <summary>Steps of the pack's current, oldest first; instants in ms since 1970, A.</summary>
    public static IEnumerable<(long At, double FromA, double ToA)> Steps(TraceReading reading)
    {
        var at = reading.Lines.Columns;
        var current = reading.Lines.Channels[^1].Mean;
        for (var i = 1; i < at.Count;)
        {
            var begin = i;
            while (i < at.Count && !at.BreakBefore[i] && Math.Abs(current[i] - current[i - 1]) >= StepA / EarlierColumns) i++;
            if (i == begin) i++;
            else if (Math.Abs(current[i - 1] - current[begin - 1]) >= StepA) yield return (at.StartUnixMs[begin], current[begin - 1], current[i - 1]);
        }
    }
}
