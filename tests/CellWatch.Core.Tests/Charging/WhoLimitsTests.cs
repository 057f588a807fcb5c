using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Tests.Engine;
using Xunit.Abstractions;

namespace CellWatch.Core.Tests.Charging;

/// <summary>Story 11: a cell that is not the highest now, but has less capacity, will be first at the target of 4.150 V.</summary>
public sealed class WhoLimitsTests(ITestOutputHelper output)
{
    private static readonly CellType Site = CellType.Nmc420 with { Limits = new CellLimits { ChargeTargetV = 4.150, HighWarnV = 4.170 } };

    [Fact]
    public void The_cell_that_limits_is_named_three_minutes_ahead_within_20_percent_in_each_of_100_seeded_charges()
    {
        var wrong = new List<string>();
        var errors = new List<double>();
        for (var seed = 1; seed <= 100; seed++)
        {
            var (first, foretoldS, arrivedCell, arrivedAtS, askedAtS, advice) = Charge(seed);
            var inS = arrivedAtS - askedAtS;
            errors.Add(100 * Math.Abs(foretoldS - inS) / inS);
            if (first != arrivedCell || Math.Abs(foretoldS - inS) > 0.2 * inS) wrong.Add($"seed {seed}: foretold {first} in {foretoldS:0} s, was {arrivedCell} in {inS:0} s. {advice}");
        }

        errors.Sort();
        output.WriteLine($"error of the time: median {errors[50]:0.0} %, worst {errors[^1]:0.0} %; {wrong.Count} of 100 wrong");
        Assert.True(wrong.Count == 0, string.Join('\n', wrong));
    }

    [Fact]
    public void The_page_says_that_it_is_not_the_cell_highest_now()
    {
        var model = Pack(7);
        model.Run(300);
        var charge = model.Bench.State.Charge!;
        Assert.Equal(ChargePhase.ConstantCurrent, charge.Phase);
        var text = PackBench.Plain(charge.Advice);
        Assert.StartsWith("Keep 60 A. B04.2 will be first at 4.150 V in about ", text, StringComparison.Ordinal);
        Assert.Contains("then turn down to ", text, StringComparison.Ordinal);
        Assert.EndsWith("It is not the highest now: that is B02.4.", text, StringComparison.Ordinal);
        Assert.True(charge.NextToLimit.Length is >= 3 and <= 12);
        Assert.All(charge.NextToLimit, l => Assert.True(l.ToTargetLowS <= l.ToTargetS && l.ToTargetS <= l.ToTargetHighS));
    }

    [Theory]
    [InlineData(CurrentSetBy.ChargeController, "the charge controller should bring the current down")]
    [InlineData(CurrentSetBy.Nobody, "end the charge with red button on the station")]
    public void Advice_is_worded_by_who_sets_the_current(CurrentSetBy by, string expected)
    {
        var model = Pack(7, by);
        model.Run(300);
        Assert.Contains(expected, model.Bench.State.Charge!.Advice, StringComparison.Ordinal);
    }

    private static (int First, double ForetoldS, int ArrivedCell, double ArrivedAtS, double AskedAtS, string Advice) Charge(int seed)
    {
        var model = Pack(seed);
        model.Bench.PublishEvery = 5;
        // What was foretold at each second, to be looked up three minutes before the arrival.
        var foretold = new List<(double AtS, int First, double InS, string Advice)>();
        model.Run(4000, each: () =>
        {
            var next = model.Bench.State.Charge!.NextToLimit;
            foretold.Add((model.Bench.State.Snapshot.Time.ElapsedS, next.IsEmpty ? -1 : next[0].Cell, next.IsEmpty ? double.NaN : next[0].ToTargetS!.Value, model.Bench.State.Charge.Advice));
            return double.IsNaN(model.ArrivedAtS);
        });
        var asked = foretold.Last(f => f.AtS <= model.ArrivedAtS - 180);
        return (asked.First, asked.InS, model.ArrivedCell, model.ArrivedAtS, asked.AtS, asked.Advice);
    }

    private static ModelPack Pack(int seed, CurrentSetBy by = CurrentSetBy.Person)
    {
        var bench = new PackBench(modules: 6, type: Site, options: new EngineOptions { CapacityAh = 110, TerminationA = 2.2, HandCutOff = "red button on the station", CurrentSetBy = by });
        var random = new Random(1000 + seed);
        var level = 0.64 + 0.06 * random.NextDouble();
        var model = new ModelPack(bench, level, seed);
        // Less capacity and in step at some level below: ahead of the others when the top is near, not now.
        var small = bench.Cell("B04.2");
        model.CapacityAh[small] = 99 + 3 * random.NextDouble();
        model.Level[small] = level;
        // Highest at first by its charge and its resistance, but with more capacity.
        var high = bench.Cell("B02.4");
        model.CapacityAh[high] = 114;
        model.Level[high] = level + 0.008;
        model.OhmFast[high] = 0.00092;
        model.Run(60);
        model.TargetV = Site.Limits.ChargeTargetV;
        model.ChargeA = 60;
        return model;
    }
}
