using System.Globalization;
using CellWatch.Core.History;
using CellWatch.Core.History.Runs;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Strips;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Pages;

/// <summary>One line of the table beside the strips.</summary>
public sealed record TraceRow(string Channel, string Least, string LeastAt, string Greatest, string GreatestAt, string InUse, bool IsHoley);

/// <summary>What a stretch of the log says in words and rows.</summary>
public static class TraceWords
{
    /// <summary>The page's first sentence: when, how far the cells went apart, what happened, how fine.</summary>
    public static string Headline(TraceReading reading, Picture picture)
    {
        var range = Range(reading.Address.Range, picture);
        if (reading.IsEmpty) return T($"{range}: nothing recorded.");
        var said = new List<string>();
        if (reading.Crowd.Widest() is var (column, spreadV)) said.Add(T($"cells at most {Figures.With(1000 * spreadV, 0, "mV")} apart, at {When(reading.Crowd.Columns.StartUnixMs[column], reading, picture)}"));
        said.Add(reading.Alarms.Length == 0 ? T("no alarm") : Figures.Count(reading.Alarms.Length, T("alarm"), T("alarms")));
        if (reading.Gaps.Length > 0) said.Add(Figures.Count(reading.Gaps.Length, T("gap"), T("gaps")));
        return $"{range}: {string.Join(", ", said)}. {Fineness(reading)}";
    }

    /// <summary>What one column is.</summary>
    public static string Fineness(TraceReading reading) => reading.IsRaw
        ? T("Every scan is drawn.")
        : T($"Each step is {Figures.Duration(reading.Lines.Columns.ColumnMs / 1000)} with its true least and greatest.");

    /// <summary>What to do where there is nothing.</summary>
    public static string Nothing(TraceReading reading, Picture picture) => reading.Recorded is { } all
        ? T($"Nothing recorded in this range. The record goes from {Figures.Date(all.FromUnixMs, picture.Options.TimeZone)} {picture.Minute(all.FromUnixMs)} to {Figures.Date(all.ToUnixMs, picture.Options.TimeZone)} {picture.Minute(all.ToUnixMs)}.")
        : T("Nothing is recorded yet. The first scan begins the record.");

    /// <summary>The drawing in words.</summary>
    public static string Label(TraceReading reading, Picture picture) =>
        T($"Strips of cell voltage, distance from the median, current and temperature. {Headline(reading, picture)} The table below has the figures.");

    /// <summary>A range with its date.</summary>
    public static string Range(TimeRange range, Picture picture)
    {
        var zone = picture.Options.TimeZone;
        var (from, to) = (Figures.Date(range.FromUnixMs, zone), Figures.Date(range.ToUnixMs, zone));
        var clock = (Func<long, string>)(range.LengthMs < 600_000 ? picture.Clock : picture.Minute);
        return from == to ? T($"{from}, {clock(range.FromUnixMs)} to {clock(range.ToUnixMs)}") : T($"{from} {clock(range.FromUnixMs)} to {to} {clock(range.ToUnixMs)}");
    }

    /// <summary>An instant, as fine as the range asks for.</summary>
    public static string When(long unixMs, TraceReading reading, Picture picture)
    {
        var at = reading.Address.Range.LengthMs <= 14_400_000 ? picture.Clock(unixMs) : picture.Minute(unixMs);
        return reading.Address.Range.LengthMs > 86_400_000 ? $"{Figures.Date(unixMs, picture.Options.TimeZone)} {at}" : at;
    }

    /// <summary>An instant a person typed, as hours and minutes of the site's clock; empty for the end of the range. Null where it is none in the range.</summary>
    public static long? Instant(string typed, TimeRange range, TimeZoneInfo zone)
    {
        if (string.IsNullOrWhiteSpace(typed)) return range.ToUnixMs - 1;
        var (clock, named) = typed.IndexOf("UTC", StringComparison.OrdinalIgnoreCase) is >= 0 and var cut ? (typed[..cut], typed[cut..].Trim().Replace('-', '\u2212')) : (typed, "");
        if (!TimeOnly.TryParseExact(clock.Trim(), ["HH:mm", "H:mm", "HH:mm:ss", "H:mm:ss"], CultureInfo.InvariantCulture, DateTimeStyles.None, out var time)) return null;
        // The last of that hour in the range: a range may hold several days.
        for (var day = Figures.At(range.ToUnixMs, zone).Date; day >= Figures.At(range.FromUnixMs, zone).Date; day = day.AddDays(-1))
        {
            var local = day + time.ToTimeSpan();
            if (zone.IsInvalidTime(local)) continue;
            // The hour that comes twice: the later one, unless only the earlier lies in the range or its zone was typed.
            foreach (var offset in zone.IsAmbiguousTime(local) ? zone.GetAmbiguousTimeOffsets(local).Order().ToArray() : [zone.GetUtcOffset(local)])
            {
                var at = new DateTimeOffset(local, offset).ToUnixTimeMilliseconds();
                if (Holds(range, at) && (named.Length == 0 || named.Equals(Core.Wording.SiteClock.NameOf(offset), StringComparison.OrdinalIgnoreCase))) return at;
            }
        }

        return null;
    }

    /// <summary>The figures, one row a channel.</summary>
    public static IEnumerable<TraceRow> Rows(TraceReading reading, Picture picture)
    {
        var columns = reading.Lines.Columns;
        foreach (var trace in reading.Lines.Channels)
        {
            var share = columns.Snapshots.Sum(s => (long)s) is > 0 and var all ? trace.Good.Sum(g => (long)g) / (double)all : 0;
            yield return Row(trace.Channel == reading.Map.NameOf(reading.Map.PackCurrent) ? T("current") : trace.Channel, trace.Unit, trace.Min, trace.Max, columns, share);
        }

        yield return Row(T($"all {reading.Map.CellCount} cells"), "V", reading.Cells.Min, reading.Cells.Max, reading.Cells.Columns, Mean(reading.Cells.Known) / reading.Map.CellCount);
        yield return Row(T($"all {reading.Map.TemperatureCount} sensors"), "degC", reading.Temperatures.Min, reading.Temperatures.Max, reading.Temperatures.Columns, Mean(reading.Temperatures.Known) / reading.Map.TemperatureCount);

        TraceRow Row(string name, string unit, double[] min, double[] max, TimeColumns at, double share)
        {
            var (least, greatest) = (Extreme(min, -1), Extreme(max, 1));
            return new TraceRow(
                name,
                least < 0 ? T("no value") : Value(min[least], unit), least < 0 ? "" : When(at.StartUnixMs[least], reading, picture),
                greatest < 0 ? T("no value") : Value(max[greatest], unit), greatest < 0 ? "" : When(at.StartUnixMs[greatest], reading, picture),
                Share(share), share < 0.9995);
        }
    }

    /// <summary>Which cells left their place among the others, in order.</summary>
    public static string FirstToMove(TraceReading reading, Picture picture)
    {
        var moved = reading.Crowd.FirstToMove();
        var beyond = Figures.With(1000 * Crowd.MovedBeyondV, 0, "mV");
        if (moved.Count == 0) return T($"none by more than {beyond}.");
        var told = moved.Take(3).Select(m => $"{m.Channel} {When(m.UnixMs, reading, picture)} ({Figures.Deviation(m.MovedV)})");
        var others = moved.Count > 3 ? T($", then {Figures.Count(moved.Count - 3, T("other"), T("others"))}") : "";
        // A cell that left its place within a column is told by the column's beginning: a step of the current in finer columns may seem to come after it.
        return reading.Crowd.Columns.ColumnMs <= 1000
            ? T($"{string.Join(", ", told)}{others}. Counted from {beyond} off the place it had at the beginning.")
            : T($"{string.Join(", ", told)}{others}. Counted in steps of {Figures.Duration(reading.Crowd.Columns.ColumnMs / 1000)}, from {beyond} off the place it had at the beginning.");
    }

    /// <summary>
    /// Whether what is seen lies in the cells or in how they are measured: values that were not believed, and two neighbours that left their
    /// places in opposite directions by like amounts, as a lead they share makes them (the-job 0.7).
    /// </summary>
    public static string CellOrSensor(TraceReading reading)
    {
        var believed = Mean(reading.Cells.Known) / reading.Map.CellCount;
        var gaps = reading.Gaps.Length > 0 ? T($" Of {Figures.Count(reading.Gaps.Length, T("gap"), T("gaps"))} nothing is known.") : "";
        if (SharedLead(reading) is { } pair) return T($"{pair.Low} and {pair.High} moved apart by like amounts: the lead between them, not a cell.{gaps}");
        if (believed >= 0.9995 && MovedAtOnce(reading) is { } together)
            return T($"{together} cells moved within two minutes and the current did not: a bleed that went on or off, or what they share in being measured.{gaps}");
        return believed >= 0.9995
            ? T($"every value shown was believed, so it is in the cells.{gaps}")
            : T($"{Share(1 - believed)} of the cell values were not believed ({Doubted(reading)}): look at the sensor or its lead first.{gaps}");
    }

    // Many cells do not leave their places in the same two minutes by themselves. Own rule: four and more, and half of all that moved.
    private static int? MovedAtOnce(TraceReading reading)
    {
        var moved = reading.Crowd.FirstToMove();
        if (moved.Count == 0) return null;
        var together = moved.Count(m => m.UnixMs - moved[0].UnixMs <= 120_000);
        if (together < 4 || 2 * together < moved.Count) return null;
        return JustBefore.Steps(reading).Any(s => Math.Abs(s.At - moved[0].UnixMs) < 120_000 + reading.Crowd.Columns.ColumnMs) ? null : together;
    }

    private static string Doubted(TraceReading reading)
    {
        var names = TraceFilter.NotAllBelieved(reading.Crowd).Select(reading.Map.NameOf).ToList();
        return names.Count <= 3 ? string.Join(", ", names) : T($"{string.Join(", ", names.Take(2))} and {names.Count - 2} more");
    }

    private static (string Low, string High)? SharedLead(TraceReading reading)
    {
        var moved = reading.Crowd.FirstToMove();
        var cells = Enumerable.Range(0, reading.Map.CellCount).Select(reading.Map.NameOf).ToList();
        foreach (var (one, other) in moved.Zip(moved.Skip(1)))
        {
            int a = cells.IndexOf(one.Channel), b = cells.IndexOf(other.Channel);
            var inOneModule = reading.Map.Layout.ModuleOfCell(a) == reading.Map.Layout.ModuleOfCell(b);
            if (inOneModule && Math.Abs(a - b) == 1 && one.MovedV * other.MovedV < 0 && Math.Abs(one.MovedV + other.MovedV) < Math.Abs(one.MovedV - other.MovedV) / 4)
                return a < b ? (one.Channel, other.Channel) : (other.Channel, one.Channel);
        }

        return null;
    }

    /// <summary>Alarms raised, stretches without a record, runs, events of the record, marks and notes of people, oldest first.</summary>
    public static IReadOnlyList<(long At, StateWord State, string Text)> Happened(TraceReading reading, Picture picture) =>
    [
        .. reading.Alarms.Select(a => (a.WallUnixMs, Words.StateOf(a.Alarm), $"{a.Alarm.Place}: {AlarmWords.Fact(a.Alarm)}"))
            .Concat(reading.Events.Select(e => (e.WallUnixMs, StateWord.Normal, $"{Figures.Capital(e.Kind)}: {e.Text}{(e.By.Length > 0 ? $" ({e.By})" : "")}")))
            .Concat(reading.Notes.Select(n => (n.WallUnixMs, StateWord.Normal, T($"Note: {n.Text} ({n.By})"))))
            .Concat(reading.IsEmpty ? [] : reading.Gaps.Select(g => (g.FromUnixMs, StateWord.NoData, g.LengthMs > 0
                ? T($"No record until {When(g.ToUnixMs, reading, picture)}, {Figures.Duration(g.LengthMs / 1000.0)}")
                : T($"A short time without a record, less than two columns of {Figures.Duration(reading.Lines.Columns.ColumnMs / 1000.0)}"))))
            .Concat(reading.Runs.SelectMany(r => RunSteps(r, reading.Address.Range)))
            .OrderBy(h => h.Item1),
    ];

    private static IEnumerable<(long WallUnixMs, StateWord State, string Text)> RunSteps(RunRecord run, TimeRange range)
    {
        var what = run.OpenedBy == RunRecognition.By ? run.Title : $"{run.Kind}, {run.Title} ({run.OpenedBy})";
        if (Holds(range, run.FromUnixMs)) yield return (run.FromUnixMs, StateWord.Normal, T($"Run {run.Id} began: {what}"));
        if (run.ToUnixMs is { } to && Holds(range, to)) yield return (to, StateWord.Normal, T($"Run {run.Id} ended: {what}"));
    }

    /// <summary>Range, marks of time, gaps and marks of events for the drawing.</summary>
    public static object Frame(TraceReading reading, Picture picture)
    {
        var range = reading.Address.Range;
        var zone = picture.Options.TimeZone;
        return new
        {
            from = range.FromUnixMs,
            to = range.ToUnixMs,
            columnMs = reading.Lines.Columns.ColumnMs,
            ticks = TimeTicks.Of(range, zone, 10).Select(t => new { t = t.UnixMs, l = t.Label }),
            gaps = reading.Gaps.Select(g => new[] { g.FromUnixMs, g.ToUnixMs }),
            marks = reading.Alarms.Select(a => new { t = a.WallUnixMs, state = (int)Words.StateOf(a.Alarm), say = $"{picture.Clock(a.WallUnixMs)} {a.Alarm.Place}: {AlarmWords.Fact(a.Alarm)}" })
                .Concat(reading.Notes.Select(n => new { t = n.WallUnixMs, state = -1, say = T($"{picture.Clock(n.WallUnixMs)} note: {n.Text}") }))
                .Concat(reading.Events.Select(e => new { t = e.WallUnixMs, state = -1, say = $"{picture.Clock(e.WallUnixMs)} {e.Kind}: {e.Text}" })).OrderBy(m => m.t),
            zones = TimeTicks.Zones(range, zone),
        };
    }

    private static bool Holds(TimeRange range, long unixMs) => unixMs >= range.FromUnixMs && unixMs < range.ToUnixMs;

    private static int Extreme(double[] values, int way)
    {
        var best = -1;
        for (var i = 0; i < values.Length; i++)
            if (double.IsFinite(values[i]) && (best < 0 || way * values[i] > way * values[best])) best = i;
        return best;
    }

    private static double Mean(double[] values) => values.Length == 0 ? 0 : values.Average();

    /// <summary>A share in per cent, never rounded up to all.</summary>
    public static string Share(double share) => share >= 0.9995 ? "100 %" : Figures.With(Math.Floor(1000 * share) / 10, 1, "%");

    private static string Value(double value, string unit) => unit switch
    {
        "V" when value < 20 => Figures.With(value, 3, "V"),
        "A" => Figures.With(value, 1, "A", signed: true),
        "degC" => Figures.Temperature(value),
        "" => value.ToString("0", CultureInfo.InvariantCulture),
        _ => Figures.With(value, 1, unit),
    };
}
