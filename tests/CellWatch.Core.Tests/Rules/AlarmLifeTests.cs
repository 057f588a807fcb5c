using CellWatch.Core.Commands;
using CellWatch.Core.Rules;
using CellWatch.Core.Tests.Engine;

namespace CellWatch.Core.Tests.Rules;

/// <summary>
/// Every row of the transition table (battery-maths 15.2: transitions as printed in a public guide to ISA-18.2 and in OPC 10000-9;
/// judging afresh on leaving shelved, suppressed and out of service is this program's rule).
/// </summary>
public sealed class AlarmLifeTests
{
    private const string Id = "some.B01.1";

    [Fact]
    public void Plain_life_active_seen_gone()
    {
        var bench = Bench(latching: false);
        Assert.Null(bench.Alarm(Id));
        Assert.Equal(AlarmState.Unacknowledged, Raise(bench));
        Assert.True(bench.Do(new AcknowledgeAlarm(Id, "Ann")).Accepted);
        Assert.Equal(AlarmState.Acknowledged, State(bench));
        Assert.Equal("Ann", bench.Alarm(Id)!.SeenBy);
        Assert.Null(Clear(bench));
        Assert.Equal(
            [(AlarmState.Normal, AlarmState.Unacknowledged), (AlarmState.Unacknowledged, AlarmState.Acknowledged), (AlarmState.Acknowledged, AlarmState.Normal)],
            bench.Transitions.Select(t => (t.From, t.To)));
    }

    [Fact]
    public void Gone_before_it_was_seen_waits_to_be_seen()
    {
        var bench = Bench(latching: false);
        Raise(bench);
        Assert.Equal(AlarmState.ReturnedUnacknowledged, Clear(bench));
        Assert.True(bench.Do(new AcknowledgeAlarm(Id, "Ann")).Accepted);
        Assert.Null(State(bench));
    }

    [Fact]
    public void Back_again_before_it_was_seen_is_counted_as_a_new_occurrence()
    {
        var bench = Bench(latching: false);
        Raise(bench);
        Clear(bench);
        Assert.Equal(AlarmState.Unacknowledged, Raise(bench));
        Assert.Equal(2, bench.Alarm(Id)!.Count);
    }

    [Fact]
    public void A_latching_alarm_is_held_until_seen_and_reset()
    {
        var bench = Bench(latching: true);
        Raise(bench);
        Assert.False(bench.Do(new ResetAlarm(Id, "Ann")).Accepted);
        Assert.Equal(AlarmState.LatchedUnacknowledged, Clear(bench));
        Assert.False(bench.Do(new ResetAlarm(Id, "Ann")).Accepted);
        bench.Do(new AcknowledgeAlarm(Id, "Ann"));
        Assert.Equal(AlarmState.LatchedAcknowledged, State(bench));
        Assert.True(bench.Do(new ResetAlarm(Id, "Ann")).Accepted);
        Assert.Null(State(bench));
    }

    [Fact]
    public void A_latching_alarm_that_was_seen_is_held_when_its_condition_goes()
    {
        var bench = Bench(latching: true);
        Raise(bench);
        bench.Do(new AcknowledgeAlarm(Id, "Ann"));
        Assert.Equal(AlarmState.LatchedAcknowledged, Clear(bench));
        Assert.Equal(AlarmState.Unacknowledged, Raise(bench));
    }

    [Fact]
    public void Shelving_needs_a_reason_a_time_of_at_most_eight_hours_and_is_never_for_the_most_urgent()
    {
        var bench = Bench(latching: false);
        Raise(bench);
        Assert.False(bench.Do(new ShelveAlarm(Id, 30, " ", "Ann")).Accepted);
        Assert.False(bench.Do(new ShelveAlarm(Id, 481, "moving bench", "Ann")).Accepted);
        Assert.False(bench.Do(new ShelveAlarm(Id, 30, "moving bench", "")).Accepted);
        Assert.True(bench.Do(new ShelveAlarm(Id, 30, "moving bench", "Ann")).Accepted);
        Assert.Equal(AlarmState.Shelved, State(bench));
        Assert.Equal("moving bench", bench.Alarm(Id)!.ShelvedReason);

        var urgent = Bench(latching: true, AlarmPriority.High);
        Raise(urgent);
        Assert.False(urgent.Do(new ShelveAlarm(Id, 30, "moving bench", "Ann")).Accepted);
        Assert.False(urgent.Do(new SetOutOfService(Id, true, "moving bench", "Ann")).Accepted);
    }

    [Theory]
    [InlineData(false, true, AlarmState.Unacknowledged)]
    [InlineData(false, false, null)]
    [InlineData(true, true, AlarmState.Unacknowledged)]
    [InlineData(true, false, AlarmState.LatchedAcknowledged)]
    public void When_shelving_ends_it_is_judged_afresh(bool latching, bool stillThere, AlarmState? expected)
    {
        var bench = Bench(latching);
        Raise(bench);
        bench.Do(new ShelveAlarm(Id, 1, "moving bench", "Ann"));
        if (!stillThere) bench.CellV[0] = 4.15;
        bench.Run(30);
        Assert.Equal(AlarmState.Shelved, State(bench));
        bench.Run(31);
        Assert.Equal(expected, State(bench));
    }

    [Fact]
    public void A_shelved_alarm_that_becomes_one_of_the_most_urgent_comes_back_by_itself()
    {
        var bench = new PackBench();
        bench.Run(10);
        bench.Lose([0]);
        bench.Run(6);
        Assert.True(bench.Do(new ShelveAlarm("no-data.B01", 60, "board on the bench", "Ann")).Accepted);
        bench.Run(3);
        Assert.Equal(AlarmState.Shelved, bench.Alarm("no-data.B01")!.State);
        bench.CurrentA = 20;
        bench.Run(6);
        Assert.Equal((AlarmState.Unacknowledged, AlarmPriority.High), (bench.Alarm("no-data.B01")!.State, bench.Alarm("no-data.B01")!.Priority));
    }

    [Fact]
    public void Unshelving_takes_it_back_at_once()
    {
        var bench = Bench(latching: false);
        Raise(bench);
        bench.Do(new ShelveAlarm(Id, 60, "moving bench", "Ann"));
        Assert.True(bench.Do(new UnshelveAlarm(Id, "Ben")).Accepted);
        Assert.Equal(AlarmState.Unacknowledged, State(bench));
    }

    [Fact]
    public void Out_of_service_is_silent_until_it_is_returned()
    {
        var bench = Bench(latching: false);
        Raise(bench);
        Assert.True(bench.Do(new SetOutOfService(Id, true, "lead being mended", "Ann")).Accepted);
        Clear(bench);
        Raise(bench);
        Assert.Equal(AlarmState.OutOfService, State(bench));
        Assert.True(bench.Do(new SetOutOfService(Id, false, "", "Ann")).Accepted);
        Assert.Equal(AlarmState.Unacknowledged, State(bench));
    }

    [Fact]
    public void The_stronger_alarm_suppresses_the_weaker_by_design_and_it_is_judged_afresh_after()
    {
        var bench = new PackBench();
        bench.CurrentA = 20;
        bench.AllCells(4.09);
        bench.CellV[0] = 4.16;
        bench.Run(10);
        Assert.Equal(AlarmState.Unacknowledged, bench.Alarm("cell-high-warn.B01.1")!.State);
        bench.CellV[0] = 4.21;
        bench.Run(3);
        Assert.Equal(AlarmState.Suppressed, bench.Alarm("cell-high-warn.B01.1")!.State);
        bench.CellV[0] = 4.16;
        bench.Run(10);
        Assert.Equal(AlarmState.Unacknowledged, bench.Alarm("cell-high-warn.B01.1")!.State);
        Assert.Equal(AlarmState.LatchedUnacknowledged, bench.Alarm("cell-high.B01.1")!.State);
    }

    [Fact]
    public void Cells_over_one_limit_are_grouped_under_the_most_urgent()
    {
        var bench = new PackBench();
        bench.CurrentA = 20;
        bench.AllCells(4.09);
        bench.Run(5);
        for (var cell = 0; cell < 5; cell++) bench.CellV[cell] = 4.205;
        var state = bench.Run(3);
        var leader = state.Alarms[0];
        Assert.Equal("cell-high", leader.Rule);
        Assert.True(leader.Grouped >= 4);
        Assert.All(state.Alarms.Skip(1), a => Assert.Equal(leader.Id, a.GroupedUnder));
    }

    [Fact]
    public void Instruments_and_the_current_that_fall_silent_at_once_have_one_cause()
    {
        var bench = new PackBench(modules: 3);
        bench.CurrentA = 20;
        bench.Run(60);
        bench.Lose(Enumerable.Range(0, bench.Map.CellCount).Append(bench.Map.PackCurrent));
        var silent = bench.Run(12).Alarms.Where(a => a.Rule is "no-data" or "no-current").ToList();
        Assert.Equal(4, silent.Count);
        var leader = Assert.Single(silent, a => a.GroupedUnder.Length == 0);
        Assert.Equal(3, leader.Grouped);
        Assert.EndsWith("3 instruments and the current fell silent at once: look at the computer, the hub or the supply first. Until they are read again: no charge, no load.", leader.DoFirst, StringComparison.Ordinal);
        Assert.StartsWith("Use your hand cut-off: red button on the station.", leader.DoFirst, StringComparison.Ordinal);
        Assert.DoesNotContain("lead of", leader.DoFirst, StringComparison.Ordinal);
    }

    [Fact]
    public void Instruments_that_fall_silent_one_after_the_other_are_causes_of_their_own()
    {
        var bench = new PackBench(modules: 3);
        bench.Run(5);
        bench.Lose(Enumerable.Range(0, 6));
        bench.Run(3);
        bench.Lose(Enumerable.Range(6, 6));
        var silent = bench.Run(12).Alarms.Where(a => a.Rule == "no-data").ToList();
        Assert.Equal(2, silent.Count);
        Assert.All(silent, a => Assert.Equal((0, "", "lead pulled, supply gone or wire broken"), (a.Grouped, a.GroupedUnder, a.LikelyCause)));
    }

    [Fact]
    public void One_of_many_that_fell_silent_is_seen_and_the_others_still_ask()
    {
        var bench = new PackBench(modules: 3);
        bench.Run(5);
        bench.Lose(Enumerable.Range(0, bench.Map.CellCount));
        var first = bench.Run(12).Alarms.First(a => a.Rule == "no-data" && a.GroupedUnder.Length == 0);
        bench.Do(new AcknowledgeAlarm(first.Id, "Ann"));
        var leader = Assert.Single(bench.Run(1).Alarms, a => a.Rule == "no-data" && a.GroupedUnder.Length == 0);
        Assert.Equal((AlarmState.Unacknowledged, 2, "3 instruments fell silent at once: look at the computer, the hub or the supply first. Until they are read again: no charge, no load."), (leader.State, leader.Grouped, leader.DoFirst));
        Assert.NotEqual(first.Id, leader.Id);
    }

    [Fact]
    public void An_unknown_alarm_is_refused_in_words() =>
        Assert.Equal((false, "There is no alarm 'cell-high.B99.1'."), (Bench(false).Do(new AcknowledgeAlarm("cell-high.B99.1", "Ann")) is var a ? (a.Accepted, a.Message) : default));

    /// <summary>Check 15.3: three within 60 s chatter; eleven in a half-open window of ten minutes that holds ten are no flood.</summary>
    [Fact]
    public void Activations_at_0_20_45_90_and_300_s_are_chattering()
    {
        var bench = Bench(latching: false);
        bench.Run(1000, each: t => bench.CellV[0] = t is 500 or 520 or 545 or 590 or 800 ? 4.25 : 4.15);
        Assert.Equal(Id, Assert.Single(bench.State.AlarmFigures.Chattering));
        Assert.Equal(5, bench.State.AlarmFigures.InDay);
        Assert.Equal(new AlarmRepeat(Id, 5), Assert.Single(bench.State.AlarmFigures.Repeaters));
        Assert.Equal(5, bench.State.AlarmFigures.Medium);
    }

    [Fact]
    public void Eleven_activations_spread_over_ten_minutes_are_no_flood_and_one_more_is()
    {
        var bench = Bench(latching: false);
        bench.Run(1100, each: t => bench.CellV[0] = (t - 500) % 60 == 0 && t is >= 500 and <= 1100 ? 4.25 : 4.15);
        Assert.Equal((10, false), (bench.State.AlarmFigures.InTenMinutes, bench.State.AlarmFigures.Flood));
        bench.Run(10, each: t => bench.CellV[0] = t is 1105 ? 4.25 : 4.15);
        Assert.Equal((11, true), (bench.State.AlarmFigures.InTenMinutes, bench.State.AlarmFigures.Flood));
        bench.Run(350);
        Assert.True(bench.State.AlarmFigures.Flood, "a flood lasts until fewer than five are left in ten minutes");
        bench.Run(120);
        Assert.False(bench.State.AlarmFigures.Flood);
    }

    [Fact]
    public void An_alarm_active_for_more_than_a_day_is_long_standing()
    {
        var bench = Bench(latching: false);
        bench.CellV[0] = 4.25;
        bench.Run(86_400 + 120, dtS: 60);
        Assert.Equal(Id, Assert.Single(bench.State.AlarmFigures.LongStanding));
    }

    private static PackBench Bench(bool latching, AlarmPriority priority = AlarmPriority.Medium)
    {
        var bench = new PackBench(modules: 1, series: 1, rules: new RuleTable([new Rule
        {
            Name = "some", Quantity = Quantity.CellVoltage, Limit = 4.2, Deadband = 0.02, Priority = priority, Latching = latching,
            Message = "{place} {value}", DoFirst = "Look.",
        }]));
        bench.CellV[0] = 4.15;
        bench.Run(1);
        return bench;
    }

    private static AlarmState? Raise(PackBench bench)
    {
        bench.CellV[0] = 4.25;
        return bench.Run(1).Alarms.FirstOrDefault()?.State;
    }

    private static AlarmState? Clear(PackBench bench)
    {
        bench.CellV[0] = 4.15;
        return bench.Run(1).Alarms.FirstOrDefault()?.State;
    }

    private static AlarmState? State(PackBench bench)
    {
        bench.Publish();
        return bench.State.Alarms.FirstOrDefault()?.State;
    }
}
