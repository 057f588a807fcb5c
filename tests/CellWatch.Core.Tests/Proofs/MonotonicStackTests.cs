using CellWatch.Core.Proofs;

namespace CellWatch.Core.Tests.Proofs;

public class MonotonicStackTests
{
    [Fact]
    public void Exchanged_leads_three_and_four_are_named_before_plugging_in()
    {
        var outcome = Judge(0, 3.91, 7.82, 15.64, 11.73, 19.55, 23.46);
        Assert.False(outcome.Passed);
        Assert.Equal((3, 4), (outcome.FirstExchanged, outcome.SecondExchanged));
        Assert.Contains("Lead 3 and lead 4 are exchanged", outcome.Sentence, StringComparison.Ordinal);
        Assert.Contains("do not plug in", outcome.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Readings_that_rise_by_one_cell_pass()
    {
        var outcome = Judge(0, 3.91, 7.82, 11.73, 15.64, 19.55, 23.46);
        Assert.True(outcome.Passed);
        Assert.Equal(6, outcome.CellV.Count);
        Assert.All(outcome.CellV, v => Assert.Equal(3.91, v, 6));
    }

    [Fact]
    public void Every_single_exchange_of_leads_is_named()
    {
        for (var a = 1; a < 7; a++)
            for (var b = a + 1; b < 7; b++)
            {
                var readings = Enumerable.Range(0, 7).Select(i => 3.9 * i).ToArray();
                (readings[a], readings[b]) = (readings[b], readings[a]);
                var outcome = Judge(readings);
                Assert.False(outcome.Passed);
                Assert.Equal((a, b), (outcome.FirstExchanged, outcome.SecondExchanged));
            }
    }

    [Theory]
    [InlineData("negative", "0 -3.9 -7.8 -11.7 -15.6 -19.5 -23.4")]
    [InlineData("repeats lead 2", "0 3.9 7.8 7.8 15.6 19.5 23.4")]
    [InlineData("reads 0 V", "0 3.9 0 11.7 15.6 19.5 23.4")]
    [InlineData("more than one cell", "0 3.9 7.8 15.6 19.5 23.4 27.3")]
    [InlineData("must read 0", "1.2 3.9 7.8 11.7 15.6 19.5 23.4")]
    [InlineData("a lead is missing or in the wrong place", "0 11.7 3.9 7.8 19.5 15.6 23.4")]
    public void Other_faults_are_said_and_never_pass(string expected, string readings)
    {
        var outcome = Judge([.. readings.Split(' ').Select(r => double.Parse(r, System.Globalization.CultureInfo.InvariantCulture))]);
        Assert.False(outcome.Passed);
        Assert.Contains(expected, outcome.Sentence, StringComparison.Ordinal);
        Assert.Contains("not plug in", outcome.Sentence, StringComparison.OrdinalIgnoreCase);
    }

    [Fact]
    public void A_missing_reading_is_asked_for() => Assert.Contains("7 readings are needed", Judge(0, 3.9, 7.8).Sentence, StringComparison.Ordinal);

    private static StackOutcome Judge(params double[] readingsV) => MonotonicStack.Judge(readingsV, 6, CellStep.Usual);
}
