using CellWatch.Core.Commands;
using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CsCheck;

namespace CellWatch.Core.Tests.Engine;

/// <summary>What holds whatever is measured.</summary>
public sealed class EnginePropertyTests
{
    [Fact]
    public void The_same_snapshots_and_commands_again_give_the_same_transitions_bit_for_bit()
    {
        var first = Eventful();
        var again = Eventful();
        Assert.True(first.Count > 20, $"only {first.Count} transitions: nothing to compare");
        Assert.Equal(first, again);
    }

    [Theory]
    [InlineData(36, 400, 1200)]
    [InlineData(1667, 60, 300)]
    public void A_step_allocates_nothing(int modules, int secondsBefore, int steps)
    {
        var bench = new PackBench(modules);
        var model = new ModelPack(bench, 0.7, seed: 5) { ChargeA = 60, TargetV = 4.10 };
        model.Run(secondsBefore);
        var buffer = bench.Buffer;
        var random = new Random(3);
        var us = bench.NowUs;
        long before = 0;
        for (var step = 0; step < steps; step++)
        {
            if (step == 200)
            {
                bench.Engine.TakeTransitions();
                before = GC.GetAllocatedBytesForCurrentThread();
            }

            us += 500_000;
            buffer.Begin(step + 1000, new SnapshotTime(us, PackBench.StartUnixMs + us / 1000));
            buffer.Values.Clear();
            buffer.Values[bench.Map.FirstTemperature..bench.Map.PackCurrent].Fill(22);
            buffer.Values[bench.Map.PackCurrent] = bench.CurrentA;
            buffer.Qualities.Fill(Quality.Good);
            buffer.Origins.Fill(Origin.Measured);
            buffer.AgesUs.Clear();
            for (var cell = 0; cell < bench.Map.CellCount; cell++) buffer.Values[cell] = bench.CellV[cell] + 0.001 * (random.NextDouble() - 0.5);
            bench.Engine.Step(buffer);
        }

        var allocated = GC.GetAllocatedBytesForCurrentThread() - before;
        Assert.Empty(bench.Engine.TakeTransitions());
        Assert.Equal(0, allocated);
    }

    [Fact]
    public void Adding_a_constant_to_all_cells_leaves_the_spread() =>
        Gen.Double[-0.3, 0.2].Select(Gen.Double[-0.05, 0.05].Array[12]).Sample(
            (constant, deviations) =>
            {
                var plain = Spread(0, deviations);
                var moved = Spread(constant, deviations);
                return Math.Abs(plain - moved) < 1e-9;
            },
            iter: 200, threads: 1);

    [Fact]
    public void Reordering_modules_changes_no_verdict() =>
        Gen.Double[-0.03, 0.30].Array[18].Select(Gen.Shuffle(new[] { 0, 1, 2 })).Sample(
            (offsets, order) =>
            {
                var plain = VerdictOf([0, 1, 2], offsets);
                var shuffled = VerdictOf(order, offsets);
                return plain.State == shuffled.State && plain.Sentence == shuffled.Sentence;
            },
            iter: 100, threads: 1);

    private static double Spread(double constant, double[] deviations)
    {
        var bench = new PackBench(modules: 2);
        for (var cell = 0; cell < 12; cell++) bench.CellV[cell] = 3.8 + constant + deviations[cell];
        return bench.Run(3).Summary.SpreadV!.Value;
    }

    private static Verdict VerdictOf(int[] order, double[] offsets)
    {
        var layout = new PackLayout("petrel", order.Select((m, i) => new PackModule(new ModuleId($"B{m + 1:00}"), new ModuleTopology(6, 2), 0, i + 1)));
        var map = new ChannelMap(layout);
        var buffer = new SnapshotBuffer(map);
        var engine = new PackEngine(map, CellType.Nmc420, new EngineOptions { CapacityAh = 110 });
        for (var second = 1; second <= 30; second++)
        {
            buffer.Begin(second, new SnapshotTime(second * 1_000_000L, PackBench.StartUnixMs + second * 1000L));
            buffer.Qualities.Fill(Quality.Good);
            buffer.Origins.Fill(Origin.Measured);
            buffer.AgesUs.Clear();
            buffer.Proven.Fill(true);
            buffer.Values.Clear();
            for (var cell = 0; cell < map.CellCount; cell++) buffer.Values[cell] = 3.9 + offsets[order[cell / 6] * 6 + cell % 6];
            buffer.Values[map.PackCurrent] = 20;
            engine.Step(buffer);
        }

        return engine.Publish(buffer, [], new RecordingView(true, "recording", null, null), new SendingView(true, "sending")).Verdict;
    }

    /// <summary>Hours of charge, drive, rest, faults and people.</summary>
    private static List<AlarmTransition> Eventful()
    {
        var bench = new PackBench(modules: 6, options: new EngineOptions { CapacityAh = 110, TerminationA = 2.2 }) { PublishEvery = 10 };
        var model = new ModelPack(bench, 0.55, seed: 11);
        model.Level[7] -= 0.03;
        model.CapacityAh[20] = 95;
        model.Run(300);
        (model.TargetV, model.ChargeA) = (4.10, 60);
        model.Run(1200);
        bench.Lose(Enumerable.Range(6, 6));
        model.Run(60);
        bench.Lost.Clear();
        model.Run(60);
        bench.Do(new AcknowledgeAlarm("no-data.B02", "Ann"));
        model.TargetV = double.NaN;
        model.Run(900);
        (model.ChargeA, model.TargetV) = (0, double.NaN);
        model.Run(1800);
        bench.Do(new AcknowledgeAlarm("taper-missing.pack", "Ann"));
        bench.Do(new ResetAlarm("taper-missing.pack", "Ann"));
        model.ChargeA = -150;
        model.Run(1500);
        model.ChargeA = 0;
        model.Run(3600);
        bench.Publish();
        return [.. bench.Transitions];
    }
}
