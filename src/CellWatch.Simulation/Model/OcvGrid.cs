namespace CellWatch.Simulation.Model;

/// <summary>
/// An open-circuit voltage curve on an even grid of 0.5 %, so that a lookup is one multiplication: with points at whole or half percents
/// it equals the curve itself. Beyond its ends it goes on with the slope of the last half percent: a device of the model, which must
/// say something when a cell is overcharged or emptied; no published curve says it.
/// </summary>
public sealed class OcvGrid
{
    private const int Pieces = 200;
    private readonly double[] _voltageV = new double[Pieces + 1];

    /// <param name="socPercent">Charge of each point, percent, rising, from 0 to 100.</param>
    /// <param name="voltageV">Voltage of each point, V.</param>
    /// <exception cref="ArgumentException">Fewer than two points, other counts, or the points do not reach from 0 to 100.</exception>
    public OcvGrid(ReadOnlySpan<double> socPercent, ReadOnlySpan<double> voltageV)
    {
        if (socPercent.Length < 2 || socPercent.Length != voltageV.Length || socPercent[0] != 0 || socPercent[^1] != 100)
            throw new ArgumentException("A curve for the model needs as many voltages as charges, from 0 to 100 %.");

        var point = 0;
        for (var i = 0; i <= Pieces; i++)
        {
            var soc = 100.0 * i / Pieces;
            while (point < socPercent.Length - 2 && socPercent[point + 1] <= soc) point++;
            var part = (soc - socPercent[point]) / (socPercent[point + 1] - socPercent[point]);
            _voltageV[i] = voltageV[point] + part * (voltageV[point + 1] - voltageV[point]);
        }
    }

    /// <summary>Voltage at a charge, V.</summary>
    /// <param name="charge">0 empty, 1 full; beyond both the end slope goes on.</param>
    public double VoltageAt(double charge)
    {
        var x = charge * Pieces;
        var piece = Math.Clamp((int)x, 0, Pieces - 1);
        return _voltageV[piece] + (x - piece) * (_voltageV[piece + 1] - _voltageV[piece]);
    }
}
