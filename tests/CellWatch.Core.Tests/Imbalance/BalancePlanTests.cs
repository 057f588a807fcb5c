using System.Collections.Immutable;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Tests.Engine;
using CsCheck;

namespace CellWatch.Core.Tests.Imbalance;

public sealed class BalancePlanTests
{
    /// <summary>Check 9.4 of the battery-maths reference.</summary>
    private static readonly double[] AboveLowestAh = [0.00, 0.10, 0.25, 0.05, 0.60, 0.15, 0.00, 0.30, 0.20, 0.90, 0.12, 0.08];

    [Fact]
    public void Twelve_cells_are_done_after_7_24_hours_with_2_75_Ah_and_11_3_Wh()
    {
        var plan = BalancePlanner.Plan(Request(AboveLowestAh) with { SigmaAh = 0.001, Duty = 1 });
        Assert.Equal(7.243902, plan.Hours, 6);
        Assert.Equal(2.7500, plan.TotalAh, 6);
        Assert.Equal(11.2750, plan.HeatWh, 6);
        Assert.Equal(9, plan.Cells[0].Cell);
        Assert.Equal(0.90, plan.SpreadAh, 9);
        Assert.Equal(0, plan.ExpectedSpreadAh, 9);
    }

    [Fact]
    public void What_does_not_fit_into_a_night_stays_for_another()
    {
        var plan = BalancePlanner.Plan(Request(AboveLowestAh) with { SigmaAh = 0.001, Duty = 0.5 });
        Assert.Equal(10, plan.Hours);
        Assert.True(plan.Cells[0].LeftAh > 0.2);
        Assert.Contains("need another night", plan.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void A_front_end_whose_switches_do_not_open_by_themselves_is_never_asked_to_bleed_unattended()
    {
        var plan = BalancePlanner.Plan(Request(AboveLowestAh) with { SigmaAh = 0.001, TimesOutByItself = [.. Enumerable.Range(0, 12).Select(c => c < 6)] });
        Assert.DoesNotContain(plan.Cells, c => c.Cell >= 6);
        Assert.Contains("never bled unattended", Assert.Single(plan.Withheld), StringComparison.Ordinal);
    }

    [Fact]
    public void A_front_end_that_is_silent_or_says_nothing_of_a_time_out_counts_as_one_without()
    {
        var bench = new PackBench(modules: 4);
        FrontEndHealth Board(string name, int module, LinkState state, double? timeOutS) => new()
        {
            Name = name,
            Wire = "text lines",
            Port = name,
            State = state,
            BleedTimeoutS = timeOutS,
            Channels = [.. Enumerable.Range(6 * module, 6)],
        };
        var told = BleedTimeOuts.Of(bench.Map, [Board("1", 0, LinkState.Alive, 60), Board("2", 1, LinkState.Alive, null), Board("3", 2, LinkState.Silent, 60)]);
        Assert.Equal(Enumerable.Range(0, 24).Select(c => c < 6), told);

        // A second board that carries the switches of module 1 and has no time-out takes them out too.
        var second = new FrontEndHealth { Name = "4", Wire = "serial CAN", Port = "4", State = LinkState.Alive, Channels = [.. Enumerable.Range(bench.Map.FirstBleed, 3)] };
        Assert.Equal(Enumerable.Range(0, 24).Select(c => c is >= 3 and < 6), BleedTimeOuts.Of(bench.Map, [Board("1", 0, LinkState.Alive, 60), second]));
        Assert.DoesNotContain(true, BleedTimeOuts.Of(bench.Map, []));
    }

    [Fact]
    public void Whatever_differs_no_cell_without_a_time_out_is_ever_planned() =>
        Gen.Double[-2, 2].Array[12].Select(Gen.Bool.Array[12]).Sample(
            (difference, opens) =>
            {
                var plan = BalancePlanner.Plan(Request(difference) with { TimesOutByItself = [.. opens] });
                return plan.Cells.All(c => opens[c.Cell] && c.RemoveAh > 0 && c.Hours <= 10);
            },
            iter: 500, threads: 1);

    [Fact]
    public void A_cell_far_below_all_others_is_topped_up_by_itself_and_not_followed_by_all()
    {
        var low = (double[])AboveLowestAh.Clone();
        low[6] = -3;
        var plan = BalancePlanner.Plan(Request(low) with { Duty = 1 });
        Assert.Equal("B01.7: 3.0 Ah below the median, far from all others: top it up by itself and find out why, instead of bleeding all others down to it.", PackBench.Plain(Assert.Single(plan.LeftAlone)));
        Assert.Equal(0.90, plan.Cells[0].RemoveAh, 9);
        Assert.Equal(0.90, plan.SpreadAh, 9);
    }

    [Fact]
    public void A_cell_that_bleeding_does_not_cure_is_left_alone_with_its_reason()
    {
        var plan = BalancePlanner.Plan(Request(AboveLowestAh) with { Duty = 1, LeftAlone = new Dictionary<int, string> { [9] = "less capacity" }.ToImmutableDictionary() });
        Assert.DoesNotContain(plan.Cells, c => c.Cell == 9);
        Assert.Equal("B01.10: less capacity.", Assert.Single(plan.LeftAlone));
        Assert.Equal(0.60, plan.SpreadAh, 9);
    }

    [Fact]
    public void Another_level_than_the_one_the_pack_is_kept_at_is_planned_with_a_caution()
    {
        var plan = BalancePlanner.Plan(Request(AboveLowestAh) with { LevelPercent = 60, ReferencePercent = 60 });
        Assert.NotEmpty(plan.Cells);
        Assert.StartsWith("This pack is kept level at 95 %.", PackBench.Plain(plan.Caution), StringComparison.Ordinal);
        Assert.Empty(BalancePlanner.Plan(Request(AboveLowestAh)).Caution);
    }

    [Fact]
    public void A_cell_at_its_floor_is_not_planned()
    {
        var plan = BalancePlanner.Plan(Request(AboveLowestAh) with { CellVoltageV = [.. Enumerable.Range(0, 12).Select(c => c == 9 ? 3.6 : 3.7)] });
        Assert.DoesNotContain(plan.Cells, c => c.Cell == 9);
        Assert.Equal("1 cell at or below the floor of 3.600 V: not bled.", PackBench.Plain(Assert.Single(plan.Withheld)));
    }

    [Fact]
    public void Odd_and_even_cells_of_a_plan_are_those_the_schedule_lets_bleed_in_turn()
    {
        var bench = new PackBench(modules: 1, series: 12);
        bench.Run(2);
        var schedule = new BleedSchedule();
        foreach (var row in BalancePlanner.Plan(Request(AboveLowestAh)).Cells)
        {
            Assert.Equal(row.OddTurn, schedule.MayBleed(bench.State.Snapshot, row.Cell, 0.5 * schedule.TurnS, 0, 1, 30).May);
            Assert.Equal(!row.OddTurn, schedule.MayBleed(bench.State.Snapshot, row.Cell, 1.5 * schedule.TurnS, 0, 1, 30).May);
        }
    }

    [Fact]
    public void Under_current_and_for_half_an_hour_after_no_night_is_planned()
    {
        var bench = new PackBench(modules: 3);
        var model = new ModelPack(bench, 0.95, seed: 8) { ChargeA = -20 };
        model.Run(120);
        BalancePlan Asked() => bench.Engine.PlanBalance(bench.State.Snapshot, [.. Enumerable.Repeat(true, 18)], new BleedSchedule());
        Assert.StartsWith("The pack is not at rest. A night is planned after 30 min of rest", PackBench.Plain(Asked().Sentence), StringComparison.Ordinal);
        model.ChargeA = 0;
        model.Run(1200, dtS: 10);
        Assert.StartsWith("The pack has rested for ", Asked().Sentence, StringComparison.Ordinal);
        Assert.Empty(Asked().Cells);
    }

    [Fact]
    public void Away_from_the_reference_level_nothing_is_planned()
    {
        var plan = BalancePlanner.Plan(Request(AboveLowestAh) with { LevelPercent = 60 });
        Assert.Empty(plan.Cells);
        Assert.StartsWith("The pack is at 60 %. It is balanced at 95 %", PackBench.Plain(plan.Sentence), StringComparison.Ordinal);
    }

    [Fact]
    public void A_cell_that_cannot_be_told_leaves_no_lowest_to_go_down_to()
    {
        var unknown = (double[])AboveLowestAh.Clone();
        unknown[3] = double.NaN;
        Assert.Equal("1 cell cannot be told in Ah here, so there is no lowest to go down to.", BalancePlanner.Plan(Request(unknown)).Sentence);
    }

    [Fact]
    public void Odd_and_even_cells_take_turns_with_a_window_to_measure_and_never_unseen_hot_or_low()
    {
        var bench = new PackBench(modules: 1);
        bench.Run(2);
        var schedule = new BleedSchedule(PeriodS: 600, MeasureS: 60, FloorV: 3.6);
        var snapshot = bench.State.Snapshot;
        Assert.Equal((true, ""), schedule.MayBleed(snapshot, 0, 10, 0, 1, 40));
        Assert.Equal((false, "its neighbours' turn"), schedule.MayBleed(snapshot, 1, 10, 0, 1, 40));
        Assert.Equal((true, ""), schedule.MayBleed(snapshot, 1, 300, 0, 1, 40));
        Assert.Equal((false, "measuring"), schedule.MayBleed(snapshot, 0, 560, 0, 1, 40));
        Assert.Equal((false, "done"), schedule.MayBleed(snapshot, 0, 10, 1, 1, 40));
        Assert.Equal((false, "the board is hot"), schedule.MayBleed(snapshot, 0, 10, 0, 1, 70));
        Assert.Equal((false, "the board's temperature is not known"), schedule.MayBleed(snapshot, 0, 10, 0, 1, null));
        Assert.Equal(0.45, schedule.Duty, 12);

        bench.CellV[0] = 3.55;
        bench.Lose([2]);
        bench.Run(16);
        Assert.Equal((false, "at its floor"), schedule.MayBleed(bench.State.Snapshot, 0, 10, 0, 1, 40));
        Assert.Equal((false, "not seen"), schedule.MayBleed(bench.State.Snapshot, 2, 10, 0, 1, 40));
    }

    /// <summary>From the engine's own figures: charge in Ah at rest near the top, low capacity left alone.</summary>
    [Fact]
    public void The_engine_plans_a_night_from_its_own_figures()
    {
        var bench = new PackBench(modules: 3);
        var model = new ModelPack(bench, 0.95, seed: 8);
        model.Level[4] += 0.02;
        model.Run(3600, dtS: 10);
        var plan = bench.Engine.PlanBalance(bench.State.Snapshot, [.. Enumerable.Repeat(true, 18)], new BleedSchedule());
        Assert.Equal(4, plan.Cells[0].Cell);
        // 2 % of 110 Ah above the others, and those above the lowest by what cells of one make differ.
        Assert.InRange(plan.Cells[0].RemoveAh + plan.Cells[0].LeftAh, 2.0, 3.2);
        Assert.True(plan.Hours <= 10 && plan.ExpectedSpreadAh < plan.SpreadAh);

        var none = bench.Engine.PlanBalance(bench.State.Snapshot, [.. Enumerable.Repeat(false, 18)], new BleedSchedule());
        Assert.Empty(none.Cells);
    }

    private static BalanceRequest Request(double[] aboveLowestAh) => new()
    {
        Layout = new PackLayout("petrel", [new PackModule(new ModuleId("B01"), new ModuleTopology(12, 1), 2, 1)]),
        DifferenceAh = [.. aboveLowestAh],
        CellVoltageV = [.. Enumerable.Repeat(4.1, 12)],
        LevelPercent = 95,
        TimesOutByItself = [.. Enumerable.Repeat(true, 12)],
    };
}
