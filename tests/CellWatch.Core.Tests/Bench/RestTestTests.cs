using CellWatch.Core.Bench;
using CellWatch.Core.Tests.Proofs;
using CellWatch.Testing;

namespace CellWatch.Core.Tests.Bench;

public class RestTestTests
{
    private static readonly RestTestSettings Settings = new();

    [Fact]
    public void One_millivolt_a_day_is_a_leak_of_5_7_milliampere_and_no_sibling_is_accused()
    {
        var outcome = RestTest.Judge(TenDays(leakMvPerDay: 1.0, leaking: 2), Settings);
        Assert.Empty(outcome.Refused);
        // the-job section 4: 1 mV/day at 8 mV/% on 110 Ah is 5.7 mA.
        var leaking = outcome.Groups[2];
        Assert.InRange(leaking.LeakMilliampere, 5.729 - leaking.HalfWidthMilliampere, 5.729 + leaking.HalfWidthMilliampere);
        Assert.InRange(leaking.LeakMilliampere, 5.6, 5.9);
        Assert.Equal(Verdict.Reject, outcome.Verdict);
        Assert.Equal(Verdict.Reject, leaking.Verdict);
        Assert.All(outcome.Groups.Where(g => g.Cell != 3), g => Assert.Equal(Verdict.Accept, g.Verdict));
        Assert.InRange(outcome.SmallestLeakFoundMilliampere, 0.01, 1);
        Assert.Contains("Smallest leak this test could have found", outcome.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void A_quiet_converter_does_not_claim_to_see_what_the_drift_of_its_channels_hides()
    {
        // 0.03 mV a day of drift is 0.17 mA at 8 mV/% and 110 Ah; a leak is named from twice its 95 % interval on.
        var outcome = RestTest.Judge(TenDays(0, 0, noiseMv: 0.001), Settings);
        Assert.InRange(outcome.SmallestLeakFoundMilliampere, 2 * 1.96 * 0.03 * 5.729, 2 * 1.97 * 0.03 * 5.729 + 0.02);
    }

    [Fact]
    public void The_common_swing_of_the_room_accuses_no_one()
    {
        var outcome = RestTest.Judge(TenDays(0, 0), Settings);
        Assert.Equal(Verdict.Accept, outcome.Verdict);
        Assert.All(outcome.Groups, g => Assert.Equal(Verdict.Accept, g.Verdict));
    }

    [Fact]
    public void A_leak_between_one_and_five_milliampere_is_accepted_with_limits() =>
        Assert.Equal(Verdict.AcceptWithLimits, RestTest.Judge(TenDays(0.4, 4), Settings).Verdict);

    [Fact]
    public void A_test_too_noisy_to_exclude_the_limit_is_undecided_not_accepted() =>
        Assert.Equal(Verdict.Undecided, RestTest.Judge(TenDays(0, 0, noiseMv: 30), Settings).Verdict);

    [Fact]
    public void A_fall_that_steepens_is_rejected_below_the_limit()
    {
        var r = TenDays(0, 0);
        for (var i = 0; i < r.TimeS.Length; i++) r.CellV[1][i] -= 0.00012 * Math.Pow(Math.Max(0, r.TimeS[i] / 86400 - 5), 2) / 2;
        var outcome = RestTest.Judge(r, Settings);
        Assert.True(outcome.Groups[1].Steepens);
        Assert.Equal(Verdict.Reject, outcome.Verdict);
    }

    [Fact]
    public void A_stuck_channel_is_refused_by_name()
    {
        var r = TenDays(0, 0);
        r.CellV[3].AsSpan().Fill(3.85);
        Assert.Contains(RestTest.Judge(r, Settings).Refused, s => s.Contains("group 4 repeats one value", StringComparison.Ordinal));
    }

    [Fact]
    public void On_a_flat_curve_no_leak_is_stated() =>
        Assert.Contains(RestTest.Judge(TenDays(1, 1) with { CurveMvPerPercent = 0.5 }, Settings).Refused, s => s.Contains("too flat", StringComparison.Ordinal));

    [SharedFact("data/ev_cell_rest_48h_a.csv")]
    public void Two_days_of_relaxation_give_no_leak_but_three_reasons()
    {
        var file = new MeasuredCsv("ev_cell_rest_48h_a.csv").Where("step", s => s == "6");
        var outcome = RestTest.Judge(new RestRecording(file["time_s"], [file["voltage_V"]], null, 8, 33.1), Settings);
        Assert.Equal(Verdict.Undecided, outcome.Verdict);
        Assert.Empty(outcome.Groups);
        foreach (var reason in new[] { "still relaxing", "no sibling to compare", "temperature not recorded" })
            Assert.Contains(outcome.Refused, r => r.StartsWith(reason, StringComparison.Ordinal));
        Assert.DoesNotContain("6.8", outcome.Sentence, StringComparison.Ordinal);
    }

    /// <summary>Six groups for ten days, a scan each 10 min, 0.4 mV/K common swing of a room that moves 3 K a day, relaxation in the first hours.</summary>
    private static RestRecording TenDays(double leakMvPerDay, int leaking, double noiseMv = 0.1)
    {
        var noise = new Noise(5);
        var times = Enumerable.Range(0, 10 * 144 + 1).Select(i => 600.0 * i).ToArray();
        var degC = times.Select(t => 20 + 1.5 * Math.Sin(2 * Math.PI * t / 86400)).ToArray();
        var cells = Enumerable.Range(0, 6).Select(g => times.Select((t, i) =>
            3.85 + 0.001 * g + 0.004 * Math.Exp(-t / 30000) + 0.0004 * (degC[i] - 20) + noiseMv / 1000 * noise.Next() - (g == leaking ? leakMvPerDay / 1000 * t / 86400 : 0)).ToArray()).ToArray();
        return new RestRecording(times, cells, degC, 8, 110);
    }
}
