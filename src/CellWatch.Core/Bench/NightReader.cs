using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Bench;

/// <summary>
/// Finds the last night of bleeding in a stretch of the log and reads it: charge of each cell against the median before and after, from volts
/// at rest by the cell type's curve; charge removed by its own count, V / R times the time its switch was commanded on. What is due is
/// the charge above the median in the evening, of cells whose switch was commanded at all: a plan that is on record elsewhere is better.
/// <para>Source: Ohm's law and the curve; windows and bounds are own rules.</para>
/// </summary>
public static class NightReader
{
    private const double OnShare = 0.01;

    /// <summary>Names of the channels to read, in the order <see cref="Last"/> takes them: cells, their bleeds, current, temperatures.</summary>
    public static IEnumerable<string> Channels(ChannelMap map) =>
        Enumerable.Range(0, map.CellCount)
            .Concat(Enumerable.Range(map.FirstBleed, map.CellCount))
            .Append(map.PackCurrent)
            .Concat(Enumerable.Range(map.FirstTemperature, map.TemperatureCount))
            .Select(map.NameOf);

    /// <summary>The last night in a stretch; null where nothing was bled.</summary>
    /// <param name="map">The pack's channels.</param>
    /// <param name="traces">The channels of <see cref="Channels"/>, in columns of at most ten minutes.</param>
    /// <param name="setup">What turns volts into charge.</param>
    public static NightReading? Last(ChannelMap map, Traces traces, NightSetup setup)
    {
        var log = new Night(map, traces, setup);
        if (log.Bled() is not { } bled) return null;
        var before = log.Window(log.LastRestBefore(bled.First));
        var after = log.Window(log.LastRestAfter(bled.Last));
        var reading = new NightReading
        {
            Bleeding = new TimeRange(log.Start(bled.First), log.End(bled.Last)),
            Columns = log.Columns,
            BleedShare = log.BleedShare,
            Holes = log.Holes(bled.First, bled.Last),
            Before = log.RangeOf(before),
            After = log.RangeOf(after),
            BeforeV = log.MeanV(before),
            AfterV = log.MeanV(after),
        };
        if (before is null) return reading with { Waiting = T("There is no reading at rest before this night: nothing to compare with.") };
        if (after is not { } morning) return reading with { Waiting = T("The night is not over: figures come after the bleeding, at rest.") };
        var levels = (Before: log.Levels(reading.BeforeV), After: log.Levels(reading.AfterV));
        reading = reading with { LevelPercent = Middle(levels.After) };
        var restMinutes = (log.End(morning.Last) - log.End(bled.Last)) / 60_000.0;
        if (restMinutes < setup.Rules.BleedOffMinutes) return reading with { Waiting = T($"The bleed has been off for {restMinutes:0} min: figures stand after {setup.Rules.BleedOffMinutes:0} min at rest.") };
        var untold = Enumerable.Range(0, map.CellCount).Where(c => double.IsNaN(levels.Before[c]) || double.IsNaN(levels.After[c])).Select(map.NameOf).ToList();
        if (untold.Count > 0) return reading with { Waiting = T($"{string.Join(", ", untold.Take(4))}{(untold.Count > 4 ? T($" and {untold.Count - 4} more") : "")} cannot be told in Ah before or after: not seen, or where the curve is flat.") };
        var record = Record(log, bled, reading, levels, restMinutes);
        return reading with { Record = record, Low = Low(log, bled, reading, record) };
    }

    private static NightRecord Record(Night log, Span bled, NightReading reading, (double[] Before, double[] After) levels, double restMinutes)
    {
        var beforeAh = Deviations(levels.Before, log.Setup.CapacityAh);
        var afterAh = Deviations(levels.After, log.Setup.CapacityAh);
        var cells = beforeAh.Length;
        double[] integrated = [.. Enumerable.Range(0, cells).Select(c => log.IntegratedAh(c, bled))];
        double[] due = [.. Enumerable.Range(0, cells).Select(c => log.WasCommanded(c, bled) ? Math.Max(0, beforeAh[c]) : 0)];
        var hours = (Centre(reading.After) - Centre(reading.Before)) / 3_600_000.0;
        var since = log.LastBleedBefore(bled.First) is { } earlier ? (log.Start(bled.First) - log.End(earlier)) / 60_000.0 : (log.Start(bled.First) - log.Start(0)) / 60_000.0;
        return new NightRecord(
            hours, hours, beforeAh, afterAh, due, integrated,
            new RestConditions(log.IsRest(reading.Before), since, log.TemperatureDegC(reading.Before)),
            new RestConditions(log.IsRest(reading.After), restMinutes, log.TemperatureDegC(reading.After)),
            [.. reading.Holes.Select(h => T($"{h.LengthMs / 60_000.0:0} min of the record"))], double.NaN);
    }

    /// <summary>
    /// The lowest rest of the stretch, if it lies far enough below the night. One before the night is brought past it: what a bleed took later is taken
    /// off, so that only the charge moved by all cells lies between the two.
    /// </summary>
    private static LowReading? Low(Night log, Span bled, NightReading reading, NightRecord record)
    {
        LowReading? lowest = null;
        foreach (var end in log.RestEnds())
        {
            if (log.Window(end) is not { } window) continue;
            var levels = log.Levels(log.MeanV(window));
            var percent = Middle(levels);
            if (!(reading.LevelPercent - percent >= log.Setup.LowBelowPercent) || !(percent < (lowest?.ChargePercent ?? double.MaxValue)) || levels.Any(double.IsNaN)) continue;
            var ah = Deviations(levels, log.Setup.CapacityAh);
            if (end < bled.First)
            {
                for (var c = 0; c < ah.Length; c++) ah[c] -= double.IsFinite(record.IntegratedAh[c]) ? record.IntegratedAh[c] : record.BeforeAh[c] - record.AfterAh[c];
            }

            lowest = new LowReading(ah, log.Setup.CapacityAh * (reading.LevelPercent - percent) / 100, log.Setup.CapacityAh, percent);
        }

        return lowest;
    }

    private static double Centre(TimeRange range) => (range.FromUnixMs + range.ToUnixMs) / 2.0;

    private static double[] Deviations(double[] levels, double capacityAh)
    {
        var median = Middle(levels);
        return [.. levels.Select(l => (l - median) * capacityAh / 100)];
    }

    private static double Middle(double[] values)
    {
        var known = values.Where(double.IsFinite).ToArray();
        return known.Length == 0 ? double.NaN : Robust.Median(known);
    }

    /// <summary>Columns from one to another, both included.</summary>
    private readonly record struct Span(int First, int Last);

    private sealed class Night(ChannelMap map, Traces traces, NightSetup setup)
    {
        private readonly Trace[] _cells = [.. traces.Channels.Take(map.CellCount)];
        private readonly Trace[] _bleeds = [.. traces.Channels.Skip(map.CellCount).Take(map.CellCount)];
        private readonly Trace _current = traces.Channels[2 * map.CellCount];
        private readonly Trace[] _temperatures = [.. traces.Channels.Skip(2 * map.CellCount + 1)];

        public NightSetup Setup => setup;

        public TimeColumns Columns => traces.Columns;

        public double[][] BleedShare { get; } = [.. traces.Channels.Skip(map.CellCount).Take(map.CellCount).Select(t => t.Mean)];

        public long Start(int column) => Columns.StartUnixMs[column];

        public long End(int column) => (long)(Columns.StartUnixMs[column] + Math.Max(1, Columns.ColumnMs));

        public TimeRange RangeOf(Span? span) => span is { } s ? new TimeRange(Start(s.First), End(s.Last)) : default;

        /// <summary>From the first to the last column with a bleed, of the last night in the stretch.</summary>
        public Span? Bled()
        {
            var last = Columns.Count - 1;
            while (last >= 0 && !Bleeds(last)) last--;
            if (last < 0) return null;
            var first = last;
            for (var i = last - 1; i >= 0 && Start(first) - End(i) < setup.NightsApartH * 3_600_000; i--)
                if (Bleeds(i)) first = i;
            return new Span(first, last);
        }

        public int? LastBleedBefore(int column)
        {
            for (var i = column - 1; i >= 0; i--)
                if (Bleeds(i)) return i;
            return null;
        }

        /// <summary>The last column at rest and without a bleed before one; null where there is none.</summary>
        public int? LastRestBefore(int column) => column > 0 && IsQuiet(column - 1) ? column - 1 : null;

        /// <summary>The last column of the rest that follows one; null where no rest follows yet.</summary>
        public int? LastRestAfter(int column)
        {
            var last = column;
            while (last + 1 < Columns.Count && IsQuiet(last + 1)) last++;
            return last == column ? null : last;
        }

        /// <summary>Last columns of all rests that are long enough for a reading low on the curve.</summary>
        public IEnumerable<int> RestEnds()
        {
            var first = -1;
            for (var i = 0; i < Columns.Count; i++)
            {
                if (!IsQuiet(i)) first = -1;
                else if (first < 0) first = i;
                var isEnd = first >= 0 && (i + 1 == Columns.Count || !IsQuiet(i + 1));
                if (isEnd && End(i) - Start(first) >= setup.LowRestMinutes * 60_000) yield return i;
            }
        }

        /// <summary>Columns of the reading that ends with one, as long as the pack is quiet; null where it is not.</summary>
        public Span? Window(int? end)
        {
            if (end is not { } last) return null;
            var first = last;
            while (first > 0 && IsQuiet(first - 1) && End(last) - Start(first - 1) <= setup.ReadingMinutes * 60_000) first--;
            return new Span(first, last);
        }

        public double[] MeanV(Span? span)
        {
            if (span is not { } s) return [];
            return [.. _cells.Select(t => Mean(t, s))];
        }

        public double[] Levels(double[] volts) => [.. volts.Select(v => double.IsFinite(v) && setup.Curve.SocAt(v) is { IsTold: true } told ? told.SocPercent : double.NaN)];

        public bool IsRest(TimeRange range) => Within(range).All(i => Math.Max(Math.Abs(_current.Min[i]), Math.Abs(_current.Max[i])) <= setup.RestA);

        public double TemperatureDegC(TimeRange range)
        {
            var known = Within(range).SelectMany(i => _temperatures.Select(t => t.Mean[i])).Where(double.IsFinite).ToArray();
            return known.Length == 0 ? double.NaN : known.Average();
        }

        public bool WasCommanded(int cell, Span bled) => Enumerable.Range(bled.First, bled.Last - bled.First + 1).Any(i => _bleeds[cell].Max[i] > OnShare);

        /// <summary>Stretches of a night without a record, longer than a minute.</summary>
        public List<TimeRange> Holes(int first, int last)
        {
            var holes = new List<TimeRange>();
            for (var i = first + 1; i <= last; i++)
                if (Columns.BreakBefore[i] && Start(i) - End(i - 1) > 60_000) holes.Add(new TimeRange(End(i - 1), Start(i)));
            return holes;
        }

        /// <summary>Charge a cell's bleed took by its own count, Ah; NaN where too much of it is not known.</summary>
        public double IntegratedAh(int cell, Span bled)
        {
            double ah = 0, lostAh = 0;
            double? meanV = null;
            for (var i = bled.First; i <= bled.Last; i++)
            {
                var (share, volts) = (_bleeds[cell].Mean[i], _cells[cell].Mean[i]);
                // A cell under bleed is shown, and its volts are those the resistor sees; where they are missing the neighbours in time stand near enough.
                if (!double.IsFinite(volts)) volts = meanV ??= _cells[cell].Mean.Skip(bled.First).Take(bled.Last - bled.First + 1).Where(double.IsFinite).DefaultIfEmpty(double.NaN).Average();
                var hours = Math.Max(1, Columns.ColumnMs) / 3_600_000;
                if (double.IsFinite(share * volts)) ah += share * volts / setup.BleedOhm * hours;
                else lostAh += Usual * hours;
                if (i > bled.First && Columns.BreakBefore[i] && (share > OnShare || _bleeds[cell].Mean[i - 1] > OnShare)) lostAh += Usual * (Start(i) - End(i - 1)) / 3_600_000.0;
            }

            return lostAh > setup.HoleAh ? double.NaN : ah;
        }

        private double Usual => setup.Curve.TopV / setup.BleedOhm;

        private IEnumerable<int> Within(TimeRange range) => Enumerable.Range(0, Columns.Count).Where(i => Start(i) >= range.FromUnixMs && Start(i) < range.ToUnixMs);

        private bool Bleeds(int column) => _bleeds.Any(b => b.Mean[column] > OnShare);

        // A column whose current is not known is not quiet: unknown counts as unsafe.
        private bool IsQuiet(int column) => !Bleeds(column) && Math.Abs(_current.Min[column]) <= setup.RestA && Math.Abs(_current.Max[column]) <= setup.RestA;

        private static double Mean(Trace trace, Span span)
        {
            double sum = 0;
            long good = 0;
            for (var i = span.First; i <= span.Last; i++)
            {
                if (!double.IsFinite(trace.Mean[i])) continue;
                sum += trace.Mean[i] * trace.Good[i];
                good += trace.Good[i];
            }

            return good == 0 ? double.NaN : sum / good;
        }
    }
}
