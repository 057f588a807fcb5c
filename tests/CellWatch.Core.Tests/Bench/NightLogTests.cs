using System.Collections.Immutable;
using CellWatch.Core.Bench;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Tests.Engine;

namespace CellWatch.Core.Tests.Bench;

/// <summary>Planned, counted and seen over one night (the-job 15).</summary>
public sealed class NightLogTests
{
    private static readonly RestConditions Rest = new(true, 45, 20);

    [Fact]
    public void What_was_planned_and_what_was_counted_agree_when_nothing_is_missing()
    {
        var (bench, plan, log) = Night();
        bench.Bleeding.Add(2);
        Pass(bench, log, hours: 8);

        var night = log.Close(Deviations(1.0), Deviations(0.01), Rest, Rest, 0);

        // 4.1 V over 33 ohm for eight hours.
        Assert.Equal(4.1 / 33 * 8, night.IntegratedAh[2], 2);
        Assert.Equal(plan.Cells[0].RemoveAh, night.PlannedAh[2], 9);
        Assert.Equal(0, night.IntegratedAh[0]);
        Assert.Empty(night.Gaps);
        Assert.Equal(8, night.Hours, 1);
        var cell = NightReview.Of(Names, [night], null, new NightRules()).Cells.Single();
        Assert.True(cell.Agree);
        Assert.InRange(cell.SeenSigmaAh, 0.06, 0.08);
        Assert.InRange(cell.IntegratedSigmaAh, 0.04, 0.06);
    }

    /// <summary>Story 14: the host slept from two to five.</summary>
    [Fact]
    public void A_hole_in_the_record_is_not_filled_in_and_is_no_reason_to_bleed_more()
    {
        var (bench, _, log) = Night();
        bench.Bleeding.Add(2);
        Pass(bench, log, hours: 2);
        var seenAh = log.MostTakenAh(2);
        bench.Run(3 * 3600, dtS: 3 * 3600);
        log.Step(bench.State.Snapshot);

        var night = log.Close(Deviations(1.0), Deviations(0.4), Rest, Rest, 0);

        Assert.True(double.IsNaN(night.IntegratedAh[2]));
        Assert.Equal(0, night.IntegratedAh[0]);
        Assert.Matches("^0[0-9]:.*-0[0-9]:.*, no record$", Assert.Single(night.Gaps));
        // It may have bled all the time: the plan counts that as taken.
        Assert.Equal(seenAh + 4.1 / 33 * 3, log.MostTakenAh(2), 2);
        var cell = NightReview.Of(Names, [night], null, new NightRules()).Cells.Single();
        Assert.Null(cell.Agree);
        Assert.True(double.IsNaN(cell.IntegratedSigmaAh));
    }

    [Fact]
    public void A_cell_that_bleeds_unseen_leaves_a_hole_of_its_own()
    {
        var (bench, _, log) = Night();
        bench.Bleeding.Add(2);
        bench.Bleeding.Add(4);
        Pass(bench, log, hours: 1);
        bench.Lose([2]);
        Pass(bench, log, hours: 1);
        var night = log.Close(Deviations(1.0), Deviations(0.8), Rest, Rest, 0);
        Assert.True(double.IsNaN(night.IntegratedAh[2]));
        Assert.Equal(4.1 / 33 * 2, night.IntegratedAh[4], 2);
        Assert.Empty(night.Gaps);
    }

    [Fact]
    public void Half_an_ampere_hour_in_two_nights_without_less_being_left_does_not_come_in()
    {
        var night = new NightRecord(8, 8, Deviations(1.0), Deviations(0.98), Deviations(0.9), Deviations(0.9), Rest, Rest, [], 40);
        var second = night with { HoursSinceFirst = 32, BeforeAh = Deviations(0.99), AfterAh = Deviations(0.97) };
        var stays = NightReview.Of(Names, [night, second], null, new NightRules()).Cells.Single();
        Assert.Equal("+0.98 -> +0.97 Ah: 1.80 Ah taken out in two nights and no less is left. It will not come in.", stays.Convergence);

        var comes = NightReview.Of(Names, [night with { BeforeAh = Deviations(4), AfterAh = Deviations(3.1) }, second with { BeforeAh = Deviations(3.1), AfterAh = Deviations(2.2) }], null, new NightRules()).Cells.Single();
        Assert.Equal("+3.10 -> +2.20 Ah: 3 more nights.", comes.Convergence);
        Assert.Equal(3, comes.NightsLeft);
    }

    private static readonly string[] Names = ["B01.1", "B01.2", "B01.3", "B01.4", "B01.5", "B01.6"];

    private static double[] Deviations(double third) => [0, 0, third, 0, 0, 0];

    private static (PackBench Bench, BalancePlan Plan, NightLog Log) Night()
    {
        var bench = new PackBench(modules: 1);
        bench.AllCells(4.1);
        bench.Run(10);
        var plan = BalancePlanner.Plan(new BalanceRequest
        {
            Layout = bench.Layout,
            DifferenceAh = [.. Deviations(0.99)],
            CellVoltageV = [.. Enumerable.Repeat(4.1, 6)],
            LevelPercent = 95,
            Duty = 1,
            TimesOutByItself = [.. Enumerable.Repeat(true, 6)],
        });
        return (bench, plan, new NightLog(bench.Map, plan, 33, TimeZoneInfo.Utc));
    }

    private static void Pass(PackBench bench, NightLog log, double hours)
    {
        for (var minute = 0; minute < 60 * hours; minute++)
        {
            bench.Run(60, dtS: 60);
            log.Step(bench.State.Snapshot);
        }
    }
}
