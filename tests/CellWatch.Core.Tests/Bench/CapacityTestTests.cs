using CellWatch.Core.Bench;
using CellWatch.Testing;

namespace CellWatch.Core.Tests.Bench;

/// <summary>Measured discharges and their independently computed answers (shared/data/reference_answers.csv).</summary>
public class CapacityTestTests
{
    [SharedTheory("data/ev_string6_discharge_0p3C.csv")]
    [InlineData("ev_string6_discharge_0p3C.csv", 54.901, 3.226)]
    [InlineData("ev_string6_discharge_2C.csv", 55.398, 3.177)]
    [InlineData("ev_string6_discharge_2p75C.csv", 54.879, 3.159)]
    public void One_weak_group_ends_the_discharge(string name, double outAh, double nextV)
    {
        var outcome = CapacityTest.Judge(Six(name), new CapacitySettings { RatedAh = 65 });
        Assert.Equal(outAh, outcome.ModuleAh.Value, 0.01);
        Assert.Equal(1, outcome.EndedBy);
        Assert.Equal(nextV, outcome.Groups.Where(g => g.Cell != 1).Min(g => g.EndV), 0.0015);
        Assert.Contains("Group 1 ended it", outcome.Sentence, StringComparison.Ordinal);
        Assert.Contains("Low capacity, not high resistance, makes group 1 weak", outcome.Cause, StringComparison.Ordinal);
        Assert.Null(outcome.SenseFault);
        Assert.All(outcome.Groups.Where(g => g.Cell != 1), g =>
        {
            Assert.InRange(g.RemainingAh.Value, 0.3, 8);
            Assert.InRange(g.RemainingAh.Sigma, 0.01, 0.5 * g.RemainingAh.Value);
        });
    }

    [SharedFact("data/ev_string6_discharge_0p3C.csv")]
    public void Ten_second_resistances_agree_with_the_independent_figures()
    {
        var outcome = CapacityTest.Judge(Six("ev_string6_discharge_0p3C.csv"), new CapacitySettings { RatedAh = 65 });
        double[] expected = [1.077, 1.282, 1.231, 1.128, 1.282, 1.333];
        for (var g = 0; g < 6; g++) Assert.Equal(expected[g], outcome.Groups[g].Resistance10sMilliohm, 0.002);
        Assert.Equal(54.90, outcome.TesterAh, 3);
    }

    [SharedFact("data/ev_string6_discharge_2C.csv")]
    public void The_order_of_the_six_groups_is_the_same_at_three_rates()
    {
        var orders = new[] { "0p3C", "2C", "2p75C" }.Select(r =>
            CapacityTest.Judge(Six($"ev_string6_discharge_{r}.csv"), new CapacitySettings { RatedAh = 65 }).Groups.OrderBy(g => g.CapacityAh.Value).Take(2).Select(g => g.Cell).ToArray()).ToList();
        Assert.All(orders, o => Assert.Equal([1, 4], o));
    }

    [SharedFact("data/ev_cell_C15_cycle_a.csv")]
    public void A_sense_lead_that_carries_current_is_not_printed_as_resistance()
    {
        var file = new MeasuredCsv("ev_cell_C15_cycle_a.csv");
        var outcome = CapacityTest.Judge(
            new DischargeRecording(file["time_s"], file["current_A"], [file["voltage_V"]], null, null), new CapacitySettings { RatedAh = 33.1 });
        var (low, high) = outcome.SenseFault!;
        Assert.InRange(low, 111, 114);
        Assert.InRange(high, 123, 127);
        Assert.Contains("not believable", outcome.Sentence, StringComparison.Ordinal);
        Assert.Contains("sense connection", outcome.Sentence, StringComparison.Ordinal);
        Assert.False(outcome.IsFit);
    }

    [SharedFact("data/pouch_rate_25C_part1_clock_fault.csv")]
    public void Three_rows_at_time_zero_are_marked_and_kept_and_not_used()
    {
        var file = new MeasuredCsv("pouch_rate_25C_part1_clock_fault.csv");
        var outcome = CapacityTest.Judge(
            new DischargeRecording(file["time_s"], file["current_A"], [file["voltage_V"]], file["temp1_degC"], null), new CapacitySettings { RatedAh = 6.55 });
        Assert.Equal(3, outcome.ClockBackRows.Count);
        Assert.Equal(7.280, outcome.ModuleAh.Value, 0.0006);
        Assert.Contains("clock stepped back", outcome.Sentence, StringComparison.Ordinal);
        Assert.Contains(outcome.Fitness, f => f.Name == "time forward" && !f.Fit);
    }

    [Fact]
    public void A_discharge_that_no_group_ended_is_not_a_capacity()
    {
        var times = Enumerable.Range(0, 100).Select(i => 10.0 * i).ToArray();
        var outcome = CapacityTest.Judge(
            new DischargeRecording(times, [.. times.Select((_, i) => i == 0 ? 0.0 : -37)], [[.. times.Select(t => 3.9 - t / 1e4)]], [.. times.Select(_ => 25.0)], null), new CapacitySettings());
        Assert.Equal(0, outcome.EndedBy);
        Assert.False(outcome.IsFit);
        Assert.Empty(outcome.Groups);
    }

    private static DischargeRecording Six(string name)
    {
        var file = new MeasuredCsv(name);
        return new DischargeRecording(file["time_s"], file["current_A"], [.. Enumerable.Range(1, 6).Select(i => file[$"cell{i}_V"])], file["temp2_degC"], file["tester_Ah"]);
    }
}
