using System.Collections.Immutable;
using CellWatch.Core.Engine;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Imbalance;

/// <summary>
/// Which cells may bleed at a moment: odd and even cells of a module take turns, because neighbours share a lead; in every period all are off for a
/// while, so that cells settle and are measured. A switch is never asked to be on when the cell is not seen, is at its floor, or its
/// board is hot. Times are elapsed seconds since the night began.
/// </summary>
/// <param name="PeriodS">Odd turn, even turn and measuring window together, s, 60 to 3600.</param>
/// <param name="MeasureS">Measuring window at the end of each period, s.</param>
/// <param name="FloorV">No cell is bled at or below this, V.</param>
/// <param name="BoardLimitDegC">Hottest bleed board, degC (70 is common practice).</param>
public sealed record BleedSchedule(double PeriodS = 600, double MeasureS = 60, double FloorV = 3.6, double BoardLimitDegC = 70)
{
    /// <summary>Whether a cell may bleed now, and if not, why.</summary>
    /// <param name="snapshot">The scan.</param>
    /// <param name="cell">Cell index.</param>
    /// <param name="sinceS">Elapsed seconds since the night began.</param>
    /// <param name="doneAh">Charge taken out of it so far, Ah.</param>
    /// <param name="plannedAh">Charge planned, Ah.</param>
    /// <param name="boardDegC">Temperature of its bleed board; null where it reports none, which counts against it.</param>
    public (bool May, string Why) MayBleed(Snapshot snapshot, int cell, double sinceS, double doneAh, double plannedAh, double? boardDegC)
    {
        if (doneAh >= plannedAh) return (false, T("done"));
        if (snapshot.CellQuality[cell] is Quality.Missing or Quality.Stale) return (false, T("not seen"));
        if (snapshot.CellQuality[cell] != Quality.Good) return (false, T("not believed"));
        if (!(snapshot.RawCellVoltageV[cell] > FloorV)) return (false, T("at its floor"));
        if (boardDegC is not { } degC) return (false, T("the board's temperature is not known"));
        if (!(degC < BoardLimitDegC)) return (false, T("the board is hot"));
        var at = sinceS % PeriodS;
        if (at >= PeriodS - MeasureS) return (false, T("measuring"));
        var oddTurn = at < TurnS;
        return IsOdd(snapshot.Map.Layout, cell) == oddTurn ? (true, "") : (false, T("its neighbours' turn"));
    }

    /// <summary>Whether a cell is an odd one of its module, counted from 1 at the negative end.</summary>
    public static bool IsOdd(PackLayout layout, int cell) => (cell - layout.FirstCell(layout.ModuleOfCell(cell))) % 2 == 0;

    /// <summary>Length of the odd cells' turn, and of the even cells', s.</summary>
    public double TurnS => (PeriodS - MeasureS) / 2;

    /// <summary>What opens a switch, in words.</summary>
    public ImmutableArray<string> Stops =>
    [
        T("its planned charge has been taken out"),
        T("the cell is not seen, or its reading is not believed; time unseen counts as time it was bled"),
        T($"the cell is at {Say.Volts(FloorV)}"),
        T($"its bleed board is at {Say.With(BoardLimitDegC, "0", "°C")}, or the board's temperature is not known"),
        T("its front end hears nothing and opens it by itself"),
    ];

    /// <summary>Share of the time a cell's switch is on.</summary>
    public double Duty => TurnS / PeriodS;
}
