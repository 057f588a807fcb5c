using CellWatch.Core.Engine;
using CellWatch.Core.Estimation;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Charging;

/// <summary>
/// Heat the current cannot explain: each module's rise over the last two minutes against the upper bound that I²R gives when no heat
/// leaves, dT/dt = I²R/(m c). Heat of a load spreads to the sensors for minutes after it ends, so the explained rise is held with a memory of
/// two minutes. The reversible heat of some cells adds to it; that is why the warning is at twice.
/// </summary>
internal sealed class HeatBalance
{
    private const int Blocks = 13;
    private const long BlockUs = 10_000_000;
    private const int LeastBlocks = 7;
    private const double LagS = 120;

    /// <summary>Below this no rise is worth a ratio, K/min: sensor steps of 0.1 K over two minutes.</summary>
    private const double FloorKPerMin = 0.15;

    /// <summary>A jump between two blocks that no module makes (18 K/min): one is a sensor, two in a row are heat.</summary>
    private const double JumpK = 3;

    /// <summary>At rest, rises still explained by the load before are taken off this many times over.</summary>
    private const double AfterLoadFactor = 4;

    private readonly Facts _facts;
    private readonly CellEstimates _estimates;
    private readonly int _modules;
    private readonly double[] _block;
    private readonly double[] _hottest;
    private readonly int[] _since;
    private readonly bool[] _jumped;
    private readonly double[] _sum;
    private readonly int[] _samples;
    private readonly double[] _rise;
    private readonly double[] _explained;
    private readonly double[] _x = new double[Blocks];
    private readonly double[] _y = new double[Blocks];
    private readonly double[] _blockS = new double[Blocks];
    private long _blockBeganUs = long.MinValue;
    private int _closed;
    private double _laggedSquareA;

    public HeatBalance(Facts facts, CellEstimates estimates)
    {
        (_facts, _estimates) = (facts, estimates);
        _modules = facts.Layout.Modules.Length;
        _block = new double[_modules * Blocks];
        _hottest = new double[_modules];
        _since = new int[_modules];
        _jumped = new bool[_modules];
        _sum = new double[_modules];
        _samples = new int[_modules];
        _rise = new double[_modules];
        _explained = new double[_modules];
        _rise.AsSpan().Fill(double.NaN);
    }

    /// <summary>Rise of a module, K/min; NaN while not known.</summary>
    public double RiseKPerMin(int module) => _rise[module];

    /// <summary>Upper bound the current explains, K/min.</summary>
    public double ExplainedKPerMin(int module) => _explained[module];

    /// <summary>Hottest good sensor of a module, degC; NaN where there is none.</summary>
    public double HottestDegC(int module) => _hottest[module];

    public void Step(Snapshot snapshot, Measures measures)
    {
        var now = _facts.Time.ElapsedUs;
        if (_facts.CurrentKnown)
        {
            var keep = Math.Exp(-_facts.DtS / LagS);
            _laggedSquareA = keep * _laggedSquareA + (1 - keep) * _facts.CurrentA * _facts.CurrentA;
        }

        if (_blockBeganUs == long.MinValue) _blockBeganUs = now;
        for (var module = 0; module < _modules; module++)
        {
            _hottest[module] = Hottest(snapshot, module);
            if (double.IsNaN(_hottest[module])) continue;
            _sum[module] += _hottest[module];
            _samples[module]++;
        }

        if (now - _blockBeganUs >= BlockUs) CloseBlock(now);
        for (var module = 0; module < _modules; module++) Judge(module, measures);
    }

    private void CloseBlock(long now)
    {
        var at = _closed % Blocks;
        // A gap longer than a block leaves no line to draw.
        if (now - _blockBeganUs > 3 * BlockUs) _since.AsSpan().Clear();
        _blockS[at] = (_blockBeganUs + now) * 0.5e-6;
        for (var module = 0; module < _modules; module++)
        {
            var mean = _samples[module] == 0 ? double.NaN : _sum[module] / _samples[module];
            var before = _since[module] == 0 ? double.NaN : _block[module * Blocks + (_closed - 1 + Blocks) % Blocks];
            var jumps = Math.Abs(mean - before) > JumpK;
            if (double.IsNaN(mean) || jumps && !_jumped[module]) _since[module] = 0;
            _jumped[module] = jumps;
            if (!double.IsNaN(mean)) _since[module] = Math.Min(Blocks, _since[module] + 1);
            _block[module * Blocks + at] = mean;
            (_sum[module], _samples[module]) = (0, 0);
            _explained[module] = ThermalModel.AdiabaticKPerMin(
                Math.Sqrt(_laggedSquareA), ModuleOhm(module), _facts.Options.ModuleMassKg, _facts.Options.SpecificHeatJPerKgK);
        }

        _closed++;
        _blockBeganUs = now;
        for (var module = 0; module < _modules; module++) _rise[module] = Rise(module);
    }

    private double Rise(int module)
    {
        var count = _since[module];
        if (count < LeastBlocks) return double.NaN;
        for (var i = 0; i < count; i++)
        {
            var at = (_closed - count + i) % Blocks;
            (_x[i], _y[i]) = (_blockS[at], _block[module * Blocks + at]);
        }

        return LineFit.Through(_x.AsSpan(0, count), _y.AsSpan(0, count)) is { } line ? 60 * line.Slope : double.NaN;
    }

    private void Judge(int module, Measures measures)
    {
        if (double.IsNaN(_rise[module]))
        {
            var why = _facts.Layout.Modules[module].TemperatureSensors == 0 ? Availability.Absent : Availability.Stale;
            measures.SetNone(Quantity.HeatRatio, module, why);
            measures.SetNone(Quantity.RiseAtRest, module, why);
            return;
        }

        measures.Set(Quantity.HeatRatio, module, Math.Max(0, _rise[module]) / Math.Max(FloorKPerMin, _explained[module]));
        var unexplained = _rise[module] - AfterLoadFactor * _explained[module];
        if (_facts.Mode == PackMode.Rest) measures.Set(Quantity.RiseAtRest, module, unexplained > 0 ? _rise[module] : 0);
        else measures.SetNone(Quantity.RiseAtRest, module, Availability.Absent);
    }

    private double Hottest(Snapshot snapshot, int module)
    {
        var layout = _facts.Layout;
        var hottest = double.NaN;
        for (var sensor = layout.FirstTemperature(module); sensor < layout.FirstTemperature(module + 1); sensor++)
            if (snapshot.TemperatureQuality[sensor] == Quality.Good && !(hottest >= snapshot.RawTemperatureDegC[sensor])) hottest = snapshot.RawTemperatureDegC[sensor];
        return hottest;
    }

    private double ModuleOhm(int module)
    {
        double ohm = 0;
        for (var cell = _facts.Layout.FirstCell(module); cell < _facts.Layout.FirstCell(module + 1); cell++) ohm += _estimates.ResistanceOhm(cell, _facts.Options);
        return ohm;
    }
}
