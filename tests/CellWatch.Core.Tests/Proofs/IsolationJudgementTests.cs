using CellWatch.Core.Estimation;
using CellWatch.Core.Proofs;

namespace CellWatch.Core.Tests.Proofs;

public class IsolationJudgementTests
{
    // the-job section 11, method of UN R100 revision 2, annex points 1.2.3.
    [Fact]
    public void The_example_of_the_trade_gives_267_kilohm_and_group_27()
    {
        var finding = Judge(new IsolationReadings(400, 100, 300, 200e3, KnownAtMinus: false, 150));
        Assert.Null(finding.Refusal);
        Assert.Equal(200e3 * (400.0 / 150 - 400.0 / 300), finding.Ohm, 6);
        Assert.Equal(666.7, finding.OhmPerNominalV, 1);
        Assert.Equal(200e3, finding.SingleLeakOhm, 6);
        Assert.Contains("Ri = 267 kOhm, 667 ohm/V", finding.Sentence, StringComparison.Ordinal);
        Assert.Contains("As one leak: 200 kOhm", finding.Sentence, StringComparison.Ordinal);
        Assert.Contains("about 25 % up from negative: group 27, module at slot 5", finding.Position, StringComparison.Ordinal);
        Assert.Contains("Two leaks would look the same", finding.Position, StringComparison.Ordinal);
    }

    [Fact]
    public void The_gate_passes_on_the_stricter_figure()
    {
        // 210 kOhm: 525 ohm/V of 400 V nominal, but 463 of the highest working voltage.
        var withKnown = 400 / (210e3 / 200e3 + 400.0 / 300);
        var finding = Judge(new IsolationReadings(400, 100, 300, 200e3, false, withKnown));
        Assert.True(finding.OhmPerNominalV > 500);
        Assert.False(finding.Passed);
    }

    [Theory]
    [InlineData(400, 100, 300, true, 50, "side with the larger")]
    [InlineData(400, 250, 300, false, 150, "more than the pack voltage")]
    [InlineData(400, 100, 300, false, 350, "rose")]
    [InlineData(400, -100, 300, false, 150, "without sign")]
    public void Impossible_readings_are_refused_with_the_reason(double packV, double v1, double v2, bool atMinus, double withKnown, string word)
    {
        var finding = Judge(new IsolationReadings(packV, v1, v2, 200e3, atMinus, withKnown));
        Assert.False(finding.Passed);
        Assert.True(double.IsNaN(finding.Ohm));
        Assert.Contains(word, finding.Refusal!, StringComparison.Ordinal);
    }

    [Fact]
    public void Good_isolation_is_not_located_anywhere()
    {
        // battery-maths check 12.1: plus 2 MOhm, minus 3 MOhm.
        var finding = Judge(new IsolationReadings(400, 240, 160, 200e3, true, 34.285714286));
        Assert.Equal(2e6, finding.Ohm, 1e-3 * 2e6);
        Assert.True(finding.Passed);
        Assert.Empty(finding.Position);
    }

    [Fact]
    public void A_meter_below_ten_megohm_is_refused() =>
        Assert.Contains("10 MOhm", IsolationJudgement.Judge(new IsolationReadings(400, 100, 300, 200e3, false, 150), SomePack.Layout, 400, 453.6, 1e6).Refusal!, StringComparison.Ordinal);

    private static IsolationFinding Judge(IsolationReadings r) => IsolationJudgement.Judge(r, SomePack.Layout, 400, 453.6, 10e6);
}
