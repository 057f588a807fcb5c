using CellWatch.Core.Bench.Project;
using CellWatch.Core.Estimation;
using CellWatch.Core.Pack;
using Xunit;

namespace CellWatch.Core.Tests.CheckValues;

/// <summary>battery-maths 13, the facts of the pack, worked out from its layout and limits as the program holds them.</summary>
public class PackFactsTests
{
    private static readonly PackLayout Layout = new("petrel", Enumerable.Range(1, 18).Select(m => new PackModule(new ModuleId($"B{m:00}"), new ModuleTopology(6, 2), 2, m)));
    private static readonly BenchSite Site = BenchSite.For(Layout, CellType.Nmc420, "red button", "test");

    [Fact]
    public void Eighteen_modules_of_6S2P_have_399_6_V_nominal_and_453_6_V_full()
    {
        Assert.Equal(108, Layout.CellCount);
        Assert.Equal(216, Layout.Modules.Sum(m => m.Topology.Series * m.Topology.Parallel));
        Assert.Equal(399.6, 3.7 * Layout.CellCount, 9);
        Assert.Equal(453.6, Site.HighestV, 9);
        Assert.Equal(302.4, Layout.CellCount * CellType.Nmc420.Limits.LowLoadStopV, 9);
    }

    [Fact]
    public void Two_modules_stay_under_60_V_and_the_third_is_the_step_over_it()
    {
        var moduleV = Layout.Modules[0].Topology.Series * CellType.Nmc420.Limits.HighStopV;
        Assert.Equal(50.4, 2 * moduleV, 9);
        Assert.Equal(75.6, 3 * moduleV, 9);
        Assert.Equal(14, Math.Floor(60 / CellType.Nmc420.Limits.HighStopV));
    }

    [Fact]
    public void A_run_of_an_hour_at_110_A_is_44_kWh_and_600_A_are_five_and_a_half_times_as_much()
    {
        // Counted by the counter itself at the pack's nominal voltage.
        var counter = new ChargeCounter(double.PositiveInfinity, 0.5);
        counter.Add(0, -110, 399.6);
        counter.Add(3600, -110, 399.6);
        Assert.Equal(110, counter.OutAh, 9);
        Assert.Equal(43.9560, -counter.NetWh / 1000, 9);
        Assert.Equal(110.110110, 44_000 / 399.6, 6);
        Assert.Equal(5.454545, 600 / counter.OutAh, 6);
        Assert.Equal(239.760, 600 * 3.7 * Layout.CellCount / 1000, 9);
        Assert.Equal(209.5238, 44_000 / 210.0, 4);
        Assert.Equal(2.8571, 100 * (18 * 12 - 210) / 210.0, 4);
    }
}
