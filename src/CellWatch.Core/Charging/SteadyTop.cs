using CellWatch.Core.Checks;
using CellWatch.Core.Engine;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Charging;

/// <summary>
/// The highest cell without its noise: the highest of 108 noisy readings stands two to three millivolts above any cell. Each is smoothed
/// over four seconds; what a steady rise loses by that is put back, and a margin of one and a half of the remaining noise is asked for, so that
/// a quiet channel is judged at the millivolt and a noisy one no earlier than it can be.
/// </summary>
internal sealed class SteadyTop(int cells)
{
    private const double SmoothS = 4;
    private const double MarginSigmas = 1.5;

    private readonly double[] _v = NaNs(cells);
    private double _share = 1;

    /// <summary>The cell; -1 while none is known.</summary>
    public int Cell { get; private set; } = -1;

    /// <summary>Its voltage, V.</summary>
    public double V { get; private set; } = double.NaN;

    /// <summary>What noise may still be in it, V.</summary>
    public double MarginV { get; private set; }

    public void Step(Snapshot snapshot, double dtS, LimitForecast forecast, NoiseCheck noise)
    {
        _share = 1 - Math.Exp(-dtS / SmoothS);
        Cell = -1;
        for (var cell = 0; cell < _v.Length; cell++)
        {
            if (snapshot.CellQuality[cell] != Quality.Good)
            {
                _v[cell] = double.NaN;
                continue;
            }

            var reading = snapshot.RawCellVoltageV[cell];
            _v[cell] = double.IsNaN(_v[cell]) || dtS <= 0 ? reading : _v[cell] + _share * (reading - _v[cell]);
            if (Cell < 0 || _v[cell] > _v[Cell]) Cell = cell;
        }

        if (Cell < 0)
        {
            V = double.NaN;
            return;
        }

        var rise = forecast.RiseVPerS(Cell);
        V = _v[Cell] + (rise > 0 ? rise * SmoothS : 0);
        MarginV = MarginSigmas * noise.SigmaV(Cell) * Math.Sqrt(_share / (2 - _share));
    }

    private static double[] NaNs(int count)
    {
        var a = new double[count];
        a.AsSpan().Fill(double.NaN);
        return a;
    }
}
