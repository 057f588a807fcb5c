using CellWatch.Core.Engine;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Checks;

/// <summary>
/// A step no cell can make: 0.6 V at 600 A is possible, 0.3 V at 0 A in a tenth of a second is not. The value is doubted until it comes
/// back to where it was, or stays at the new place for ten seconds. Thresholds are common practice, no source.
/// </summary>
internal sealed class StepCheck
{
    /// <summary>What a cell may move between two scans with no change of current.</summary>
    private const double FreeV = 0.150;

    /// <summary>A change of current may move a cell by this many times its expected resistance.</summary>
    private const double ResistanceFactor = 4;

    /// <summary>Back where it was.</summary>
    private const double BackV = 0.050;

    private const double SettledV = 0.020;
    private const long SettledUs = 10_000_000;
    private const long LongestGapUs = 5_000_000;

    private readonly double[] _believed;
    private readonly long[] _believedUs;
    private readonly double[] _candidate;
    private readonly long[] _candidateUs;
    private readonly int[] _spikes;
    private readonly CurrentRange _current = new();

    public StepCheck(int cells)
    {
        _believed = new double[cells];
        _believed.AsSpan().Fill(double.NaN);
        _believedUs = new long[cells];
        _candidate = new double[cells];
        _candidate.AsSpan().Fill(double.NaN);
        _candidateUs = new long[cells];
        _spikes = new int[cells];
    }

    /// <summary>Steps of a cell that no cell can make, since the start.</summary>
    public int SpikesOf(int cell) => _spikes[cell];

    public void Step(SnapshotBuffer snapshot, Facts facts)
    {
        var now = facts.Time.ElapsedUs;
        _current.Add(facts.CurrentKnown ? facts.CurrentA : double.NaN);
        // Without a known current nothing is impossible.
        var allowedV = FreeV + ResistanceFactor * facts.Options.ResistanceOhm * _current.Spread;
        var values = snapshot.Values;
        var qualities = snapshot.Qualities;
        for (var cell = 0; cell < _believed.Length; cell++)
        {
            if (qualities[cell] != Quality.Good) continue;
            var v = values[cell];
            var isDoubted = !double.IsNaN(_candidate[cell]);
            if (!isDoubted && (double.IsNaN(_believed[cell]) || now - _believedUs[cell] > LongestGapUs || !(Math.Abs(v - _believed[cell]) > allowedV))
                || isDoubted && Math.Abs(v - _believed[cell]) <= BackV)
            {
                Believe(cell, v, now);
                continue;
            }

            if (!isDoubted) _spikes[cell]++;
            if (!isDoubted || Math.Abs(v - _candidate[cell]) > SettledV) (_candidate[cell], _candidateUs[cell]) = (v, now);
            if (now - _candidateUs[cell] >= SettledUs) Believe(cell, v, now);
            else facts.Doubts.Lower(snapshot, cell, Doubt.ImpossibleStep, Quality.Doubtful);
        }
    }

    private void Believe(int cell, double v, long now) => (_believed[cell], _believedUs[cell], _candidate[cell]) = (v, now, double.NaN);

    /// <summary>Spread of the current over the last few scans: board and sensor are not read at the same instant.</summary>
    private sealed class CurrentRange
    {
        private readonly double[] _last = [double.NaN, double.NaN, double.NaN, double.NaN];
        private int _next;

        public double Spread { get; private set; }

        public void Add(double currentA)
        {
            _last[_next] = currentA;
            _next = (_next + 1) % _last.Length;
            double low = double.PositiveInfinity, high = double.NegativeInfinity;
            var known = true;
            foreach (var a in _last)
            {
                known &= !double.IsNaN(a);
                if (a < low) low = a;
                if (a > high) high = a;
            }

            Spread = known ? high - low : double.PositiveInfinity;
        }
    }
}
