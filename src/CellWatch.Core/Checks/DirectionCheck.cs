using CellWatch.Core.Engine;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Checks;

/// <summary>
/// A current sensor that counts the wrong way. Two kinds of evidence:
/// <para>At once: the current changes its sign and keeps its size from one reading to the next, and no cell answers. A real change of 120 A
/// over 1 mOhm moves every cell by 120 mV. From then on the current is not believed, because a charge would pass for a discharge.</para>
/// <para>In time: voltages rise when the current says discharge. Once may be chance; twenty changes in which the voltages say so, each that
/// agrees taking two away, are not.</para>
/// </summary>
internal sealed class DirectionCheck
{
    private const double LeastStepA = 5;
    private const double LeastStepV = 0.003;
    private const long WindowUs = 2_000_000;

    /// <summary>A current that can be seen to change its sign, A, and how alike both sizes must be.</summary>
    private const double LeastTurnedA = 10, AlikeShare = 0.05;

    /// <summary>How long an answer of the cells is waited for: boards and sensor are not read at one instant.</summary>
    private const long AnswerUs = 1_500_000;

    private double _fromA = double.NaN;
    private double _fromV;
    private long _fromUs;
    private int _against;

    private double _readA = double.NaN;
    private double _rightA;
    private double _turnedFromV;
    private long _turnedUs;
    private Turn _turn;

    private enum Turn : byte
    {
        None,
        Seen,
        Believed,
    }

    /// <summary>Lowers the quality of a current that counts the wrong way; before it is taken.</summary>
    public void Lower(SnapshotBuffer snapshot, Facts facts)
    {
        var channel = snapshot.Map.PackCurrent;
        if (snapshot.Qualities[channel] != Quality.Good)
        {
            _readA = double.NaN;
            if (_turn == Turn.Seen) _turn = Turn.None;
            return;
        }

        var readA = snapshot.Values[channel];
        if (_turn == Turn.None && Math.Abs(_readA) >= LeastTurnedA && Math.Abs(readA + _readA) <= AlikeShare * Math.Abs(_readA) && double.IsFinite(facts.MedianV))
            (_turn, _rightA, _turnedFromV, _turnedUs) = (Turn.Seen, _readA, facts.MedianV, facts.Time.ElapsedUs);
        else if (_turn != Turn.None && Math.Abs(readA) >= LeastTurnedA && readA * _rightA > 0)
            _turn = Turn.None;
        _readA = readA;
        facts.CurrentInDoubt = _turn != Turn.None;
        if (_turn == Turn.Believed && Math.Abs(readA) > facts.Options.EffectiveRestCurrentA) snapshot.Qualities[channel] = Quality.Doubtful;
    }

    /// <summary>Judges what the cells answered.</summary>
    public void Step(Facts facts, Measures measures)
    {
        if (double.IsNaN(_readA) || double.IsNaN(facts.MedianV))
        {
            measures.SetNone(Quantity.ReversedSteps, 0, Availability.Stale);
            measures.SetNone(Quantity.CurrentTurned, 0, Availability.Stale);
            return;
        }

        if (_turn == Turn.Seen)
        {
            if (Math.Abs(facts.MedianV - _turnedFromV) >= LeastStepV) _turn = Turn.None;
            else if (facts.Time.ElapsedUs - _turnedUs >= AnswerUs) _turn = Turn.Believed;
        }

        if (double.IsNaN(_fromA) || facts.Time.ElapsedUs - _fromUs >= WindowUs)
        {
            if (!double.IsNaN(_fromA)) Judge(_readA - _fromA, facts.MedianV - _fromV);
            (_fromA, _fromV, _fromUs) = (_readA, facts.MedianV, facts.Time.ElapsedUs);
        }

        measures.Set(Quantity.ReversedSteps, 0, _against);
        measures.Set(Quantity.CurrentTurned, 0, _turn == Turn.Believed ? Math.Abs(_readA) : 0);
    }

    private void Judge(double stepA, double stepV)
    {
        if (Math.Abs(stepA) < LeastStepA || Math.Abs(stepV) < LeastStepV) return;
        _against = stepA * stepV < 0 ? Math.Min(_against + 1, 40) : Math.Max(0, _against - 2);
        // Cells that answer the right way again say that somebody turned the sensor back unseen.
        if (stepA * stepV > 0 && _turn == Turn.Believed) _turn = Turn.None;
    }
}
