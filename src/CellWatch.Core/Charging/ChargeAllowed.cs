using CellWatch.Core.Engine;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Charging;

/// <summary>
/// How much charge current is allowed: the lowest of what keeps every cell at its target (Ohm's law from where it is now), what the
/// temperatures allow, and what charger and wiring carry. A temperature that is not known allows nothing.
/// </summary>
internal sealed class ChargeAllowed(Facts facts, CellEstimates estimates)
{
    /// <summary>Memory of the figure, s: one millivolt of noise over one milliohm is one ampere.</summary>
    private const double SmoothS = 5;

    /// <summary>Headroom a step down should give, V (common practice).</summary>
    private const double StepDownV = 0.020;

    private double _byCellsA = double.NaN;
    private int _cell = -1;

    /// <summary>Current at which no cell passes its target, A; NaN while not known.</summary>
    public double ByCellsA => _byCellsA;

    /// <summary>Share of the current the temperatures allow, 0 to 1.</summary>
    public double TemperatureFactor { get; private set; } = 1;

    public void Step(Snapshot snapshot, Measures measures, bool charging)
    {
        var known = facts.KnownTemperatures > 0;
        TemperatureFactor = facts.Map.TemperatureCount == 0 ? 1 : known ? facts.Options.TemperatureProfile.For(facts.ColdestDegC, facts.HottestDegC).CurrentFactor : 0;
        Cells(snapshot, charging);
        facts.AllowedA = charging && facts.CurrentKnown && !double.IsNaN(_byCellsA) ? Math.Min(_byCellsA, OtherLimitA()) : null;

        if (!charging || !facts.CurrentKnown) measures.SetNone(Quantity.CurrentOverTemperatureAllowance, 0, charging ? Availability.Stale : Availability.Absent);
        else if (!known && facts.Map.TemperatureCount > 0) measures.SetNone(Quantity.CurrentOverTemperatureAllowance, 0, Availability.Stale);
        else measures.Set(Quantity.CurrentOverTemperatureAllowance, 0, Math.Max(0, facts.CurrentA - TemperatureLimitA()));
    }

    /// <summary>What the allowed current follows from, in words.</summary>
    public string Because()
    {
        if (facts.AllowedA is not { } allowed) return "";
        if (allowed >= _byCellsA - 1e-9 && _cell >= 0)
            return T($"{facts.Map.NameOf(_cell)} would be at {Say.Volts(facts.Limits!.ChargeTargetV)} with {Say.Milliohms(estimates.ResistanceOhm(_cell, facts.Options))}");
        return facts.Options.ChargerLimitA is { } limit && allowed >= limit ? T("charger and wiring") : T($"temperature: {Say.Celsius(facts.ColdestDegC)} to {Say.Celsius(facts.HottestDegC)}");
    }

    /// <summary>Current to come down to when a cell arrives at the target: 20 mV of headroom, not below the termination current.</summary>
    public double StepDownA(int cell, double fromA) =>
        Math.Max(facts.Options.EffectiveTerminationA, fromA - StepDownV / Math.Max(1e-5, estimates.ResistanceOhm(cell, facts.Options)));

    private void Cells(Snapshot snapshot, bool charging)
    {
        if (!charging || !facts.CurrentKnown || facts.Limits is not { } limits || facts.TopCell < 0)
        {
            (_byCellsA, _cell) = (double.NaN, -1);
            return;
        }

        var lowest = double.PositiveInfinity;
        var values = snapshot.RawCellVoltageV;
        for (var cell = 0; cell < values.Length; cell++)
        {
            if (snapshot.CellQuality[cell] != Quality.Good) continue;
            var allowed = facts.CurrentA + (limits.ChargeTargetV - values[cell]) / Math.Max(1e-5, estimates.ResistanceOhm(cell, facts.Options));
            if (!(allowed < lowest)) continue;
            (lowest, _cell) = (allowed, cell);
        }

        lowest = Math.Max(0, lowest);
        _byCellsA = double.IsNaN(_byCellsA) ? lowest : _byCellsA + (1 - Math.Exp(-facts.DtS / SmoothS)) * (lowest - _byCellsA);
    }

    private double OtherLimitA() => Math.Min(facts.Options.ChargerLimitA ?? double.PositiveInfinity, TemperatureLimitA());

    /// <summary>The factor is on one capacity in A; without a capacity only "none" and "all" can be told.</summary>
    private double TemperatureLimitA() =>
        TemperatureFactor >= 1 ? double.PositiveInfinity : TemperatureFactor <= 0 ? 0 : facts.Options.CapacityAh is { } ah ? TemperatureFactor * ah : double.PositiveInfinity;
}
