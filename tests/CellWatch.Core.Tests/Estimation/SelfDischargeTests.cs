using CellWatch.Core.Estimation;
using Xunit;

namespace CellWatch.Core.Tests.Estimation;

public class SelfDischargeTests
{
    /// <summary>Ten days of rest every ten minutes: one module of six, 0.1 mV resolution, 0.15 mV noise, a room that swings 5 K a day at 0.4 mV/K.</summary>
    private static SelfDischargeBank TenDays(int leaker, double mvPerDay, int seed, int days = 10, Func<double, int, double, double>? change = null)
    {
        var bank = new SelfDischargeBank([0, 0, 0, 0, 0, 0]);
        var random = new Random(seed);
        var v = new double[6];
        bool[] usable = [true, true, true, true, true, true];
        for (var minute = 0; minute < days * 1440; minute += 10)
        {
            double hours = minute / 60.0, room = 0.4e-3 * 2.5 * Math.Sin(2 * Math.PI * hours / 24);
            for (var k = 0; k < 6; k++)
            {
                var relaxation = 0.010 * Math.Exp(-hours / 20);
                var clean = 3.85 + 0.002 * k + relaxation + room - (k == leaker ? mvPerDay / 1000 * hours / 24 : 0);
                v[k] = Math.Round((change?.Invoke(hours, k, clean) ?? clean) + 0.00015 * Gauss(random), 4);
            }

            bank.Add(hours, v, usable);
        }

        return bank;
    }

    private static double Gauss(Random r) => Math.Sqrt(-2 * Math.Log(1 - r.NextDouble())) * Math.Cos(2 * Math.PI * r.NextDouble());

    // Story 5: 1.0 mV/day at 8 mV/% on 110 Ah is 5.7 mA.
    [Fact]
    public void A_group_that_falls_one_millivolt_a_day_is_rejected_and_no_sibling_is_accused()
    {
        for (var seed = 1; seed <= 20; seed++)
        {
            var result = TenDays(leaker: 2, mvPerDay: 1.0, seed).Evaluate(8, 110);
            var leak = result[2].LeakMilliampere!.Value;
            Assert.InRange(5.73, leak - result[2].LeakHalfWidthMilliampere!.Value, leak + result[2].LeakHalfWidthMilliampere!.Value);
            Assert.InRange(leak, 5.2, 6.2);
            Assert.Equal(LeakVerdict.Reject, result[2].Verdict);
            for (var k = 0; k < 6; k++)
            {
                if (k == 2) continue;
                Assert.Equal(LeakVerdict.LikeSiblings, result[k].Verdict);
                Assert.InRange(result[k].SmallestDetectableMilliampere!.Value, 0.01, 2);
            }
        }
    }

    [Fact]
    public void A_healthy_module_accuses_nobody()
    {
        var accused = Enumerable.Range(100, 40).Sum(seed => TenDays(-1, 0, seed).Evaluate(8, 110).Count(c => c.Verdict is LeakVerdict.Reject or LeakVerdict.AboveSiblings));
        Assert.InRange(accused, 0, 4); // 5 % of 40 tests = 2
    }

    [Fact]
    public void Too_few_days_or_a_flat_curve_tell_nothing()
    {
        Assert.All(TenDays(2, 1, 1, days: 4).Evaluate(8, 110), c => Assert.Contains("at least 72 h", c.Why, StringComparison.Ordinal));
        Assert.All(TenDays(2, 1, 1).Evaluate(0.5, 110), c =>
        {
            Assert.Null(c.LeakMilliampere);
            Assert.Equal(LeakVerdict.NotTold, c.Verdict);
        });
    }

    [Fact]
    public void A_stuck_channel_is_not_a_healthy_one()
    {
        var bank = new SelfDischargeBank([0, 0, 0, 0]);
        for (var h = 0; h < 240; h++) bank.Add(h, [3.85 + 0.0001 * (h % 3), 3.85, 3.85 + 0.0001 * (h % 2), 3.85 - 0.0001 * (h % 2)], [true, true, true, true]);
        Assert.Contains("stuck", bank.Evaluate(8, 110)[1].Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Without_siblings_nothing_is_told()
    {
        var bank = new SelfDischargeBank([0]);
        for (var h = 0; h < 240; h++) bank.Add(h, [3.85 - 0.0001 * h], [true]);
        Assert.Equal(LeakVerdict.NotTold, bank.Evaluate(8, 110)[0].Verdict);
    }

    [Fact]
    public void A_year_of_hours_keeps_its_slope_in_joined_blocks()
    {
        var bank = new SelfDischargeBank([0, 0, 0]);
        for (var h = 0; h < 24 * 365; h++) bank.Add(h, [3.85 - 0.0005 * h / 24, 3.85, 3.85], [true, true, true]);
        Assert.Equal(-0.5, bank.Evaluate(8, 110)[0].SlopeMvPerDay, 6);
    }
}
