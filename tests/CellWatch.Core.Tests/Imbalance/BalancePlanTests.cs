using System.Collections.Immutable;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Tests.Engine;

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
