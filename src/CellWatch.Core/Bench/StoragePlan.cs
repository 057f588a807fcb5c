namespace CellWatch.Core.Bench;

/// <summary>A cell put into storage.</summary>
/// <param name="Cell">Its name.</param>
/// <param name="AboveLimitAh">Charge above the low limit at rest (3.30 V).</param>
/// <param name="LeakMilliampere">Its own loss, with uncertainty; from the rest test or from two storage readings.</param>
public sealed record StoredCell(string Cell, double AboveLimitAh, Uncertain LeakMilliampere);

/// <summary>When a stored pack must be looked at.</summary>
/// <param name="LowestCell">Cell that reaches its limit first.</param>
/// <param name="Reaches">When, best estimate.</param>
/// <param name="Earliest">Early end of the 95 % interval: plan by this.</param>
/// <param name="NextCheck">Next look: monthly, or half-way to the early end.</param>
/// <param name="Sentence">In words; also printed on the sheet on the pack itself.</param>
public sealed record StorageDate(string LowestCell, DateTimeOffset Reaches, DateTimeOffset Earliest, DateTimeOffset NextCheck, string Sentence)
{
    /// <summary>From the draw of the electronics and the leak of each cell. Source: charge over current; 5 mA for 90 days is 10.8 Ah.</summary>
    public static StorageDate Of(IReadOnlyList<StoredCell> cells, double electronicsMilliampere, DateTimeOffset from)
    {
        Register.RefusedException.Unless(cells.Count > 0, T("No cell has a known level: take rest voltages first."));
        var first = cells.MinBy(c => Hours(c, electronicsMilliampere, 0))!;
        var earliest = cells.MinBy(c => Hours(c, electronicsMilliampere, 1.96))!;
        var reaches = At(from, Hours(first, electronicsMilliampere, 0));
        var early = At(from, Hours(earliest, electronicsMilliampere, 1.96));
        var half = from + (early - from) / 2;
        var month = from.AddDays(30);
        var next = half < month ? half : month;
        return new StorageDate(first.Cell, reaches, early, next,
            T($"{first.Cell} reaches its low limit about {reaches:yyyy-MM-dd}, not before {early:yyyy-MM-dd}{(earliest.Cell == first.Cell ? "" : $" ({earliest.Cell})")}. Next check {next:yyyy-MM-dd}; three days from now take the first rest readings. Service plug out."));
    }

    /// <summary>Leak of a cell from two well-spaced rest readings, mA: charge against the median lost over the time.</summary>
    public static Uncertain LeakFrom(double firstDeviationAh, double lastDeviationAh, double days, double readingSigmaAh) =>
        new((firstDeviationAh - lastDeviationAh) / (days * 24) * 1000, Math.Sqrt(2) * readingSigmaAh / (days * 24) * 1000);

    private static double Hours(StoredCell c, double electronicsMilliampere, double sigmas)
    {
        var milliampere = electronicsMilliampere + Math.Max(0, c.LeakMilliampere.Value) + sigmas * (double.IsFinite(c.LeakMilliampere.Sigma) ? c.LeakMilliampere.Sigma : 0);
        return milliampere <= 0 ? 1e6 : Math.Max(0, c.AboveLimitAh) * 1000 / milliampere;
    }

    private static DateTimeOffset At(DateTimeOffset from, double hours) => from.AddHours(Math.Min(hours, 10 * 365.0 * 24));
}
