using CellWatch.Simulation.Stories;

namespace CellWatch.Simulation.Tests.Stories;

public sealed class NightAndBenchStoryTests
{
    [Fact]
    public void A_night_of_bleeding_brings_the_offset_cells_in_and_drains_the_one_with_the_stuck_switch()
    {
        var story = NightStory.Evening();
        var pack = new SimulatedPack(story);
        pack.AdvanceTo(0);
        var before = pack.Model.Charge.ToArray();
        var bled = pack.Model.BledAh.ToArray();
        var planned = story.Truth.Where(f => f.Cause == StatedCause.ChargeOffset).Select(f => PetrelPack.Cell(story.Layout, f.Place)).ToArray();
        var stuck = PetrelPack.Cell(story.Layout, "B16.4");

        pack.AdvanceTo(story.SecondsUntilClock(0, story.MorningClockH));

        Assert.Equal("morning, at rest", pack.SceneName);
        Assert.Equal(11, planned.Length);
        // Source: the-job 0.8: 33 ohm at 4.1 V takes 124 mA: 7.83 h of bleeding until 05:30 is 0.97 Ah.
        Assert.All(planned, k => Assert.InRange(pack.Model.BledAh[k] - bled[k], 0.9, 1.0));
        // The stuck switch went on until 06:10: 8.5 h.
        Assert.InRange((before[stuck] - pack.Model.Charge[stuck]) * pack.Model.CapacityAh[stuck], 1.03, 1.09);
        // An ordinary cell has lost 0.3 mA over 8.5 h.
        var ordinary = PetrelPack.Cell(story.Layout, "B12.1");
        Assert.InRange((before[ordinary] - pack.Model.Charge[ordinary]) * pack.Model.CapacityAh[ordinary], 0.002, 0.003);
        // 5 mA over 8.5 h is 0.0425 Ah.
        var leaking = PetrelPack.Cell(story.Layout, "B13.2");
        Assert.InRange((before[leaking] - pack.Model.Charge[leaking]) * pack.Model.CapacityAh[leaking], 0.042, 0.043);
    }

    [Fact]
    public void The_stuck_switch_is_told_to_be_off_and_says_so()
    {
        var story = NightStory.Evening();
        var pack = new SimulatedPack(story);
        var stuck = PetrelPack.Cell(story.Layout, "B16.4");
        var values = new double[1];

        pack.Read(600, [pack.Map.FirstBleed + stuck], values);

        Assert.Equal(0, values[0]);
        Assert.True(pack.Model.BleedOn[stuck]);
    }

    [Fact]
    public void On_the_bench_B07_3_ends_the_discharge_at_3_V_near_its_own_capacity()
    {
        var story = BenchStory.Create();
        var pack = new SimulatedPack(story);
        pack.AdvanceTo(0);
        Assert.Equal(-36.7, pack.Model.PackCurrentA, 6);
        var outAh = 36.7 * 590 / 3600;
        var t = 0.0;
        while (pack.Model.PackCurrentA < 0)
        {
            pack.AdvanceTo(t += 1);
            outAh -= pack.Model.PackCurrentA / 3600;
            if (pack.Model.LowestCellV > 3.0) Assert.True(t < 4 * 3600);
        }

        Assert.Equal("at rest after the test", pack.SceneName);
        var v = pack.Model.CellVoltageV.ToArray();
        Assert.Equal(2, Array.IndexOf(v, v.Min()));
        // It began at about 96 % and ends a few per cent above empty: between 90 and 100 % of 99.5 Ah.
        Assert.InRange(outAh, 90, 99.5);
    }

    [Theory]
    [InlineData(FirstChargeStory.Name)]
    [InlineData(NightStory.Name)]
    [InlineData(BenchStory.Name)]
    public void Every_story_has_boards_for_every_cell_and_a_truth_whose_places_exist(string name)
    {
        var story = AllStories.Named(name);

        Assert.Equal(story.Layout.Modules.Length, story.Boards.Sum(b => b.Modules));
        Assert.Single(story.Boards, b => b.MeasuresString);
        Assert.NotEmpty(story.Truth);
        foreach (var fault in story.Truth.Where(f => f.Place.Contains('.', StringComparison.Ordinal)))
            Assert.InRange(PetrelPack.Cell(story.Layout, fault.Place), 0, story.Layout.CellCount - 1);
    }

    [Fact]
    public void An_unknown_story_is_refused_with_the_known_names()
    {
        var error = Assert.Throws<ArgumentException>(() => AllStories.Named("frist-charge"));
        Assert.Contains("first-charge", error.Message, StringComparison.Ordinal);
    }
}
