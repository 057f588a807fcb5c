using CellWatch.Core.Engine;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Tests.Engine;

namespace CellWatch.Core.Tests.Imbalance;

/// <summary>Causes named on simulated packs whose faults are known (the-job 0.7), with cells that differ as cells of one make do.</summary>
public sealed class CauseFinderTests
{
    [Fact]
    public void Over_seeded_packs_a_named_cause_is_right_and_healthy_cells_are_not_accused()
    {
        int named = 0, right = 0, undecided = 0, healthy = 0, accused = 0;
        var wrong = new List<string>();
        for (var seed = 1; seed <= 16; seed++)
        {
            var (model, faults) = Faulty(seed);
            Weeks(model);
            for (var cell = 0; cell < model.Bench.Map.CellCount; cell++)
            {
                var finding = model.Bench.Engine.FindingOf(model.Bench.State.Snapshot, cell);
                if (!faults.TryGetValue(cell, out var truth))
                {
                    healthy++;
                    if (finding.Cause is not (SuspectedCause.None or SuspectedCause.Undecided)) accused++;
                    continue;
                }

                if (finding.Cause is SuspectedCause.Undecided or SuspectedCause.None)
                {
                    undecided++;
                    continue;
                }

                named++;
                if (finding.Cause == truth) right++;
                else wrong.Add($"seed {seed} {model.Bench.Map.NameOf(cell)}: {truth} was called {finding.Cause}: {finding.Evidence}");
            }
        }

        Assert.True(named > 12, $"{named} named, {undecided} undecided");
        Assert.True(right >= 0.95 * named, string.Join('\n', wrong));
        Assert.True(accused <= 0.01 * healthy, $"{accused} of {healthy} healthy cells accused");
        Assert.True(undecided <= named / 2, $"{undecided} undecided, {named} named");
    }

    [Fact]
    public void Low_capacity_names_the_level_at_which_it_is_even_and_says_that_bleeding_will_not_help()
    {
        var model = Pack(seed: 5);
        Low(model, 7, 100);
        Weeks(model, days: 1);
        var finding = model.Bench.Engine.FindingOf(model.Bench.State.Snapshot, 7);
        Assert.Equal(SuspectedCause.LowCapacity, finding.Cause);
        Assert.Equal(100, finding.CapacityAh, 2.0);
        Assert.Contains("A charge offset would be the same at every level", finding.Evidence, StringComparison.Ordinal);
        Assert.Contains("bleeding will not help", finding.Decides, StringComparison.Ordinal);
        Assert.Contains(model.Bench.State.StandsOut, r => r.Cell == 7 && r.Finding == finding.Evidence);
    }

    [Fact]
    public void Before_charge_has_moved_offset_and_capacity_are_undecided_and_the_deciding_test_is_named()
    {
        var model = Pack(seed: 5);
        model.Level[7] -= 0.02;
        model.Run(7200, dtS: 5);
        var finding = model.Bench.Engine.FindingOf(model.Bench.State.Snapshot, 7);
        Assert.Equal(SuspectedCause.Undecided, finding.Cause);
        Assert.True(finding.Decides.Length > 0);
    }

    private static (ModelPack Model, Dictionary<int, SuspectedCause> Faults) Faulty(int seed)
    {
        var model = Pack(seed);
        var random = new Random(77 * seed);
        var faults = new Dictionary<int, SuspectedCause>();
        var count = 1 + random.Next(2);
        while (faults.Count < count)
        {
            var cell = random.Next(model.Bench.Map.CellCount);
            if (faults.ContainsKey(cell)) continue;
            switch (random.Next(6))
            {
                case 0:
                    model.Level[cell] += 0.012 + 0.01 * random.NextDouble();
                    faults[cell] = SuspectedCause.ChargeOffset;
                    break;
                case 1:
                    model.Level[cell] -= 0.012 + 0.01 * random.NextDouble();
                    faults[cell] = SuspectedCause.ChargeOffset;
                    break;
                case 2:
                    Low(model, cell, 94 + 8 * random.NextDouble());
                    faults[cell] = SuspectedCause.LowCapacity;
                    break;
                case 3:
                    model.LeakA[cell] = 0.006 + 0.01 * random.NextDouble();
                    faults[cell] = SuspectedCause.SelfDischarge;
                    break;
                case 4:
                    model.OhmFast[cell] *= 1.3;
                    model.OhmSlow[cell] *= 2.5;
                    faults[cell] = SuspectedCause.HighResistance;
                    break;
                default:
                    Low(model, cell, 56);
                    model.OhmFast[cell] *= 2;
                    model.OhmSlow[cell] *= 2;
                    faults[cell] = SuspectedCause.LostParallelCell;
                    break;
            }
        }

        return (model, faults);
    }

    private static ModelPack Pack(int seed)
    {
        var bench = new PackBench(modules: 4, options: new EngineOptions { CapacityAh = 110, TerminationA = 2.2, PresenceMinutes = 240 }) { PublishEvery = 500 };
        return new ModelPack(bench, 0.85, seed);
    }

    /// <summary>Level with the others at 94 % charge, where the pack was balanced last.</summary>
    private static void Low(ModelPack model, int cell, double capacityAh)
    {
        model.CapacityAh[cell] = capacityAh;
        model.Level[cell] = 0.94 + (0.85 - 0.94) * 110 / capacityAh;
    }

    /// <summary>Days with a drive to about half, a charge back and long rests.</summary>
    private static void Weeks(ModelPack model, int days = 4)
    {
        model.Run(3600, dtS: 10);
        for (var day = 0; day < days; day++)
        {
            Hour(model, -40, 3600);
            Hour(model, 0, 3600);
            Hour(model, 40, 3560);
            Hour(model, 0, 600);
            model.Run(18.8 * 3600, dtS: 60);
        }

        model.Bench.Publish();
    }

    /// <summary>One current; finely at first, so that its step gives resistances.</summary>
    private static void Hour(ModelPack model, double currentA, double seconds)
    {
        model.ChargeA = currentA;
        model.Run(40);
        model.Run(seconds - 40, dtS: 5);
    }
}
