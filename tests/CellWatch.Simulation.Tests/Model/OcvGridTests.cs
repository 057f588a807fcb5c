using CellWatch.Core.Estimation.Ocv;
using CellWatch.Simulation.Model;

namespace CellWatch.Simulation.Tests.Model;

public sealed class OcvGridTests
{
    private readonly OcvCurve _curve = OcvCurves.Named("nmc532-graphite-mohtat2020");

    [Fact]
    public void It_equals_the_curve_it_was_made_from()
    {
        var grid = new OcvGrid(_curve.SocPercent, _curve.VoltageV);

        for (var soc = 0.0; soc <= 100; soc += 0.037)
            Assert.Equal(_curve.VoltageAt(soc), grid.VoltageAt(soc / 100), 9);
    }

    // Source: battery-maths, 1, lookup checks: Mohtat2020 at 7.5 % is 3.486352 V.
    [Fact]
    public void It_gives_the_published_check_value() =>
        Assert.Equal(3.486352, new OcvGrid(_curve.SocPercent, _curve.VoltageV).VoltageAt(0.075), 6);

    [Fact]
    public void An_overcharged_cell_goes_on_rising_and_an_emptied_one_falling()
    {
        var grid = new OcvGrid(_curve.SocPercent, _curve.VoltageV);

        Assert.True(grid.VoltageAt(1.02) > 4.22);
        Assert.True(grid.VoltageAt(-0.005) < 2.70);
    }

    [Fact]
    public void A_curve_that_does_not_reach_from_empty_to_full_is_refused() =>
        Assert.Throws<ArgumentException>(() => new OcvGrid([10, 100], [3.5, 4.2]));
}
