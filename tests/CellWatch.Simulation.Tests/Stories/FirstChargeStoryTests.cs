using CellWatch.Core.Snapshots;
using CellWatch.Simulation.Stories;

namespace CellWatch.Simulation.Tests.Stories;

public sealed class FirstChargeStoryTests
{
    private readonly Story _story = FirstChargeStory.Create();
    private readonly SimulatedPack _pack;

    public FirstChargeStoryTests()
    {
        _pack = new SimulatedPack(_story);
        _pack.AdvanceTo(0);
    }

    [Fact]
    public void When_it_opens_the_charge_runs_at_60_A_with_B09_4_highest()
    {
        Assert.Equal(60, _pack.Model.PackCurrentA, 3);
        Assert.Equal("B09.4", Highest());
        // Far enough above the next for noise of 1 mV not to hide it.
        Assert.True(_pack.Model.HighestCellV - VoltageOf("B11.2") > 0.005);
    }

    [Fact]
    public void When_it_opens_B07_3_is_the_widest_and_low()
    {
        Assert.Equal("B07.3", Widest());
        Assert.InRange(DeviationMv("B07.3"), -20, -11);
    }

    [Fact]
    public void At_the_rest_before_the_charge_B07_3_is_the_widest_by_far_and_less_than_3_percent_part_the_pack()
    {
        var pack = new SimulatedPack(_story);
        pack.AdvanceTo(-400);

        var charge = pack.Model.Charge.ToArray();
        Assert.Equal(0, pack.Model.PackCurrentA);
        Assert.Equal(Cell("B07.3"), Array.IndexOf(charge, charge.Min()));
        // The stop limit of the starting limits is 3 %: a good story stays below.
        Assert.InRange(charge.Max() - charge.Min(), 0.02, 0.028);
    }

    [Fact]
    public void B11_2_is_first_at_the_target_within_two_real_minutes_and_leads_by_more_than_the_noise()
    {
        var (reachedS, cell) = PlayToTarget();

        Assert.Equal("B11.2", cell);
        Assert.InRange(reachedS / _story.TimeFactor, 80, 120);
        Assert.True(VoltageOf("B11.2") - VoltageOf("B09.4") > 0.006);
    }

    [Fact]
    public void The_taper_ends_near_real_minute_five_and_no_cell_passes_the_first_warning()
    {
        var highestV = 0.0;
        var t = 0.0;
        while (_pack.Model.PackCurrentA > 0)
        {
            _pack.AdvanceTo(t += 1);
            highestV = Math.Max(highestV, _pack.Model.HighestCellV);
            Assert.True(t < 3600);
        }

        Assert.InRange(t / _story.TimeFactor / 60, 4.5, 5.3);
        Assert.InRange(highestV, 4.1495, 4.152);
        Assert.True(highestV < _story.CellType.Limits.HighWarnV - 0.010);
    }

    [Fact]
    public void The_taper_is_a_straight_line_on_a_logarithmic_scale()
    {
        var (reachedS, _) = PlayToTarget();
        _pack.AdvanceTo(reachedS + 120);
        var current = new double[5];
        for (var i = 0; i < current.Length; i++)
        {
            _pack.AdvanceTo(reachedS + 120 + 240 * i);
            current[i] = _pack.Model.PackCurrentA;
        }

        // Source: the-job 14: measured time constants of 322 to 345 s (33 Ah) and 1013 to 1164 s (5 Ah).
        for (var i = 1; i < current.Length; i++)
            Assert.InRange(240 / Math.Log(current[i - 1] / current[i]), 400, 600);
    }

    [Fact]
    public void Its_modules_stay_within_5_K_and_its_warmest_is_far_from_a_limit()
    {
        var (coldest, warmest) = (double.MaxValue, double.MinValue);
        for (var t = 0; t <= 2400; t += 10)
        {
            _pack.AdvanceTo(t);
            foreach (var degC in _pack.Model.ModuleDegC)
                (coldest, warmest) = (Math.Min(coldest, degC), Math.Max(warmest, degC));
        }

        Assert.InRange(warmest, coldest, 30);
        Assert.True(warmest - coldest < 4);
    }

    [Fact]
    public void The_past_holds_a_charge_a_night_of_bleeding_and_a_run()
    {
        var pack = new SimulatedPack(_story);
        var (charging, bleeding, discharging, count) = (0, 0, 0, 0);
        var lastWall = long.MinValue;
        pack.PlayPast(new SnapshotTime(50_000_000_000, 1_773_049_200_000), 10, buffer =>
        {
            count++;
            Assert.True(buffer.View.Time.WallUnixMs > lastWall);
            lastWall = buffer.View.Time.WallUnixMs;
            Assert.True(buffer.View.TryGetPackCurrentA(out var current));
            if (current > 5) charging++;
            if (current < -5) discharging++;
            if (buffer.View.IsBleeding(Cell("B06.2"))) bleeding++;
        });

        Assert.Equal(14 * 360, count);
        Assert.Equal(1_773_049_200_000, lastWall);
        Assert.InRange(charging * 10, 1800, 2 * 3600);
        Assert.InRange(discharging * 10, 2000, 3500);
        // 0.62 Ah at 125 mA.
        Assert.InRange(bleeding * 10 / 3600.0, 4.8, 5.2);
    }

    [Fact]
    public void Two_packs_of_the_same_seed_are_equal_to_the_last_digit_whoever_reads_when()
    {
        var (a, b) = (new SimulatedPack(_story, 5), new SimulatedPack(_story, 5));
        for (var t = 0.0; t < 100; t += 0.5) a.AdvanceTo(t);
        for (var t = 0.0; t < 100; t += 7.3) b.AdvanceTo(t);

        Assert.Equal(All(a, 100), All(b, 100));
    }

    [Fact]
    public void Another_seed_gives_other_noise_of_a_millivolt()
    {
        var (a, b) = (All(new SimulatedPack(_story, 5), 10), All(new SimulatedPack(_story, 6), 10));
        var cells = _pack.Map.CellCount;
        var squares = 0.0;
        for (var k = 0; k < cells; k++) squares += (a[k] - b[k]) * (a[k] - b[k]);

        // The difference of two has 1.41 mV; 108 cells tell it within 10 % at two sigma and a half.
        Assert.InRange(Math.Sqrt(squares / cells) * 1000, 1.15, 1.70);
    }

    [Fact]
    public void The_stated_truth_is_what_the_model_has()
    {
        foreach (var fault in _story.Truth.Where(f => f.Cause is StatedCause.LowCapacity or StatedCause.HighCapacity))
            Assert.Equal(fault.Figure, _pack.Model.CapacityAh[Cell(fault.Place)], 6);
    }

    [Fact]
    public void The_next_morning_is_at_rest_with_all_bleeds_off_and_the_story_goes_round()
    {
        _pack.AdvanceTo(_story.SecondsUntilClock(0, _story.MorningClockH));
        Assert.Equal("morning, at rest", _pack.SceneName);
        Assert.DoesNotContain(true, _pack.Model.BleedOn.ToArray());

        _pack.AdvanceTo(24 * 3600);

        Assert.Equal("first charge, 60 A", _pack.SceneName);
        Assert.Equal(60, _pack.Model.PackCurrentA, 3);
    }

    private (double AtS, string Cell) PlayToTarget()
    {
        for (var t = 0.0; t < 3600; t += 0.5)
        {
            _pack.AdvanceTo(t);
            if (_pack.Model.HighestCellV >= PetrelPack.ChargeTargetV) return (t, Highest());
        }

        throw new InvalidOperationException("No cell reached the target in an hour.");
    }

    private static double[] All(SimulatedPack pack, double timeS)
    {
        var channels = Enumerable.Range(0, pack.Map.Count).ToArray();
        var values = new double[channels.Length];
        pack.Read(timeS, channels, values);
        return values;
    }

    private int Cell(string name) => PetrelPack.Cell(_story.Layout, name);

    private double VoltageOf(string name) => _pack.Model.CellVoltageV[Cell(name)];

    private string Highest()
    {
        var v = _pack.Model.CellVoltageV.ToArray();
        return _story.Layout.CellAt(Array.IndexOf(v, v.Max())).ToString();
    }

    private double MedianV()
    {
        var v = _pack.Model.CellVoltageV.ToArray().Order().ToArray();
        return (v[53] + v[54]) / 2;
    }

    private double DeviationMv(string name) => 1000 * (VoltageOf(name) - MedianV());

    private string Widest()
    {
        var median = MedianV();
        var off = _pack.Model.CellVoltageV.ToArray().Select(v => Math.Abs(v - median)).ToArray();
        return _story.Layout.CellAt(Array.IndexOf(off, off.Max())).ToString();
    }
}
