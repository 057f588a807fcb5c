using CellWatch.Core.Planning;

namespace CellWatch.Core.Tests.Planning;

public class PriceOfTheWeakestTests
{
    [Fact]
    public void The_staircase_names_the_group_at_each_step()
    {
        var pack = Enumerable.Range(1, 18).Select(i => Module($"B{i:00}", i switch { 7 => 96.1, 12 => 101.8, 4 => 102.0, _ => 103 + 0.1 * i })).ToList();
        var price = PriceOfTheWeakest.Of(pack, [Module("B19", 104.0)], 400);
        Assert.Equal(96.1, price.UsableAh, 6);
        Assert.Equal("B07.3", price.LimitedBy);
        Assert.Equal(5.7, price.Steps[0].GainAh, 6);
        Assert.Equal(2.28, price.Steps[0].GainKwh, 6);
        Assert.Equal(("B07.3", "B19", "B12.3"), (price.Steps[0].Out, price.Steps[0].SpareIn, price.Steps[0].NextLimit));
        Assert.Equal(0.2, price.Steps[1].GainAh, 6);
        Assert.Equal(("B12.3", "B04.3"), (price.Steps[1].Out, price.Steps[1].NextLimit));
        Assert.True(price.Steps[0].Pays);
        Assert.False(price.Steps[1].Pays);
        Assert.EndsWith("stop here", price.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void A_spare_weaker_than_the_weakest_helps_no_one() =>
        Assert.Empty(PriceOfTheWeakest.Of([Module("B01", 100), Module("B02", 101)], [Module("B19", 90)], 400).Steps);

    [Fact]
    public void The_spare_in_takes_part_in_the_next_minimum()
    {
        var price = PriceOfTheWeakest.Of([Module("B01", 90), Module("B02", 101)], [Module("B19", 95)], 400);
        Assert.Equal(5, price.Steps[0].GainAh, 6);
        Assert.Equal("B19.3", price.Steps[0].NextLimit);
    }

    [Fact]
    public void At_600_A_the_most_resistive_cell_falls_first()
    {
        var cells = Enumerable.Range(1, 6).Select(i => ($"B07.{i}", 3.58, i == 4 ? 1.6 : 1.0)).ToList();
        var sag = PeakSag.At(cells, 600, 2.8, 20);
        Assert.Equal("B07.4", sag.Cells[0].Cell);
        Assert.Equal(3.58 - 0.96, sag.Cells[0].LoadedV, 9);
        Assert.True(sag.Cells[0].BelowLimit);
        Assert.Contains("B07.4 falls first", sag.Sentence, StringComparison.Ordinal);
    }

    // Trade facts, common practice, no source: 400 V x 600 A = 240 kW; 44 kWh / 400 V = 110 Ah; 18 x 12 cells as 6S2P = 108 groups.
    [Fact]
    public void The_packs_figures_hang_together()
    {
        Assert.Equal(240, 400 * 600 / 1000.0);
        Assert.Equal(110, 44_000 / 400.0);
        var full = PeakSag.At([.. Enumerable.Range(0, 108).Select(i => ($"c{i}", 400.0 / 108, 0.0))], 600, 2.8, 50);
        Assert.Equal(240, full.PeakKw, 9);
    }

    private static ModuleCapacity Module(string id, double lowestAh) => new(id, [lowestAh + 2, lowestAh + 1, lowestAh, lowestAh + 3, lowestAh + 2, lowestAh + 2]);
}
