using System.Collections.Immutable;
using CellWatch.Core.Engine;
using CellWatch.Core.Estimation;
using CellWatch.Core.Pack;

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

    /// <summary>The level at which this pack is kept balanced, %: one, and always the same. The top for packs that charge limits.</summary>
    public double ReferencePercent { get; init; } = 95;

    /// <summary>How far from the reference a plan may be made, %: cells of unlike capacity differ elsewhere though they are balanced.</summary>
    public double ReferenceBandPercent { get; init; } = 10;

    /// <summary>Cells of low capacity: they are not brought in line away from the reference.</summary>
    public ImmutableHashSet<int> LowCapacity { get; init; } = [];

    /// <summary>Bleed resistor, ohm.</summary>
    public double BleedOhm { get; init; } = 33;

    /// <summary>Share of the time a switch is on, above 0, at most 1; a half where odd and even cells take turns.</summary>
    public double Duty { get; init; } = 0.5;

    /// <summary>Longest night, h.</summary>
    public double LongestH { get; init; } = 10;

    /// <summary>Whether each cell's front end opens its switches by itself when it hears nothing; one that does not is never asked to bleed unattended.</summary>
    public required ImmutableArray<bool> TimesOutByItself { get; init; }
}

/// <summary>One cell of a plan.</summary>
/// <param name="Cell">Cell index.</param>
/// <param name="RemoveAh">Charge to take out this night, Ah.</param>
/// <param name="Hours">Hours it takes at the planned duty.</param>
/// <param name="LeftAh">Charge that stays for another night, Ah.</param>
/// <param name="BleedA">Current while its switch is on, A.</param>
public sealed record BalanceCell(int Cell, double RemoveAh, double Hours, double LeftAh, double BleedA);

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

    /// <summary>Spread now, Ah.</summary>
    public double SpreadAh { get; init; }

    /// <summary>Spread expected afterwards, Ah.</summary>
    public double ExpectedSpreadAh { get; init; }

    /// <summary>Why some or all is withheld, in sentences.</summary>
    public ImmutableArray<string> Withheld { get; init; } = [];

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
/// Plans a night of passive balancing: charge in Ah, never millivolts; every cell down to the lowest; at the one reference level.
/// Source: arithmetic of <see cref="Balancing"/>; keeping one reference level is common practice.
/// </summary>
public static class BalancePlanner
{
    /// <summary>Makes the plan; it is empty with the reason where none may be made.</summary>
    public static BalancePlan Plan(BalanceRequest request)
    {
        var withheld = ImmutableArray.CreateBuilder<string>();
        var told = Enumerable.Range(0, request.Layout.CellCount).Where(c => double.IsFinite(request.DifferenceAh[c]) && double.IsFinite(request.CellVoltageV[c])).ToList();
        if (!(Math.Abs(request.LevelPercent - request.ReferencePercent) <= request.ReferenceBandPercent))
            return Nothing($"The pack is at {Say.With(request.LevelPercent, "0", "%")}. It is balanced at {Say.With(request.ReferencePercent, "0", "%")}: bleeding elsewhere undoes itself where capacities differ. Charge it first.");
        if (told.Count < request.Layout.CellCount)
            return Nothing($"{Say.Count(request.Layout.CellCount - told.Count, "cell")} cannot be told in Ah here, so there is no lowest to go down to.");

        var lowest = told.Where(c => !request.LowCapacity.Contains(c)).Select(c => request.DifferenceAh[c]).DefaultIfEmpty(0).Min();
        var rows = new List<BalanceCell>();
        double heat = 0, highestLeft = double.NegativeInfinity, lowestLeft = double.PositiveInfinity;
        var noTimeOut = 0;
        foreach (var cell in told)
        {
            var surplus = request.DifferenceAh[cell] - lowest;
            var row = surplus > 2 * request.SigmaAh && !request.LowCapacity.Contains(cell) ? RowOf(request, cell, surplus) : null;
            if (row is not null && !request.TimesOutByItself[cell])
            {
                noTimeOut++;
                row = null;
            }

            if (row is not null)
            {
                rows.Add(row);
                heat += Balancing.HeatWh(row.RemoveAh, request.CellVoltageV[cell]);
            }

            var left = request.DifferenceAh[cell] - (row?.RemoveAh ?? 0);
            (highestLeft, lowestLeft) = (Math.Max(highestLeft, left), Math.Min(lowestLeft, left));
        }

        if (noTimeOut > 0) withheld.Add($"{Say.Count(noTimeOut, "cell")} on front ends whose switches do not open by themselves: never bled unattended.");
        rows.Sort((a, b) => a.Hours != b.Hours ? b.Hours.CompareTo(a.Hours) : a.Cell.CompareTo(b.Cell));
        var plan = new BalancePlan
        {
            Cells = [.. rows],
            Hours = rows.Count == 0 ? 0 : rows[0].Hours,
            TotalAh = rows.Sum(r => r.RemoveAh),
            HeatWh = heat,
            SpreadAh = told.Max(c => request.DifferenceAh[c]) - told.Min(c => request.DifferenceAh[c]),
            ExpectedSpreadAh = highestLeft - lowestLeft,
            Withheld = withheld.ToImmutable(),
        };
        return plan with { Sentence = InWords(request, plan) };
    }

    private static BalanceCell RowOf(BalanceRequest request, int cell, double surplusAh)
    {
        var hours = Balancing.Hours(surplusAh, request.CellVoltageV[cell], request.BleedOhm, request.Duty);
        var bleedA = Balancing.CurrentA(request.CellVoltageV[cell], request.BleedOhm);
        if (hours <= request.LongestH) return new BalanceCell(cell, surplusAh, hours, 0, bleedA);
        var done = surplusAh * request.LongestH / hours;
        return new BalanceCell(cell, done, request.LongestH, surplusAh - done, bleedA);
    }

    private static BalancePlan Nothing(string why) => new() { Withheld = [why], Sentence = why };

    private static string InWords(BalanceRequest request, BalancePlan plan)
    {
        if (plan.Cells.IsEmpty) return plan.Withheld.IsEmpty ? "Nothing to bleed: every cell is level within what can be told." : string.Join(' ', plan.Withheld);
        var left = plan.Cells.Count(c => c.LeftAh > 0);
        var more = left > 0 ? $" {Say.Count(left, "cell")} need another night." : "";
        return $"Bleed {Say.Count(plan.Cells.Length, "cell")} for up to {Say.With(plan.Hours, "0.0", "h")}, {request.Layout.CellAt(plan.Cells[0].Cell)} the longest. Spread {Say.With(plan.SpreadAh, "0.00", "Ah")} should become {Say.With(plan.ExpectedSpreadAh, "0.00", "Ah")}.{more}";
    }
}
