using CellWatch.Core.Rules;
using CellWatch.Core.Tests.Engine;

namespace CellWatch.Core.Tests.Rules;

/// <summary>Check values 15.1 and 15.2 of the battery-maths reference (computed there in integer mV), and what a lost channel may not do.</summary>
public sealed class PersistenceTests
{
    private static readonly int[] High = [4190, 4201, 4202, 4199, 4200, 4203, 4205, 4204, 4206, 4195, 4185, 4181, 4180, 4179, 4181, 4178, 4176, 4175, 4174, 4172, 4171, 4170];
    private static readonly int[] Low = [2800, 2790, 2810, 2780, 2770, 2760, 2750, 2790, 2800, 2830, 2840, 2860, 2850, 2860, 2870, 2880, 2880];

    [Fact]
    public void With_deadband_and_delays_the_high_alarm_is_active_at_7_and_clears_at_20() =>
        Assert.Equal([(7, true), (20, false)], Changes(High, Some(Comparison.AtLeast, 4.2, 0.020, 3, 5)));

    [Fact]
    public void Without_deadband_and_delays_it_comes_and_goes_twice() =>
        Assert.Equal([(1, true), (3, false), (4, true), (9, false)], Changes(High, Some(Comparison.AtLeast, 4.2, 0, 0, 0)));

    [Fact]
    public void With_the_deadband_alone_it_is_active_at_1_and_clears_at_12() =>
        Assert.Equal([(1, true), (12, false)], Changes(High, Some(Comparison.AtLeast, 4.2, 0.020, 0, 0)));

    [Fact]
    public void A_low_limit_is_active_at_5_and_clears_at_14() =>
        Assert.Equal([(5, true), (14, false)], Changes(Low, Some(Comparison.AtMost, 2.8, 0.050, 2, 3)));

    [Fact]
    public void A_channel_that_falls_silent_neither_clears_an_alarm_nor_counts_towards_clearing()
    {
        int?[] mv = [4190, 4201, 4202, 4203, 4204, null, null, null, null, null, null, 4150, 4150, null, 4150, 4150, 4150, 4150, 4150, 4150];
        Assert.Equal([(4, true), (19, false)], Changes(mv, Some(Comparison.AtLeast, 4.2, 0.020, 3, 5)));
    }

    [Fact]
    public void A_flaky_channel_does_not_reset_the_persistence_count_unseen()
    {
        int?[] mv = [4190, 4201, null, 4202, null, 4203, 4203];
        Assert.Equal([(5, true)], Changes(mv, Some(Comparison.AtLeast, 4.2, 0.020, 3, 5)));
    }

    [Fact]
    public void A_number_of_samples_can_be_asked_for_beside_the_time() =>
        Assert.Equal([(8, true)], Changes(High[..9], Some(Comparison.AtLeast, 4.2, 0.020, 0, 5) with { Samples = 5 }));

    private static Rule Some(Comparison comparison, double limit, double deadband, double on, double off) => new()
    {
        Name = "some",
        Quantity = Quantity.CellVoltage,
        Comparison = comparison,
        Limit = limit,
        Deadband = deadband,
        OnDelayS = on,
        OffDelayS = off,
        Priority = AlarmPriority.Medium,
        Message = "{place} {value}",
        DoFirst = "Look.",
    };

    private static List<(int, bool)> Changes(int[] mv, Rule rule) => Changes([.. mv.Select(v => (int?)v)], rule);

    private static List<(int, bool)> Changes(int?[] mv, Rule rule)
    {
        var bench = new PackBench(modules: 1, series: 1, rules: new RuleTable([rule]));
        var changes = new List<(int, bool)>();
        for (var t = 0; t < mv.Length; t++)
        {
            if (mv[t] is { } v) bench.CellV[0] = v / 1000.0;
            bench.Lost.Clear();
            if (mv[t] is null) bench.Lost[0] = bench.NowUs - 10_000_000;
            var before = bench.State?.Alarms.Any(a => a.IsActive) ?? false;
            var after = bench.Run(1).Alarms.Any(a => a.IsActive);
            if (after != before) changes.Add((t, after));
        }

        return changes;
    }
}
