using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Strips;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Pages;

/// <summary>Turns the view of a charge into the figures of its two drawings. Pure; times are ms since 1970 on the pack's clock.</summary>
public static class ChargeDrawings
{
    private const long MinuteMs = 60_000;

    /// <summary>The taper on a logarithmic scale; null where there is no charge to draw.</summary>
    public static object? Taper(PackState state, Picture picture, IReadOnlyList<RecentPoint> recent, long gapMs)
    {
        if (state.Charge is not { PlateauA: { } plateauA } charge || plateauA <= charge.TerminationA) return null;
        var now = state.Snapshot.Time.WallUnixMs;
        var isRunning = charge.Phase is ChargePhase.ConstantCurrent or ChargePhase.Taper or ChargePhase.TaperMissing;
        // A charge that ended stays drawn for an hour; older ones belong to the traces.
        if (!isRunning && now - (charge.TargetReachedUnixMs ?? charge.BeganUnixMs ?? 0) > 60 * MinuteMs) return null;
        var fallFrom = charge.TargetReachedUnixMs ?? (charge.HeadroomS is { } s ? now + (long)(s * 1000) : null);
        var last = charge.EndLatestUnixMs ?? (fallFrom ?? now) + 25 * MinuteMs;
        var span = Math.Max(last - now, 10 * MinuteMs);
        var from = Math.Max((charge.BeganUnixMs ?? now) - 2 * MinuteMs, now - Math.Max(2 * span, 20 * MinuteMs));
        from = Math.Min(from, now - 5 * MinuteMs);
        var to = Math.Max(last + span / 8, now + 10 * MinuteMs);
        var first = charge.NextToLimit.IsEmpty ? null : charge.NextToLimit[0];
        var band = charge.TargetReachedUnixMs is null && first is { ToTargetLowS: { } low, ToTargetHighS: { } high } ? (long)((high - low) * 500) : 0;
        var (tauLow, tauHigh) = TauBand(charge, plateauA, fallFrom, band);
        var arrival = first is null ? "" : T($"{state.Layout.CellAt(first.Cell)} at {Figures.CellVoltage(charge.TargetV)}");
        return new
        {
            from,
            to,
            now,
            zones = TimeTicks.Zones(new TimeRange(from, to), picture.Options.TimeZone),
            plateau = plateauA,
            current = state.Summary.PackCurrentA ?? plateauA,
            end = charge.TerminationA,
            fallFrom,
            tau = charge.TaperTimeConstantS,
            tauLow,
            tauHigh,
            startBandMs = band,
            arrival,
            arrivalShort = Figures.CellVoltage(charge.TargetV),
            fit = new[]
            {
                charge.TaperTimeConstantS is { } tau ? $"{(charge.TaperIsFitted ? T("fit") : T("expected"))} τ {Figures.With(tau, 0, "s")}" : "",
                !charge.TaperIsFitted ? T("as tapers usually fall") : charge.TargetReachedUnixMs is not null ? T("from this charge") : T("as the last taper fell"),
            },
            measured = recent.Where(p => p.UnixMs >= from).SelectMany(p => new[] { p.UnixMs, double.IsNaN(p.PackCurrentA) ? double.NaN : Math.Max(0, p.PackCurrentA) }).ToArray(),
            measuredWords = isRunning && state.Summary.PackCurrentA is { } a ? T($"measured {Figures.Current(a)}") : "",
            gapMs,
            endAt = charge.EndUnixMs,
            endFrom = charge.EndEarliestUnixMs ?? charge.EndUnixMs,
            endTo = charge.EndLatestUnixMs ?? charge.EndUnixMs,
        };
    }

    /// <summary>Known cells, the highest first.</summary>
    public static IEnumerable<int> Highest(PackState state) => Enumerable.Range(0, state.Layout.CellCount)
        .Where(c => state.Snapshot.TryGet(c, out _))
        .OrderByDescending(c => state.Snapshot.RawCellVoltageV[c]);

    /// <summary>
    /// The next cells under the target with where each is when the first arrives; the highest ones alone where nothing is foreseen (in the
    /// taper the target is reached); null without charge.
    /// </summary>
    public static object? Twelve(PackState state)
    {
        if (state.Charge is not { Phase: ChargePhase.ConstantCurrent or ChargePhase.Taper or ChargePhase.TaperMissing } charge) return null;
        var cells = charge.NextToLimit.IsEmpty
            ? Highest(state).Take(12).Select(c => (Cell: c, V: state.Snapshot.RawCellVoltageV[c], Then: (double?)null))
            : charge.NextToLimit.Take(12).Select(l => (l.Cell, V: l.VoltageV, Then: l.AtFirstArrivalV));
        return new
        {
            target = T($"charge target {Figures.CellVoltage(charge.TargetV)}"),
            cells = cells.Select(c => new
            {
                name = state.Layout.CellAt(c.Cell).ToString(),
                now = (c.V - charge.TargetV) * 1000,
                then = (c.Then - charge.TargetV) * 1000,
                highest = c.Cell == state.Charge?.HeadroomCell,
                urgent = state.CellStates[c.Cell] == StateWord.ActNow,
            }).ToArray(),
        };
    }

    // The band is drawn so that it meets the stated earliest and latest end.
    private static (double? Low, double? High) TauBand(ChargeView charge, double plateauA, long? fallFrom, long band)
    {
        if (charge.TaperTimeConstantS is not { } tau) return (null, null);
        var decades = Math.Log(plateauA / charge.TerminationA);
        double? Through(long? end, long start) => end is { } e && fallFrom is not null && decades > 0 ? Math.Max(1, (e - start) / 1000.0 / decades) : null;
        return (Through(charge.EndEarliestUnixMs, (fallFrom ?? 0) - band) ?? tau * 0.85, Through(charge.EndLatestUnixMs, (fallFrom ?? 0) + band) ?? tau * 1.2);
    }
}
