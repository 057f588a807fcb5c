using CellWatch.Core.Engine;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Checks;

/// <summary>
/// Two modules that exchange their readings from one scan to the next: their harnesses, or two boards, changed places. Every module's cells stand
/// a few millivolts from the pack's median in a pattern of their own; when two modules leave their patterns together and each takes the other's, it
/// is not their cells that changed. Both are then not proven until a person says so.
/// <para>Only at a steady current, because another current is another pattern. An exchange made before the first scan cannot be seen this
/// way: that is what the channel proof is for. Own rule; bounds chosen against 1 mV of noise.</para>
/// </summary>
internal sealed class ExchangeCheck
{
    /// <summary>How slowly a pattern is followed, how long it must have been followed, and over how long the readings are smoothed, s.</summary>
    private const double PatternS = 30, KnownS = 20, SmoothS = 2;

    /// <summary>A pattern that is left by less is still the same, V rms over the module; by this many times the noise left in it.</summary>
    private const double LeastV = 0.001, NoiseTimes = 2.5;

    /// <summary>What may be left between a module's readings and the other's pattern, as a share of what changed.</summary>
    private const double LeftShare = 0.5;

    private const double SteadyA = 2;

    /// <summary>Fewer cells have no pattern that could not come about by chance.</summary>
    private const int LeastCells = 3;

    /// <summary>How long both must have left their patterns, s.</summary>
    private const double LeftForS = 1.5;

    /// <summary>A pattern left for longer without an exchange is learned anew, s.</summary>
    private const double GiveUpS = 20;

    /// <summary>How long an exchange counts as present; its alarm is held until a person resets it, s.</summary>
    private const double PresentS = 30;

    private readonly PackLayout _layout;
    private readonly NoiseCheck _noise;
    private readonly double[] _pattern;
    private readonly double[] _smooth;
    private readonly double[] _followedS;
    private readonly double[] _leftS;
    private readonly double[] _leftV;
    private readonly int[] _with;
    private readonly long[] _foundUs;
    private double _steadyA = double.NaN;
    private bool _any;

    public ExchangeCheck(Facts facts, NoiseCheck noise)
    {
        var layout = facts.Layout;
        (_layout, _noise, _with) = (layout, noise, facts.ExchangedWith);
        var modules = layout.Modules.Length;
        _pattern = new double[layout.CellCount];
        _smooth = new double[layout.CellCount];
        _followedS = new double[modules];
        _leftS = new double[modules];
        _leftV = new double[modules];
        _foundUs = new long[modules];
    }

    /// <summary>A person has put a module and its partner right, or has proven that they are.</summary>
    public void Forget(int module)
    {
        if (_with[module] >= 0) _with[_with[module]] = -1;
        _with[module] = -1;
        _any = _with.AsSpan().IndexOfAnyExcept(-1) >= 0;
    }

    public void Step(SnapshotBuffer snapshot, Facts facts)
    {
        if (Math.Abs(facts.CurrentA - _steadyA) <= SteadyA && double.IsFinite(facts.MedianV)) Follow(snapshot, facts);
        else
        {
            _steadyA = facts.CurrentA;
            _followedS.AsSpan().Clear();
            _leftS.AsSpan().Clear();
        }

        if (_any) Unprove(snapshot);
    }

    /// <summary>Says which modules are exchanged.</summary>
    public void Measure(Facts facts, Measures measures)
    {
        var values = measures.Values(Quantity.Exchanged);
        values.Clear();
        measures.Availabilities(Quantity.Exchanged).Fill(Availability.Known);
        if (!_any) return;
        for (var module = 0; module < _with.Length; module++)
            if (_with[module] > module && (facts.Time.ElapsedUs - _foundUs[module]) * 1e-6 < PresentS) values[module] = 1;
    }

    private void Follow(SnapshotBuffer snapshot, Facts facts)
    {
        var leaving = 0;
        for (var module = 0; module < _with.Length; module++)
        {
            FollowModule(snapshot, facts, module);
            if (_leftS[module] > 0) leaving++;
        }

        if (leaving < 2) return;
        for (var a = 0; a < _with.Length; a++)
        {
            if (_leftS[a] < LeftForS) continue;
            for (var b = a + 1; b < _with.Length; b++)
                if (_leftS[b] >= LeftForS && Took(a, b) && Took(b, a)) Exchange(a, b, facts.Time.ElapsedUs);
        }
    }

    private void FollowModule(SnapshotBuffer snapshot, Facts facts, int module)
    {
        int first = _layout.FirstCell(module), end = _layout.FirstCell(module + 1);
        if (end - first < LeastCells) return;
        for (var cell = first; cell < end; cell++)
            if (snapshot.Qualities[cell] != Quality.Good || snapshot.View.IsBleeding(cell)) return;

        var isNew = _followedS[module] == 0;
        var share = facts.DtS > 0 ? 1 - Math.Exp(-facts.DtS / SmoothS) : 0;
        double squares = 0, noise = 0;
        for (var cell = first; cell < end; cell++)
        {
            var deviation = snapshot.Values[cell] - facts.MedianV;
            if (isNew) (_smooth[cell], _pattern[cell]) = (deviation, deviation);
            _smooth[cell] += share * (deviation - _smooth[cell]);
            squares += (_smooth[cell] - _pattern[cell]) * (_smooth[cell] - _pattern[cell]);
            noise += _noise.SigmaV(cell) * _noise.SigmaV(cell);
        }

        _leftV[module] = Math.Sqrt(squares / (end - first));
        var leastV = Math.Max(LeastV, NoiseTimes * Math.Sqrt(noise / (end - first) * share / (2 - share)));
        if (_followedS[module] >= KnownS && _leftV[module] > leastV)
        {
            _leftS[module] += facts.DtS;
            if (_leftS[module] > GiveUpS) (_leftS[module], _followedS[module]) = (0, 0);
            return;
        }

        _leftS[module] = 0;
        _followedS[module] += facts.DtS > 0 ? facts.DtS : 1e-3;
        var follow = Math.Min(1, facts.DtS / Math.Min(PatternS, _followedS[module]));
        for (var cell = first; cell < end; cell++) _pattern[cell] += follow * (snapshot.Values[cell] - facts.MedianV - _pattern[cell]);
    }

    /// <summary>Whether the readings of one module are now what the other's pattern was.</summary>
    private bool Took(int module, int other)
    {
        int first = _layout.FirstCell(module), count = _layout.FirstCell(module + 1) - first, from = _layout.FirstCell(other);
        if (_layout.FirstCell(other + 1) - from != count) return false;
        var squares = 0.0;
        for (var i = 0; i < count; i++)
        {
            var left = _smooth[first + i] - _pattern[from + i];
            squares += left * left;
        }

        return Math.Sqrt(squares / count) <= LeftShare * _leftV[module];
    }

    private void Exchange(int a, int b, long nowUs)
    {
        int first = _layout.FirstCell(a), from = _layout.FirstCell(b), count = _layout.FirstCell(a + 1) - first;
        for (var i = 0; i < count; i++) (_pattern[first + i], _pattern[from + i]) = (_pattern[from + i], _pattern[first + i]);
        (_leftS[a], _leftS[b]) = (0, 0);
        // Exchanged once more they are where they were; what a person was told stays held until it is reset.
        var back = _with[a] == b;
        (_with[a], _with[b]) = back ? (-1, -1) : (b, a);
        (_foundUs[a], _foundUs[b]) = (nowUs, nowUs);
        _any = _with.AsSpan().IndexOfAnyExcept(-1) >= 0;
    }

    private void Unprove(SnapshotBuffer snapshot)
    {
        for (var module = 0; module < _with.Length; module++)
            if (_with[module] >= 0) snapshot.Proven[_layout.FirstCell(module).._layout.FirstCell(module + 1)].Clear();
    }
}
