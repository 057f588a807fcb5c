using System.Collections.Immutable;
using CellWatch.Core.Engine;
using CellWatch.Core.Estimation;
using CellWatch.Core.Pack;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Imbalance;

/// <summary>What a night of bleeding is planned from.</summary>
public sealed record BalanceRequest
{
    /// <summary>The pack.</summary>
    public required PackLayout Layout { get; init; }

    /// <summary>Charge above (+) or below (-) the median cell at rest, Ah, by cell index; NaN where it cannot be told.</summary>
    public required ImmutableArray<double> DifferenceAh { get; init; }

    /// <summary>Standard deviation of it, Ah, above 0.</summary>
    public double SigmaAh { get; init; } = 0.05;

    /// <summary>Cell voltage now, V, by cell index; NaN where it is not known.</summary>
    public required ImmutableArray<double> CellVoltageV { get; init; }

    /// <summary>Mean charge now, %.</summary>
    public required double LevelPercent { get; init; }

    /// <summary>The level at which the cells are to be brought in line, %. The top for packs that charge limits.</summary>
    public double ReferencePercent { get; init; } = 95;

    /// <summary>The level at which this pack is kept balanced, %: one, and always the same. Another one asked for is planned, but not without a word.</summary>
    public double KeptPercent { get; init; } = 95;

    /// <summary>How far from the reference a plan may be made, %: cells of unlike capacity differ elsewhere though they are balanced.</summary>
    public double ReferenceBandPercent { get; init; } = 10;

    /// <summary>Cells that bleeding does not bring in line, each with why; neither bled nor taken for the lowest.</summary>
    public ImmutableDictionary<int, string> LeftAlone { get; init; } = ImmutableDictionary<int, string>.Empty;

    /// <summary>Bleed resistor, ohm.</summary>
    public double BleedOhm { get; init; } = 33;

    /// <summary>Share of the time a switch is on, above 0, at most 1; a half where odd and even cells take turns.</summary>
    public double Duty { get; init; } = 0.5;

    /// <summary>Longest night, h.</summary>
    public double LongestH { get; init; } = 10;

    /// <summary>No cell is bled at or below this, V.</summary>
    public double FloorV { get; init; } = 3.6;

    /// <summary>Whether each cell's front end opens its switches by itself when it hears nothing; one that does not is never asked to bleed unattended.</summary>
    public required ImmutableArray<bool> TimesOutByItself { get; init; }
}

/// <summary>One cell of a plan.</summary>
/// <param name="Cell">Cell index.</param>
/// <param name="RemoveAh">Charge to take out this night, Ah.</param>
/// <param name="Hours">Hours it takes at the planned duty.</param>
/// <param name="LeftAh">Charge that stays for another night, Ah.</param>
/// <param name="BleedA">Current while its switch is on, A.</param>
/// <param name="OddTurn">Whether it bleeds in the turn of the odd cells of its module; else in that of the even ones.</param>
public sealed record BalanceCell(int Cell, double RemoveAh, double Hours, double LeftAh, double BleedA, bool OddTurn);

/// <summary>A night of bleeding, foretold, so that the morning has something to be compared with.</summary>
public sealed record BalancePlan
{
    /// <summary>Cells to bleed, the longest first.</summary>
    public ImmutableArray<BalanceCell> Cells { get; init; } = [];

    /// <summary>Hours until the last is done.</summary>
    public double Hours { get; init; }

    /// <summary>Charge taken out in all, Ah.</summary>
    public double TotalAh { get; init; }

    /// <summary>Heat in all resistors, Wh.</summary>
    public double HeatWh { get; init; }

    /// <summary>Spread now, Ah, without the cells that are left alone.</summary>
    public double SpreadAh { get; init; }

    /// <summary>Spread expected afterwards, Ah, without the cells that are left alone.</summary>
    public double ExpectedSpreadAh { get; init; }

    /// <summary>Cells that bleeding does not bring in line, in sentences.</summary>
    public ImmutableArray<string> LeftAlone { get; init; } = [];

    /// <summary>Why some or all is withheld, in sentences.</summary>
    public ImmutableArray<string> Withheld { get; init; } = [];

    /// <summary>What speaks against a plan that is made all the same; empty where nothing does.</summary>
    public string Caution { get; init; } = "";

    /// <summary>In words.</summary>
    public string Sentence { get; init; } = "";

    /// <summary>Mean current at which a cell is bled while its switch is on, A; 0 for a cell that is not.</summary>
    internal double BleedA(int cell)
    {
        foreach (var row in Cells)
            if (row.Cell == cell) return row.BleedA;
        return 0;
    }
}

/// <summary>
/// Plans a night of passive balancing: charge in Ah, never millivolts; every cell down to the lowest; at the one reference level. A cell far below all
/// others is topped up by itself, not followed by all.
/// Source: arithmetic of <see cref="Balancing"/>; keeping one reference level is common practice; who is far below is told by the modified z-score.
/// </summary>
public static class BalancePlanner
{
    /// <summary>Deviations below the median from which a cell may count as far below (own rule).</summary>
    private const double FarBelowSigmas = 10;

    /// <summary>Makes the plan; it is empty with the reason where none may be made.</summary>
    public static BalancePlan Plan(BalanceRequest request)
    {
        var withheld = ImmutableArray.CreateBuilder<string>();
        var told = Enumerable.Range(0, request.Layout.CellCount).Where(c => double.IsFinite(request.DifferenceAh[c]) && double.IsFinite(request.CellVoltageV[c])).ToList();
        if (!(Math.Abs(request.LevelPercent - request.ReferencePercent) <= request.ReferenceBandPercent))
            return Nothing(T($"The pack is at {Say.With(request.LevelPercent, "0", "%")}. It is balanced at {Say.With(request.ReferencePercent, "0", "%")}: bleeding elsewhere undoes itself where capacities differ. Charge it first."));
        if (told.Count < request.Layout.CellCount)
            return Nothing(T($"{Say.Count(request.Layout.CellCount - told.Count, T("cell"), T("cells"))} cannot be told in Ah here, so there is no lowest to go down to."));

        var alone = LeftAlone(request);
        var lowest = told.Where(c => !alone.ContainsKey(c)).Select(c => request.DifferenceAh[c]).DefaultIfEmpty(0).Min();
        var rows = new List<BalanceCell>();
        double heat = 0, highest = double.NegativeInfinity, highestLeft = double.NegativeInfinity, lowestLeft = double.PositiveInfinity;
        int noTimeOut = 0, atFloor = 0;
        foreach (var cell in told)
        {
            if (alone.ContainsKey(cell)) continue;
            var surplus = request.DifferenceAh[cell] - lowest;
            var row = surplus > 2 * request.SigmaAh ? RowOf(request, cell, surplus) : null;
            if (row is not null && !request.TimesOutByItself[cell])
            {
                noTimeOut++;
                row = null;
            }

            if (row is not null && request.CellVoltageV[cell] <= request.FloorV)
            {
                atFloor++;
                row = null;
            }

            if (row is not null)
            {
                rows.Add(row);
                heat += Balancing.HeatWh(row.RemoveAh, request.CellVoltageV[cell]);
            }

            var left = request.DifferenceAh[cell] - (row?.RemoveAh ?? 0);
            highest = Math.Max(highest, request.DifferenceAh[cell]);
            (highestLeft, lowestLeft) = (Math.Max(highestLeft, left), Math.Min(lowestLeft, left));
        }

        if (noTimeOut > 0) withheld.Add(T($"{Say.Count(noTimeOut, T("cell"), T("cells"))} on front ends whose switches do not open by themselves: never bled unattended."));
        if (atFloor > 0) withheld.Add(T($"{Say.Count(atFloor, T("cell"), T("cells"))} at or below the floor of {Say.Volts(request.FloorV)}: not bled."));
        rows.Sort((a, b) => a.Hours != b.Hours ? b.Hours.CompareTo(a.Hours) : a.Cell.CompareTo(b.Cell));
        var plan = new BalancePlan
        {
            Cells = [.. rows],
            Hours = rows.Count == 0 ? 0 : rows[0].Hours,
            TotalAh = rows.Sum(r => r.RemoveAh),
            HeatWh = heat,
            SpreadAh = alone.Count == told.Count ? 0 : highest - lowest,
            ExpectedSpreadAh = alone.Count == told.Count ? 0 : highestLeft - lowestLeft,
            LeftAlone = [.. alone.GroupBy(a => a.Value).Select(g => $"{string.Join(", ", g.Select(a => request.Layout.CellAt(a.Key)))}: {g.Key}.")],
            Withheld = withheld.ToImmutable(),
            Caution = Math.Abs(request.ReferencePercent - request.KeptPercent) > 1
                ? T($"This pack is kept level at {Say.With(request.KeptPercent, "0", "%")}. Levelled at {Say.With(request.ReferencePercent, "0", "%")}, cells of unlike capacity come apart there: choose one level and keep it.")
                : "",
        };
        return plan with { Sentence = InWords(request, plan) };
    }

    private static SortedDictionary<int, string> LeftAlone(BalanceRequest request)
    {
        var alone = new SortedDictionary<int, string>(request.LeftAlone);
        var score = new double[request.DifferenceAh.Length];
        Robust.ModifiedZ(request.DifferenceAh.AsSpan(), request.SigmaAh, score);
        for (var cell = 0; cell < score.Length; cell++)
        {
            if (score[cell] < -Robust.OutlierScore && request.DifferenceAh[cell] < -FarBelowSigmas * request.SigmaAh)
                alone.TryAdd(cell, T($"{Say.AmpereHours(-request.DifferenceAh[cell])} below the median, far from all others: top it up by itself and find out why, instead of bleeding all others down to it"));
        }

        return alone;
    }

    private static BalanceCell RowOf(BalanceRequest request, int cell, double surplusAh)
    {
        var hours = Balancing.Hours(surplusAh, request.CellVoltageV[cell], request.BleedOhm, request.Duty);
        var bleedA = Balancing.CurrentA(request.CellVoltageV[cell], request.BleedOhm);
        var odd = BleedSchedule.IsOdd(request.Layout, cell);
        if (hours <= request.LongestH) return new BalanceCell(cell, surplusAh, hours, 0, bleedA, odd);
        var done = surplusAh * request.LongestH / hours;
        return new BalanceCell(cell, done, request.LongestH, surplusAh - done, bleedA, odd);
    }

    internal static BalancePlan Nothing(string why) => new() { Withheld = [why], Sentence = why };

    private static string InWords(BalanceRequest request, BalancePlan plan)
    {
        if (plan.Cells.IsEmpty) return plan.Withheld.IsEmpty ? T("Nothing to bleed: every cell is level within what can be told.") : string.Join(' ', plan.Withheld);
        var left = plan.Cells.Count(c => c.LeftAh > 0);
        var more = left > 0 ? T($" {Say.Count(left, T("cell"), T("cells"))} need another night.") : "";
        return T($"Bleed {Say.Count(plan.Cells.Length, T("cell"), T("cells"))} for up to {Say.With(plan.Hours, "0.0", "h")}, {request.Layout.CellAt(plan.Cells[0].Cell)} the longest. Spread {Say.With(plan.SpreadAh, "0.00", "Ah")} should become {Say.With(plan.ExpectedSpreadAh, "0.00", "Ah")}: less than {Say.With(2 * request.SigmaAh, "0.00", "Ah")} above the lowest cannot be told.{more}");
    }
}
