using System.Collections.Immutable;
using CellWatch.Core.Engine;
using CellWatch.Core.Rules;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Imbalance;

/// <summary>One entry of the link ledger.</summary>
/// <param name="WallUnixMs">When it was closed, ms since 1970.</param>
/// <param name="LinkOhm">Total resistance of all links, contactors, fuse and plug, ohm.</param>
/// <param name="HalfWidthOhm">Half width of its 95 % interval, ohm.</param>
/// <param name="OffsetV">Constant difference of the meters, V: not a fault.</param>
/// <param name="OffsetHalfWidthV">Half width of its 95 % interval, V.</param>
public sealed record LinkEntry(long WallUnixMs, double LinkOhm, double HalfWidthOhm, double OffsetV, double OffsetHalfWidthV);

/// <summary>The link ledger as pages and the log see it.</summary>
public sealed record LinkView
{
    /// <summary>First entry: what later ones are compared with.</summary>
    public required LinkEntry First { get; init; }

    /// <summary>Latest entry.</summary>
    public required LinkEntry Latest { get; init; }

    /// <summary>Rise over the first entry, ohm; null while it is within the intervals of both.</summary>
    public double? RiseOhm { get; init; }

    /// <summary>When the rise was first seen, ms since 1970; null while there is none.</summary>
    public long? RoseUnixMs { get; init; }

    /// <summary>All entries, oldest first.</summary>
    public ImmutableArray<LinkEntry> Entries { get; init; } = [];

    /// <summary>In words.</summary>
    public string Sentence { get; init; } = "";
}

/// <summary>
/// Sum of cells minus pack voltage = discharge current x all links + a constant meter offset: under discharge the links take voltage from the terminals, under
/// charge the charger must bring it on top. A straight line against the discharge current (ours with its sign turned): the slope is the links'
/// total resistance, the intercept the meters' difference. An entry is closed every half hour in which the current varied enough.
/// <para>Source: Ohm's law and a line fit; intervals by Student's t. Readings just after a change of current are left out because a board and
/// a sensor are not read at the same instant; a standing current gives one point a minute, so that hours of rest do not drown it.</para>
/// </summary>
internal sealed class LinkLedger(Facts facts)
{
    private const double EntryS = 1800;
    private const int LeastPoints = 30;
    private const double LeastSpreadA = 5;
    private const double SteadyShare = 0.02;
    private const double SteadyA = 0.5;
    private const long StandingUs = 60_000_000;
    private const long MovingUs = 2_000_000;
    private const int MostEntries = 500;

    private readonly List<LinkEntry> _entries = [];
    private RunningLine _line;
    private long _lineBeganUs;
    private long _lastUs;
    private double _lastA = double.NaN;
    private double _beforeA = double.NaN;
    private long? _roseUnixMs;
    private LinkView? _view;

    /// <summary>What is known; null before the first entry.</summary>
    public LinkView? View => _view;

    public void Step(Measures measures)
    {
        var known = facts.CurrentKnown && facts.StringKnown && !double.IsNaN(facts.SumV);
        Judge(known, measures);
        var steady = known && Math.Abs(facts.CurrentA - _beforeA) <= Math.Max(SteadyA, SteadyShare * Math.Abs(facts.CurrentA));
        _beforeA = facts.CurrentKnown ? facts.CurrentA : double.NaN;
        if (!steady) return;
        var now = facts.Time.ElapsedUs;
        var stands = Math.Abs(facts.CurrentA - _lastA) <= Math.Max(SteadyA, SteadyShare * Math.Abs(facts.CurrentA));
        if (_line.Count > 0 && now - _lastUs < (stands ? StandingUs : MovingUs)) return;
        if (_line.Count == 0) _lineBeganUs = now;
        _line.Add(-facts.CurrentA, facts.SumV - facts.StringV);
        (_lastUs, _lastA) = (now, facts.CurrentA);
        if ((now - _lineBeganUs) * 1e-6 >= EntryS && _line.Count >= LeastPoints && _line.SpreadX >= LeastSpreadA) Close();
    }

    private void Close()
    {
        if (_line.Fit() is not { } fit) return;
        _line = default;
        var t = StudentT.IntervalFactor(0.95, fit.DegreesOfFreedom);
        if (_entries.Count == MostEntries) _entries.RemoveAt(1);
        _entries.Add(new LinkEntry(facts.Time.WallUnixMs, fit.Slope, t * fit.SlopeSigma, fit.Intercept, t * fit.InterceptSigma));
        LinkEntry first = _entries[0], latest = _entries[^1];
        var rise = latest.LinkOhm - first.LinkOhm;
        var isRise = rise > first.HalfWidthOhm + latest.HalfWidthOhm;
        _roseUnixMs = isRise ? _roseUnixMs ?? latest.WallUnixMs : null;
        _view = new LinkView
        {
            First = first,
            Latest = latest,
            RiseOhm = isRise ? rise : null,
            RoseUnixMs = _roseUnixMs,
            Entries = [.. _entries],
            Sentence = Sentence(first, latest, isRise ? rise : null),
        };
    }

    private string Sentence(LinkEntry first, LinkEntry latest, double? rise)
    {
        var now = T($"Links {Say.Milliohms(latest.LinkOhm)} ±{Say.With(1000 * latest.HalfWidthOhm, "0.00", "mΩ")} in all. The {Say.With(1000 * latest.OffsetV, "0", "mV")} that stay at rest are the meters' difference, not a fault.");
        return rise is { } ohm
            ? T($"{now} Rose by {Say.Microohms(ohm)} from {Say.Milliohms(first.LinkOhm)} since {Say.Day(_roseUnixMs!.Value, facts.Options.TimeZone)}: look for a joint that works loose.")
            : now;
    }

    private void Judge(bool known, Measures measures)
    {
        if (!known) measures.SetNone(Quantity.SumMismatch, 0, facts.Map.CellCount > 0 && facts.StringKnown ? Availability.Stale : Availability.Absent);
        else
        {
            var explained = _view is { } view ? view.Latest.OffsetV - view.Latest.LinkOhm * facts.CurrentA : 0;
            measures.Set(Quantity.SumMismatch, 0, 100 * Math.Abs(facts.SumV - facts.StringV - explained) / Math.Max(1, facts.StringV));
        }

        if (_view is null) measures.SetNone(Quantity.LinkRise, 0, Availability.Absent);
        else measures.Set(Quantity.LinkRise, 0, 1e6 * (_view.RiseOhm ?? 0));
    }
}
