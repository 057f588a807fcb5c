using CellWatch.Core.Wording;

namespace CellWatch.Core.Planning;

/// <summary>A cell before pre-balance.</summary>
public sealed record CellLevel(string Cell, double ChargePercent, double CapacityAh);

/// <summary>A top-up of one cell. Negative charge is drained by a resistor.</summary>
/// <param name="Cell">The cell.</param>
/// <param name="ChargeAh">To put in; negative to take out.</param>
/// <param name="Hours">At the stated current.</param>
/// <param name="Supply">Which of the supplies, from 1.</param>
/// <param name="StartsAfterHours">Hours after the beginning.</param>
public sealed record TopUp(string Cell, double ChargeAh, double Hours, int Supply, double StartsAfterHours)
{
    /// <summary>When it ends, hours after the beginning.</summary>
    public double EndsAfterHours => StartsAfterHours + Hours;
}

/// <summary>The pre-balance plan.</summary>
/// <param name="TargetPercent">Level all cells are brought to.</param>
/// <param name="Jobs">Longest first.</param>
/// <param name="DoneAfterHours">When the last ends.</param>
public sealed record PreBalancePlan(double TargetPercent, IReadOnlyList<TopUp> Jobs, double DoneAfterHours)
{
    /// <summary>Cells nearer to the target than this are left alone, % (0.5 % of charge; common practice, no source).</summary>
    public const double LeaveAlonePercent = 0.5;

    /// <summary>
    /// Plans with so many single-cell supplies, the longest job first on the supply that is free first (longest processing time rule, textbook).
    /// </summary>
    /// <param name="cells">Levels from rest voltages.</param>
    /// <param name="targetPercent">Null: the highest cell's level, so that nothing must be drained.</param>
    /// <param name="supplyA">Charge current of each supply, A.</param>
    /// <param name="drainA">Current of the drain resistor, A.</param>
    /// <param name="supplies">How many at once.</param>
    public static PreBalancePlan Of(IReadOnlyList<CellLevel> cells, double? targetPercent, double supplyA, double drainA, int supplies)
    {
        Register.RefusedException.Unless(cells.Count > 0, T("No cell has a known level: take rest voltages and choose the curve first."));
        Register.RefusedException.Unless(supplyA > 0 && drainA > 0 && supplies > 0, T("State the currents of supply and drain (A, above 0) and how many supplies there are."));
        foreach (var c in cells)
            Register.RefusedException.Unless(c.ChargePercent is >= 0 and <= 100 && c.CapacityAh > 0, T($"{c.Cell}: a level of {c.ChargePercent:0.#} % of {c.CapacityAh:0.#} Ah cannot be."));
        var target = targetPercent ?? cells.Max(c => c.ChargePercent);
        var free = new double[supplies];
        var jobs = new List<TopUp>();
        var wanted = cells
            .Where(c => Math.Abs(target - c.ChargePercent) > LeaveAlonePercent)
            .Select(c => (c.Cell, Ah: (target - c.ChargePercent) / 100 * c.CapacityAh))
            .Select(j => (j.Cell, j.Ah, Hours: j.Ah > 0 ? j.Ah / supplyA : -j.Ah / drainA))
            .OrderByDescending(j => j.Hours);
        foreach (var (cell, ah, hours) in wanted)
        {
            var supply = Array.IndexOf(free, free.Min());
            jobs.Add(new TopUp(cell, ah, hours, supply + 1, free[supply]));
            free[supply] += hours;
        }

        return new PreBalancePlan(target, jobs, free.Max());
    }
}

/// <summary>Watches one running top-up: the cell that moves must be the one named, and the time has a hard end.</summary>
/// <param name="Cell">The cell the supply is meant to be on.</param>
/// <param name="PlannedHours">From the plan.</param>
public sealed record PreBalanceJob(string Cell, double PlannedHours)
{
    /// <summary>The job is ended at this times its planned length, whatever the voltage says (own rule).</summary>
    public const double HardEnd = 1.25;

    /// <summary>A cell that moves by this against its module's median since the start has been touched, V (own rule).</summary>
    public const double MovesV = 0.004;

    /// <summary>What to do now: null while all is well.</summary>
    /// <param name="elapsedHours">Since the supply was switched on.</param>
    /// <param name="movedV">How far each cell moved against the median of all, V, by name.</param>
    public string? Alarm(double elapsedHours, IReadOnlyDictionary<string, double> movedV)
    {
        var others = movedV.Where(m => m.Key != Cell && m.Value > MovesV).Select(m => m.Key).ToList();
        if (others.Count > 0) return T($"{Figures.List(others)} moves, not only {Cell}: switch the supply off and check which taps it sits on.");
        if (elapsedHours > HardEnd * PlannedHours) return T($"{Cell} has been on for {elapsedHours:0.0} h, {PlannedHours:0.0} h were planned: switch the supply off.");
        if (elapsedHours > 0.1 && movedV.TryGetValue(Cell, out var own) && own < MovesV / 4) return T($"{Cell} does not move: is the supply on this cell, and switched on?");
        return elapsedHours >= PlannedHours ? T($"{Cell} should be there: look at it, then take the supply off.") : null;
    }

    /// <summary>Hours left, corrected by what was put in so far; the plan's figure before anything was.</summary>
    public double HoursLeft(double chargeAh, double doneAh, double elapsedHours) =>
        doneAh <= 0 || elapsedHours <= 0 ? PlannedHours - elapsedHours : Math.Max(0, (chargeAh - doneAh) / (doneAh / elapsedHours));
}
