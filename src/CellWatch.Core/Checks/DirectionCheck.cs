using CellWatch.Core.Engine;
using CellWatch.Core.Rules;

namespace CellWatch.Core.Checks;

/// <summary>
/// A current sensor that counts the wrong way: voltages rise when the current says discharge. Once may be chance; twenty changes in
/// which the voltages say so, each that agrees taking two away, are not.
/// </summary>
internal sealed class DirectionCheck
{
    private const double LeastStepA = 5;
    private const double LeastStepV = 0.003;
    private const long WindowUs = 2_000_000;

    private double _fromA = double.NaN;
    private double _fromV;
    private long _fromUs;
    private int _against;

    public void Step(Facts facts, Measures measures)
    {
        if (!facts.CurrentKnown || double.IsNaN(facts.MedianV))
        {
            measures.SetNone(Quantity.ReversedSteps, 0, Availability.Stale);
            return;
        }

        if (double.IsNaN(_fromA) || facts.Time.ElapsedUs - _fromUs >= WindowUs)
        {
            if (!double.IsNaN(_fromA)) Judge(facts.CurrentA - _fromA, facts.MedianV - _fromV);
            (_fromA, _fromV, _fromUs) = (facts.CurrentA, facts.MedianV, facts.Time.ElapsedUs);
        }

        measures.Set(Quantity.ReversedSteps, 0, _against);
    }

    private void Judge(double stepA, double stepV)
    {
        if (Math.Abs(stepA) < LeastStepA || Math.Abs(stepV) < LeastStepV) return;
        _against = stepA * stepV < 0 ? Math.Min(_against + 1, 40) : Math.Max(0, _against - 2);
    }
}
