using CellWatch.Core.Estimation;
using CellWatch.Core.Proofs;

namespace CellWatch.Core.Tests.Proofs;

public class PrechargeJudgementTests
{
    // battery-maths check 12.4: 400 V, 100 ohm, 1 mF; exact 95 % after 0.2995732 s.
    private static readonly Precharge Circuit = new(400, 100, 1e-3);

    [Fact]
    public void A_good_curve_reaches_95_percent_at_three_time_constants()
    {
        var finding = Judge(t => 400 * Circuit.ShareAfter(t), 0);
        Assert.Equal(PrechargeVerdict.Good, finding.Verdict);
        Assert.Equal(0.2995732, finding.TimeTo95S, 3);
    }

    [Fact]
    public void A_leak_on_the_bus_is_slow() => Assert.Equal(PrechargeVerdict.Slow, Judge(t => 360 * Circuit.ShareAfter(t), 0).Verdict);

    [Fact]
    public void Lost_capacitance_is_fast() => Assert.Equal(PrechargeVerdict.Fast, Judge(t => 400 * new Precharge(400, 100, 0.3e-3).ShareAfter(t), 0).Verdict);

    [Fact]
    public void An_open_resistor_does_not_rise() => Assert.Equal(PrechargeVerdict.NoRise, Judge(_ => 2, 0).Verdict);

    [Fact]
    public void A_bus_that_stays_up_after_opening_is_a_welded_contactor_and_says_stop()
    {
        var finding = Judge(t => 400 * Circuit.ShareAfter(t), 398);
        Assert.Equal(PrechargeVerdict.Welded, finding.Verdict);
        Assert.Contains("STOP, do not retry", finding.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void A_recording_too_slow_to_judge_is_not_judged() =>
        Assert.Equal(PrechargeVerdict.NotJudged, PrechargeJudgement.Judge(new PrechargeCurve([0, 0.1, 0.2, 0.4], [0, 250, 350, 399], 400, 0), 0.3).Verdict);

    [Fact]
    public void Three_tries_in_a_row_are_one_too_many() => Assert.False(PrechargeJudgement.Retry(3, 30, 300).Allowed);

    private static PrechargeFinding Judge(Func<double, double> busV, double afterV)
    {
        var times = Enumerable.Range(0, 101).Select(i => i / 100.0).ToArray();
        return PrechargeJudgement.Judge(new PrechargeCurve(times, [.. times.Select(busV)], 400, afterV), PrechargeJudgement.ReferenceTimeS(Circuit));
    }
}
