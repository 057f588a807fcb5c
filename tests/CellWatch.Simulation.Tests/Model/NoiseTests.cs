using CellWatch.Simulation.Model;

namespace CellWatch.Simulation.Tests.Model;

public sealed class NoiseTests
{
    [Fact]
    public void It_has_mean_0_and_deviation_1_and_neither_ticks_nor_channels_repeat_it()
    {
        var noise = new Noise(42);
        const int count = 200_000;
        var (sum, squares, acrossTicks, acrossChannels) = (0.0, 0.0, 0.0, 0.0);
        for (var i = 0; i < count; i++)
        {
            var x = noise.Normal(7, i);
            sum += x;
            squares += x * x;
            acrossTicks += x * noise.Normal(7, i + 1);
            acrossChannels += x * noise.Normal(8, i);
        }

        // Standard error of a mean of 200000 is 0.0022; five of them.
        Assert.InRange(sum / count, -0.011, 0.011);
        Assert.InRange(squares / count, 0.985, 1.015);
        Assert.InRange(acrossTicks / count, -0.011, 0.011);
        Assert.InRange(acrossChannels / count, -0.011, 0.011);
    }

    [Fact]
    public void The_same_seed_channel_and_tick_give_the_same_figure_and_another_seed_another()
    {
        Assert.Equal(new Noise(1).Normal(3, 99), new Noise(1).Normal(3, 99));
        Assert.NotEqual(new Noise(1).Normal(3, 99), new Noise(2).Normal(3, 99));
    }
}
