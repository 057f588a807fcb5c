using System.Collections.Immutable;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Engine;

/// <summary>What a person should look at, at most a few rows: cells in trouble first, then the farthest from the median.</summary>
internal sealed class StandingOut(Facts facts, CauseFinder causes)
{
    private const int Most = 3;

    /// <summary>A deviation smaller than this is not worth a row (common practice, no source).</summary>
    private const double LeastV = 0.005;

    public ImmutableArray<StandOut> Of(Snapshot snapshot, ImmutableArray<StateWord> states)
    {
        var rows = new List<(double Weight, int Cell)>();
        for (var cell = 0; cell < states.Length; cell++)
        {
            var deviation = snapshot.CellQuality[cell] == Quality.Good ? snapshot.RawCellVoltageV[cell] - facts.MedianV : 0;
            var pressing = states[cell] is StateWord.ActNow or StateWord.Doubtful or StateWord.Caution ? 100 * (int)states[cell] : 0;
            if (pressing == 0 && !(Math.Abs(deviation) >= LeastV) || states[cell] is StateWord.NoData or StateWord.Bleeding) continue;
            rows.Add((pressing + Math.Abs(deviation), cell));
        }

        return [.. rows.OrderByDescending(r => r.Weight).ThenBy(r => r.Cell).Take(Most).Select(r => Row(snapshot, states[r.Cell], r.Cell))];
    }

    private StandOut Row(Snapshot snapshot, StateWord state, int cell)
    {
        var layout = facts.Layout;
        var module = layout.ModuleOfCell(cell);
        var (finding, decides) = snapshot.CellQuality[cell] == Quality.Good
            ? Cause(causes.Find(snapshot, cell), state)
            : (facts.ReasonOf(snapshot, cell), facts.Doubts.WhatDecides(layout, cell));
        return new StandOut(state, layout.CellAt(cell).ToString(), layout.Modules[module].SlotInWords, Figure(snapshot, cell), finding, decides, cell, module);
    }

    // A cell outside a warning is never said to be like its siblings: then its cause is only not told yet.
    private static (string Finding, string Decides) Cause(CellFinding finding, StateWord state) =>
        finding.Evidence.Length > 0 ? (finding.Evidence, finding.Decides)
        : state == StateWord.Normal ? (T("within what cells of one make differ by"), T("nothing to do"))
        : (T("cause not told yet: too little charge has moved since it left its place"), T("Night review; three days at rest tell a leak"));

    private string Figure(Snapshot snapshot, int cell)
    {
        if (snapshot.CellQuality[cell] != Quality.Good) return T("no believed value");
        var deviationV = snapshot.RawCellVoltageV[cell] - facts.MedianV;
        var text = Say.SignedMillivolts(deviationV);
        var ah = facts.ChargeBesideAh(cell, deviationV);
        return double.IsFinite(ah) ? $"{text}, {Say.With(ah, "+0.0;-0.0;0.0", "Ah")}" : text;
    }
}
