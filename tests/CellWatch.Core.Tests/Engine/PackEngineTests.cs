using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;

namespace CellWatch.Core.Tests.Engine;

public sealed class PackEngineTests
{
    [Fact]
    public void A_good_pack_at_rest_raises_nothing_and_names_its_widest_cell()
    {
        var bench = new PackBench();
        bench.CellV[bench.Cell("B07.3")] -= 0.005;
        var state = bench.Run(200);

        Assert.Empty(state.Alarms);
        Assert.Equal(StateWord.Normal, state.Verdict.State);
        Assert.StartsWith("All 108 cells known. Widest: B07.3, 5 mV low", PackBench.Plain(state.Verdict.Sentence));
        Assert.Equal(PackMode.Rest, state.Summary.Mode);
        Assert.Equal(108, state.Summary.KnownCells);
        Assert.Equal(108 * 3.9 - 0.005, state.Summary.SumV!.Value, 9);
    }

    [Theory]
    [InlineData(-0.03, "See why B07.3 is low before the others are bled down to it: Night review names the test.")]
    [InlineData(0.03, "Plan a balancing night.")]
    public void A_cell_that_lies_low_at_rest_asks_for_its_cause_and_one_that_lies_high_for_balancing(double offV, string doFirst)
    {
        var bench = new PackBench();
        bench.CellV[bench.Cell("B07.3")] += offV;
        var state = bench.Run(200);

        Assert.All(state.Alarms.Where(a => a.Rule is "spread-warn" or "spread-charge-warn"), a => Assert.Equal(doFirst, a.DoFirst));
        Assert.Contains(state.Alarms, a => a.Rule == "spread-warn");
    }

    [Fact]
    public void A_cell_lowest_under_load_that_held_more_charge_at_rest_is_told_in_volts_alone()
    {
        var bench = new PackBench();
        var cell = bench.Cell("B07.3");
        bench.CellV[cell] += 0.006;
        var rested = bench.Run(7200, 10);
        Assert.True(rested.Summary.SpreadAh > 0.1);
        Assert.Contains("Ah)", rested.Verdict.Sentence, StringComparison.Ordinal);
        Assert.EndsWith("Ah", rested.StandsOut.Single(r => r.Cell == cell).Figure, StringComparison.Ordinal);

        bench.CurrentA = -30;
        bench.CellV[cell] -= 0.026;
        var loaded = bench.Run(20);
        Assert.Equal(cell, loaded.Summary.LowestCell);
        Assert.True(loaded.ChargeDifferenceAh[cell] > 0);
        Assert.Null(loaded.Summary.SpreadAh);
        Assert.EndsWith("B07.3, 20 mV low.", PackBench.Plain(loaded.Verdict.Sentence));
        Assert.Equal("-20 mV", PackBench.Plain(loaded.StandsOut.Single(r => r.Cell == cell).Figure));
    }

    [Fact]
    public void A_bleeding_cell_is_shown_but_kept_out_of_the_spread()
    {
        var bench = new PackBench();
        var cell = bench.Cell("B02.4");
        bench.CellV[cell] = 3.84;
        bench.Bleeding.Add(cell);
        var state = bench.Run(5);

        Assert.Equal(StateWord.Bleeding, state.CellStates[cell]);
        Assert.Equal(0, state.Summary.SpreadV!.Value, 9);
    }

    [Fact]
    public void The_sum_is_not_told_while_one_cell_is_unseen()
    {
        var bench = new PackBench();
        bench.Run(3);
        bench.Lose([5]);
        var state = bench.Run(6);

        Assert.Null(state.Summary.SumV);
        Assert.Equal(107, state.Summary.KnownCells);
        Assert.Equal(StateWord.NoData, state.CellStates[5]);
        Assert.Equal(StateWord.NoData, state.Verdict.State);
    }

    [Fact]
    public void Two_amperes_for_a_moment_are_not_a_charge()
    {
        var bench = new PackBench();
        bench.Run(10);
        bench.CurrentA = 2;
        Assert.Equal(PackMode.Rest, bench.Run(1).Summary.Mode);
        bench.CurrentA = 0;
        Assert.Equal(PackMode.Rest, bench.Run(10).Summary.Mode);
        bench.CurrentA = 2;
        Assert.Equal(PackMode.Charging, bench.Run(4).Summary.Mode);
    }

    [Fact]
    public void Thirty_six_cells_lost_during_a_charge_are_an_act_now_within_five_seconds()
    {
        var bench = new PackBench(options: new EngineOptions
        {
            HandCutOff = "red button on the station",
            CapacityAh = 110,
            Instruments = [new("instrument 1", [.. Enumerable.Range(0, 36)]), new("instrument 2", [.. Enumerable.Range(36, 36)]), new("instrument 3", [.. Enumerable.Range(72, 36)])],
        });
        bench.CurrentA = 60;
        bench.Run(30);
        bench.Lose(Enumerable.Range(36, 36));
        var state = bench.Run(5);

        Assert.Equal(StateWord.ActNow, state.Verdict.State);
        Assert.Equal("STOP THE CHARGE NOW: red button on the station. No data from instrument 2 for 5 s: 36 cells unseen.", PackBench.Plain(state.Verdict.Sentence));
        Assert.All(Enumerable.Range(36, 36), cell => Assert.Equal(StateWord.NoData, state.CellStates[cell]));
        var alarm = state.Alarms[0];
        Assert.Equal(("no-data.instrument-2", AlarmPriority.High, "NO DATA"), (alarm.Id, alarm.Priority, alarm.Word));

        bench.Lost.Clear();
        Assert.Equal(StateWord.Normal, bench.Run(10).Verdict.State);
    }

    [Fact]
    public void Without_a_cell_type_there_are_no_limits_and_the_page_says_so()
    {
        var bench = new PackBench(noCellType: true);
        bench.AllCells(4.3);
        bench.CurrentA = 20;
        var state = bench.Run(10);

        Assert.Null(state.Charge);
        Assert.Contains("Choose the cell type first.", state.Verdict.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void No_instrument_at_all_is_said_in_words()
    {
        var bench = new PackBench();
        bench.Buffer.Begin(1, bench.Time);
        bench.Engine.Step(bench.Buffer);
        Assert.Equal("No instrument is connected. Connect one on Instruments, or start the simulated pack.", bench.Publish().Verdict.Sentence);
    }
}
