using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Imbalance;

/// <summary>
/// Counts the charge that bleeding takes out of every cell: cell voltage over resistor, for as long as the switch says it is on. What is not
/// seen is not filled in: a hole in the record, or a cell that bleeds unseen, is kept as time of which nothing is known. One thread at a time, no
/// allocation. Source: Ohm's law.
/// </summary>
/// <param name="map">The pack's channels.</param>
/// <param name="bleedOhm">Resistor of a switch, ohm, above 0.</param>
public sealed class BleedCount(ChannelMap map, double bleedOhm)
{
    /// <summary>Scans farther apart than this leave a hole between them, s.</summary>
    public const double LongestStepS = 120;

    /// <summary>Less time unseen than this is no hole in a night's count, s: 60 s of 124 mA are 2 mAh.</summary>
    public const double HoleS = 60;

    private readonly double[] _countedAh = new double[map.CellCount];
    private readonly double[] _unseenS = new double[map.CellCount];
    private readonly bool[] _wasOn = new bool[map.CellCount];
    private long _lastUs = long.MinValue;

    /// <summary>Charge counted while it was seen, Ah.</summary>
    public double CountedAh(int cell) => _countedAh[cell];

    /// <summary>Time in which the cell bled, or may have, and was not seen, s.</summary>
    public double UnseenS(int cell) => _unseenS[cell];

    /// <summary>What the bleed took out, Ah; NaN where the count has a hole.</summary>
    public double IntegratedAh(int cell) => _unseenS[cell] > HoleS ? double.NaN : _countedAh[cell];

    /// <summary>Begins anew.</summary>
    public void Begin()
    {
        _countedAh.AsSpan().Clear();
        _unseenS.AsSpan().Clear();
        _wasOn.AsSpan().Clear();
        _lastUs = long.MinValue;
    }

    /// <summary>Takes one scan; its time must not go back.</summary>
    public void Step(Snapshot snapshot)
    {
        var now = snapshot.Time.ElapsedUs;
        var stepS = _lastUs == long.MinValue ? 0 : (now - _lastUs) * 1e-6;
        _lastUs = now;
        for (var cell = 0; cell < _countedAh.Length; cell++)
        {
            var flag = snapshot.Quality[map.FirstBleed + cell];
            // A switch whose flag is lost is taken to be as it was.
            var isOn = flag is Quality.Missing or Quality.Stale ? _wasOn[cell] : snapshot.IsBleeding(cell);
            if (isOn || _wasOn[cell])
            {
                var isSeen = stepS <= LongestStepS && snapshot.CellQuality[cell] is Quality.Good or Quality.Doubtful && flag == Quality.Good;
                if (!isSeen) _unseenS[cell] += stepS;
                else if (isOn) _countedAh[cell] += snapshot.RawCellVoltageV[cell] / bleedOhm * stepS / 3600;
            }

            _wasOn[cell] = isOn;
        }
    }
}
