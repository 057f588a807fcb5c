using CellWatch.Core.Bench;

namespace CellWatch.Core.Tests.Bench;

public class PulseTestTests
{
    [Fact]
    public void Ohmic_and_slow_part_are_told_apart()
    {
        var outcome = PulseTest.Judge(Pulse());
        Assert.True(outcome.Comparable, outcome.Sentence);
        Assert.Equal(0.8 + 0.4 * (1 - Math.Exp(-0.5 / 4)), outcome.Groups[0].OhmicMilliohm, 2);
        Assert.Equal(0.8 + 0.4 * (1 - Math.Exp(-10.0 / 4)), outcome.Groups[0].TenSecondMilliohm, 2);
    }

    [Fact]
    public void A_pulse_whose_current_moved_is_not_comparable_and_states_no_number()
    {
        var outcome = PulseTest.Judge(Pulse(droopShare: 0.05));
        Assert.False(outcome.Comparable);
        Assert.Empty(outcome.Groups);
        Assert.StartsWith("Not comparable", outcome.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void A_pulse_cut_by_a_limit_is_not_comparable() => Assert.False(PulseTest.Judge(Pulse() with { LowestV = 3.80 }).Comparable);

    [Fact]
    public void A_pulse_in_which_the_module_warmed_is_not_comparable() => Assert.False(PulseTest.Judge(Pulse() with { EndDegC = 29 }).Comparable);

    [Fact]
    public void A_pulse_too_small_is_not_comparable() => Assert.False(PulseTest.Judge(Pulse(currentA: 20)).Comparable);

    [Theory]
    [InlineData(1.5, 1.0, 1.0, "joint")]
    [InlineData(1.5, 1.5, 1.0, "the cell itself")]
    [InlineData(2.0, 2.0, 0.5, "parallel cell")]
    public void The_cause_of_a_raised_resistance_is_named(double ohmic, double slow, double capacity, string word) =>
        Assert.Contains(word, PulseTest.Cause(ohmic, slow, capacity), StringComparison.Ordinal);

    private static PulseRecording Pulse(double currentA = 110, double droopShare = 0)
    {
        var times = Enumerable.Range(0, 130).Select(i => 0.1 * i).ToArray();
        var current = times.Select(t => t is >= 1 and < 11.55 ? -currentA * (1 - droopShare * (t - 1) / 10) : 0.0).ToArray();
        var cells = Enumerable.Range(0, 6).Select(g => times.Select((t, i) => current[i] == 0 ? 3.75 : 3.75 + current[i] * 1e-3 * (0.8 + 0.4 * (1 - Math.Exp(-(t - 0.9) / 4)))).ToArray()).ToArray();
        return new PulseRecording(times, current, cells, 25, 25.5, 50, 3.0);
    }
}
