using CellWatch.Core.Estimation;
using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Engine;

/// <summary>
/// Feeds the charge filter of all cells and hands on what it may be believed for. Without a capacity or a curve nothing is told in Ah.
/// </summary>
internal sealed class CellEstimates
{
    /// <summary>A charge difference less sure than this share of the capacity is not told.</summary>
    private const double MostSigmaShare = 0.02;

    private readonly bool[] _usable;
    private readonly double[] _temperatureDegC;
    private readonly int[] _sensors;

    public CellEstimates(Facts facts)
    {
        _usable = new bool[facts.Map.CellCount];
        _temperatureDegC = new double[facts.Map.CellCount];
        _sensors = new int[facts.Layout.Modules.Length];
        Curve = OcvCurves.Find(facts.CellType?.OcvCurve);
        if (facts.Options.CapacityAh is not { } capacityAh || Curve is null) return;
        Bank = new SocBank(facts.Map.CellCount, new SocBankOptions
        {
            CapacityAh = capacityAh,
            SeriesResistanceOhm = 0.6 * facts.Options.ResistanceOhm,
            BranchResistanceOhm = 0.6 * facts.Options.ResistanceOhm,
        }, Curve);
    }

    /// <summary>The curve of the cell type; null where there is none.</summary>
    public OcvCurve? Curve { get; }

    /// <summary>The filter; null where capacity or curve is not known.</summary>
    public SocBank? Bank { get; }

    /// <summary>Cells whose value may be used in this scan: good and not bleeding.</summary>
    public ReadOnlySpan<bool> Usable => _usable;

    /// <summary>Resistance of a cell over 10 s, ohm: measured from steps of current, else as set.</summary>
    public double ResistanceOhm(int cell, EngineOptions options) =>
        Bank is { } bank && bank.Resistance10sOhm[cell] is > 0 and < 1 and var ohm ? ohm : options.ResistanceOhm;

    public void Step(Snapshot snapshot, Facts facts, Measures measures)
    {
        for (var cell = 0; cell < _usable.Length; cell++) _usable[cell] = snapshot.CellQuality[cell] == Quality.Good && !snapshot.IsBleeding(cell);
        if (Bank is null)
        {
            measures.SetNone(Quantity.SpreadCharge, 0, Availability.Absent);
            return;
        }

        Temperatures(snapshot, facts);
        Bank.Step(snapshot.RawCellVoltageV, _usable, facts.CurrentA, facts.CurrentKnown, _temperatureDegC, facts.DtS);
        Tell(facts, measures);
    }

    private void Tell(Facts facts, Measures measures)
    {
        var bank = Bank!;
        var mostSigmaAh = MostSigmaShare * facts.Options.CapacityAh!.Value;
        double lowest = double.PositiveInfinity, highest = double.NegativeInfinity, socSum = 0;
        int told = 0, known = 0;
        for (var cell = 0; cell < _usable.Length; cell++)
        {
            var soc = bank.SocPercent[cell];
            if (!double.IsNaN(soc) && !bank.CurveDoesNotFit[cell])
            {
                socSum += soc;
                known++;
            }

            var delta = bank.DeltaAh[cell];
            var tells = _usable[cell] && !bank.CannotTellHere[cell] && !bank.CurveDoesNotFit[cell] && bank.DeltaSigmaAh[cell] <= mostSigmaAh;
            facts.ChargeDifference[cell] = tells ? delta : double.NaN;
            if (!tells) continue;
            told++;
            lowest = Math.Min(lowest, delta);
            highest = Math.Max(highest, delta);
        }

        facts.SocPercent = known == 0 ? double.NaN : socSum / known;
        if (told < 2 || facts.Mode != PackMode.Rest) measures.SetNone(Quantity.SpreadCharge, 0, Availability.Stale);
        else measures.Set(Quantity.SpreadCharge, 0, 100 * (highest - lowest) / facts.Options.CapacityAh!.Value);
    }

    /// <summary>Mean of a module's good sensors for each of its cells; NaN where it has none.</summary>
    private void Temperatures(Snapshot snapshot, Facts facts)
    {
        var layout = facts.Layout;
        for (var module = 0; module < _sensors.Length; module++)
        {
            double sum = 0;
            var count = 0;
            var first = layout.FirstTemperature(module);
            for (var sensor = first; sensor < layout.FirstTemperature(module + 1); sensor++)
            {
                if (snapshot.TemperatureQuality[sensor] != Quality.Good) continue;
                sum += snapshot.RawTemperatureDegC[sensor];
                count++;
            }

            _sensors[module] = count;
            _temperatureDegC.AsSpan(layout.FirstCell(module), layout.FirstCell(module + 1) - layout.FirstCell(module)).Fill(count == 0 ? double.NaN : sum / count);
        }
    }
}
