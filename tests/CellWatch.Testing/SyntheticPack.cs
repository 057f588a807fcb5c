using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Testing;

/// <summary>
/// A deterministic stream of snapshots for the log's tests and benchmarks: a pack at rest, charged at constant current, then tapering,
/// with a little capacity scatter, resistance, ripple on the current and noise on every reading, quantised as an instrument would.
/// Not a model of a battery: what matters here is that steps, noise and common movement are of the right kind and size.
/// </summary>
public sealed class SyntheticPack
{
    // Open-circuit voltage of an NMC 532 cell every 10 % from 10 % to 100 %, V; Mohtat et al., J. Electrochem. Soc. (2020),
    // doi 10.1149/1945-7111/aba5d1, evaluated with PyBaMM's parameter set; two decimals are enough here.
    private static readonly double[] CurveV = [3.52, 3.59, 3.63, 3.67, 3.73, 3.82, 3.91, 4.00, 4.09, 4.20];

    private readonly SnapshotBuffer _buffer;
    private readonly double[] _soc;
    private readonly double[] _capacityAh;
    private readonly double[] _resistanceOhm;
    private readonly double[] _temperatureDegC;
    private ulong _random;
    private double? _spareNormal;

    /// <param name="modules">Modules of 6S2P with two temperature sensors each.</param>
    /// <param name="seed">The same seed gives the same stream.</param>
    public SyntheticPack(int modules = 18, ulong seed = 1)
    {
        Layout = new PackLayout("petrel", Enumerable.Range(1, modules)
            .Select(m => new PackModule(new ModuleId($"B{m:00}"), new ModuleTopology(6, 2), 2, m, m <= modules / 2 ? "fore" : "aft")));
        Map = new ChannelMap(Layout);
        _buffer = new SnapshotBuffer(Map);
        _random = seed * 0x9E3779B97F4A7C15 + 1;
        _soc = [.. Enumerable.Range(0, Map.CellCount).Select(_ => 0.30 + (0.01 * Normal()))];
        _capacityAh = [.. Enumerable.Range(0, Map.CellCount).Select(_ => 105 + (3 * Normal()))];
        _resistanceOhm = [.. Enumerable.Range(0, Map.CellCount).Select(_ => 0.001 + (0.0001 * Normal()))];
        _temperatureDegC = [.. Enumerable.Range(0, Map.TemperatureCount).Select(_ => 18 + Normal())];
    }

    public PackLayout Layout { get; }

    public ChannelMap Map { get; }

    /// <summary>Noise on every cell reading, V rms.</summary>
    public double CellNoiseV { get; init; } = 0.001;

    /// <summary>Step of the cell instrument, as steps per volt: 10,000 is 0.1 mV, 1,000 is 1 mV.</summary>
    public double CellStepsPerV { get; init; } = 10_000;

    /// <summary>Time between snapshots, µs.</summary>
    public long PeriodUs { get; init; } = 1_000_000;

    /// <summary>Elapsed and wall time of the first snapshot.</summary>
    public SnapshotTime Start { get; init; } = new(5_000_000, 1_790_000_000_000);

    /// <summary>Current by seconds since the start, A; the default rests a minute, charges at 60 A until the highest cell nears 4.15 V, then tapers.</summary>
    public Func<double, double>? CurrentA { get; init; }

    /// <summary>Changes a snapshot before it is given out: drop a board, open a lead, move the wall clock.</summary>
    public Action<SnapshotBuffer>? Disturb { get; init; }

    /// <summary>Snapshots given out so far.</summary>
    public long Taken { get; private set; }

    /// <summary>The next snapshot.</summary>
    public Snapshot Next()
    {
        var elapsedUs = Start.ElapsedUs + (Taken * PeriodUs);
        _buffer.Begin(++Taken, new SnapshotTime(elapsedUs, Start.WallUnixMs + ((elapsedUs - Start.ElapsedUs) / 1000)));
        var periodS = PeriodUs * 1e-6;
        var currentA = CurrentA is null ? DefaultCurrentA(Taken * periodS) : CurrentA(Taken * periodS);
        var rippledA = currentA + (currentA == 0 ? 0.02 : 0.15) * Normal();
        var sumV = 0.0;
        for (var c = 0; c < Map.CellCount; c++)
        {
            _soc[c] += currentA * periodS / 3600 / _capacityAh[c];
            var volts = CurveAt(_soc[c]) + (rippledA * _resistanceOhm[c]);
            sumV += volts;
            Set(c, volts + (CellNoiseV * Normal()), CellStepsPerV);
            Set(Map.FirstBleed + c, 0, 1);
        }

        for (var t = 0; t < Map.TemperatureCount; t++)
        {
            _temperatureDegC[t] += periodS * ((currentA * currentA * 1.2e-7) - ((_temperatureDegC[t] - 18) * 1e-4));
            Set(Map.FirstTemperature + t, _temperatureDegC[t] + (0.02 * Normal()), 100);
        }

        Set(Map.PackCurrent, rippledA + (0.01 * Normal()), 1000);
        Set(Map.StringVoltage, sumV + (0.02 * Normal()), 100);
        _buffer.AgesUs.Clear();
        Disturb?.Invoke(_buffer);
        return _buffer.Freeze();
    }

    /// <summary>The next so many snapshots.</summary>
    public Snapshot[] Next(int count) => [.. Enumerable.Range(0, count).Select(_ => Next())];

    /// <summary>A normal deviate (polar method of Marsaglia over an xorshift generator), the same on every machine.</summary>
    public double Normal()
    {
        if (_spareNormal is { } spare)
        {
            _spareNormal = null;
            return spare;
        }

        double x, y, r;
        do
        {
            x = (2 * Uniform()) - 1;
            y = (2 * Uniform()) - 1;
            r = (x * x) + (y * y);
        }
        while (r is >= 1 or 0);
        var scale = Math.Sqrt(-2 * Math.Log(r) / r);
        _spareNormal = y * scale;
        return x * scale;
    }

    /// <summary>A number from 0 up to 1.</summary>
    public double Uniform()
    {
        _random ^= _random << 13;
        _random ^= _random >> 7;
        _random ^= _random << 17;
        return (_random >> 11) * (1.0 / (1UL << 53));
    }

    private double DefaultCurrentA(double seconds)
    {
        if (seconds < 60) return 0;
        var highest = _soc.Max();
        return highest < 0.94 ? 60 : Math.Max(2, 60 * Math.Exp((0.94 - highest) * 60));
    }

    private void Set(int channel, double value, double stepsPerUnit)
    {
        _buffer.Values[channel] = Math.Round(value * stepsPerUnit) / stepsPerUnit;
        _buffer.Qualities[channel] = Quality.Good;
        _buffer.Origins[channel] = Origin.Simulated;
        _buffer.Proven[channel] = channel < Map.CellCount;
    }

    private static double CurveAt(double soc)
    {
        var x = Math.Clamp((soc - 0.1) * 10, 0, CurveV.Length - 1.000001);
        var i = (int)x;
        return CurveV[i] + ((x - i) * (CurveV[i + 1] - CurveV[i]));
    }
}
