using System.Collections.Immutable;
using System.Runtime.InteropServices;
using CellWatch.Core.History;

namespace CellWatch.Dashboard.Strips;

/// <summary>One run of columns in a strip: a line with its least and greatest, or a band of many channels.</summary>
/// <param name="Name">As written at its end.</param>
/// <param name="Colour">Which of the twelve pairs of a colour and a dash; -1 for the colour of ordinary marks.</param>
/// <param name="IsBand">Whether only the space between least and greatest is drawn.</param>
/// <param name="UnixMs">Middle of each column. All lists are of one length; NaN in the others where a line must not be drawn.</param>
/// <param name="Least">Least.</param>
/// <param name="Mean">Mean.</param>
/// <param name="Greatest">Greatest.</param>
public sealed record StripSeries(string Name, int Colour, bool IsBand, double[] UnixMs, double[] Least, double[] Mean, double[] Greatest);

/// <summary>One strip: series on one scale.</summary>
/// <param name="Title">What it shows, with the unit.</param>
/// <param name="Decimals">Decimals of a value read off.</param>
/// <param name="Signed">Whether values carry their sign.</param>
/// <param name="Weight">Share of the height.</param>
/// <param name="Room">Least span of the scale, so that noise does not fill it.</param>
/// <param name="Series">Its series.</param>
public sealed record Strip(string Title, int Decimals, bool Signed, double Weight, double Room, ImmutableArray<StripSeries> Series);

/// <summary>The strips of a view, in order, and how they travel to the browser: a small description and one array of doubles.</summary>
/// <param name="Strips">The strips.</param>
public sealed record StripSheet(ImmutableArray<Strip> Strips)
{
    /// <summary>Lays a reading out. The second strip sets cells against the median of all, in columns where each cell has one value.</summary>
    public static StripSheet Of(TraceReading reading)
    {
        var strips = ImmutableArray.CreateBuilder<Strip>();
        var lines = reading.Lines.Channels;
        var columns = reading.Lines.Columns;
        var picked = lines.Take(lines.Length - 1).Select((trace, colour) => (Trace: trace, Colour: colour)).ToList();
        var cellNames = Enumerable.Range(0, reading.Map.CellCount).Select(reading.Map.NameOf).ToHashSet(StringComparer.Ordinal);
        var cells = picked.Where(p => cellNames.Contains(p.Trace.Channel)).ToList();
        var crowd = T($"all {reading.Map.CellCount}");
        strips.Add(new Strip(T("Cell voltage, V"), 3, false, 1.2, 0.02, [Band(crowd, reading.Cells), .. cells.Select(p => Line(p.Trace, p.Colour, columns))]));
        strips.Add(new Strip(T("From the median of all cells, mV"), 1, true, 1.2, 10, [Reach(crowd, reading.Crowd), .. cells.Select(p => Deviation(p.Trace.Channel, p.Colour, reading))]));
        strips.Add(new Strip(T("Current, A, charging is positive"), 1, true, 0.8, 2, [Line(lines[^1], -1, columns) with { Name = T("pack") }]));
        strips.Add(new Strip(T("Temperature, °C"), 1, false, 0.7, 2, [Band(T($"all {reading.Map.TemperatureCount}"), reading.Temperatures), .. picked.Where(p => p.Trace.Unit == "degC").Select(p => Line(p.Trace, p.Colour, columns))]));
        foreach (var (trace, colour) in picked.Where(p => p.Trace.Unit != "degC" && !cellNames.Contains(p.Trace.Channel)))
            strips.Add(new Strip(trace.Unit.Length > 0 ? $"{trace.Channel}, {trace.Unit}" : T($"{trace.Channel}, 1 is on"), trace.Unit.Length > 0 ? 2 : 0, false, 0.7, 0.5, [Line(trace, colour, columns)]));
        return new StripSheet(strips.ToImmutable());
    }

    /// <summary>All figures, series after series: times, least, mean, greatest.</summary>
    public byte[] ToBytes()
    {
        var all = Strips.SelectMany(s => s.Series).SelectMany(s => new[] { s.UnixMs, s.Least, s.Mean, s.Greatest }).ToList();
        var bytes = new byte[all.Sum(a => a.Length) * sizeof(double)];
        var at = 0;
        foreach (var array in all)
        {
            MemoryMarshal.AsBytes<double>(array).CopyTo(bytes.AsSpan(at));
            at += array.Length * sizeof(double);
        }

        return bytes;
    }

    /// <summary>The description that goes with <see cref="ToBytes"/>.</summary>
    public object ToHeader() => Strips.Select(s => new
    {
        title = s.Title,
        decimals = s.Decimals,
        signed = s.Signed,
        weight = s.Weight,
        room = s.Room,
        series = s.Series.Select(x => new { name = x.Name, colour = x.Colour, band = x.IsBand, count = x.UnixMs.Length }),
    });

    private static StripSeries Line(Trace trace, int colour, TimeColumns columns)
    {
        var run = new Run(columns);
        for (var i = 0; i < columns.Count; i++) run.Add(i, trace.Min[i], trace.Mean[i], trace.Max[i]);
        return run.ToSeries(trace.Channel, colour, isBand: false);
    }

    private static StripSeries Band(string name, Envelope envelope)
    {
        var run = new Run(envelope.Columns);
        for (var i = 0; i < envelope.Columns.Count; i++) run.Add(i, envelope.Min[i], envelope.Mean[i], envelope.Max[i]);
        return run.ToSeries(name, -1, isBand: true);
    }

    private static StripSeries Reach(string name, Crowd crowd)
    {
        var run = new Run(crowd.Columns);
        for (var i = 0; i < crowd.Columns.Count; i++)
        {
            var (least, greatest) = crowd.Reach(i);
            run.Add(i, 1000 * least, 500 * (least + greatest), 1000 * greatest);
        }

        return run.ToSeries(name, -1, isBand: true);
    }

    private static StripSeries Deviation(string channel, int colour, TraceReading reading)
    {
        var cell = Enumerable.Range(0, reading.Map.CellCount).First(c => reading.Map.NameOf(c) == channel);
        var run = new Run(reading.Crowd.Columns);
        for (var i = 0; i < reading.Crowd.Columns.Count; i++)
        {
            var mv = 1000 * reading.Crowd.DeviationV(cell, i);
            run.Add(i, mv, mv, mv);
        }

        return run.ToSeries(channel, colour, isBand: false);
    }

    /// <summary>Collects columns; where the record breaks a row of NaN keeps a line from being drawn across.</summary>
    private sealed class Run(TimeColumns columns)
    {
        private readonly List<double> _at = [], _least = [], _mean = [], _greatest = [];

        public void Add(int i, double least, double mean, double greatest)
        {
            var at = columns.StartUnixMs[i] + columns.ColumnMs / 2;
            if (columns.BreakBefore[i] && i > 0) Put(at, double.NaN, double.NaN, double.NaN);
            Put(at, least, mean, greatest);
        }

        public StripSeries ToSeries(string name, int colour, bool isBand) => new(name, colour, isBand, [.. _at], [.. _least], [.. _mean], [.. _greatest]);

        private void Put(double at, double least, double mean, double greatest)
        {
            _at.Add(at);
            _least.Add(least);
            _mean.Add(mean);
            _greatest.Add(greatest);
        }
    }
}
