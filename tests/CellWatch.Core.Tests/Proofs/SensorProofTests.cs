using CellWatch.Core.Pack;
using CellWatch.Core.Proofs;

namespace CellWatch.Core.Tests.Proofs;

public class SensorProofTests
{
    private static readonly string[] Sensors = ["B01.t1", "B01.t2", "B02.t1"];
    private static readonly CellLimits Limits = new();

    [Fact]
    public void The_sensor_under_the_hand_is_proven_when_it_alone_rises() =>
        Assert.True(WarmHand.Judge(Sensors, 1, [20, 20, 20], [20.2, 22.4, 20.1], Limits).Proven);

    [Fact]
    public void Another_sensor_that_rises_shows_an_exchange()
    {
        var outcome = WarmHand.Judge(Sensors, 1, [20, 20, 20], [22.4, 20.1, 20.1], Limits);
        Assert.False(outcome.Proven);
        Assert.Contains("exchanged", outcome.Sentence, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(-40, "open")]
    [InlineData(125, "shorted")]
    [InlineData(double.NaN, "no reading")]
    public void A_broken_sensor_is_named(double degC, string word) =>
        Assert.Contains(word, WarmHand.Judge(Sensors, 0, [degC, 20, 20], [degC, 20, 20], Limits).Sentence, StringComparison.Ordinal);

    [Fact]
    public void After_a_night_the_sensor_that_disagrees_is_named() =>
        Assert.Contains("B02.t1", Assert.Single(WarmHand.RestFaults(Sensors, [20, 20.2, 22], Limits)), StringComparison.Ordinal);

    [Theory]
    [InlineData(0.02, -20.1, 20, 15, true, "sign flips")]
    [InlineData(0.02, 20.1, 20, 15, false, "reversed")]
    [InlineData(0.02, -21.0, 20, 15, false, "off the known load")]
    [InlineData(0.30, -19.7, 20, 15, false, "set its zero")]
    [InlineData(0.02, 0.05, 20, 15, false, "did not move")]
    [InlineData(0.02, -20.1, 20, -15, false, "must flip")]
    [InlineData(0.0, -0.3, 0.3, 15, false, "too small")]
    public void The_current_sensor_is_judged_by_sign_scale_and_zero(double zeroA, double loadedA, double expectedA, double chargingA, bool proven, string word)
    {
        var outcome = CurrentSensorProof.Judge(zeroA, loadedA, expectedA, chargingA);
        Assert.Equal(proven, outcome.Proven);
        Assert.Contains(word, outcome.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Twenty_contrary_changes_are_not_chance_and_half_of_them_are()
    {
        Assert.True(CurrentSensorProof.Inferred(20, 20).Reversed);
        Assert.Equal(Math.Pow(2, -20), CurrentSensorProof.Inferred(20, 20).Chance, 12);
        Assert.False(CurrentSensorProof.Inferred(10, 20).Reversed);
        Assert.False(CurrentSensorProof.Inferred(10, 10).Reversed);
    }

    [Fact]
    public void The_sum_of_six_is_allowed_twelve_millivolts_and_the_meters_error()
    {
        Assert.True(SumAgainstTerminal.JudgeModule([3.9, 3.9, 3.9, 3.9, 3.9, 3.9], 23.43).Passed);
        Assert.False(SumAgainstTerminal.JudgeModule([3.9, 3.9, 3.9, 3.9, 3.9, 3.9], 23.45).Passed);
    }
}
