using CellWatch.Core.Pack;

namespace CellWatch.Core.Tests.Pack;

public class PackLayoutTests
{
    private static PackModule Module(string id, string topology, int slot, int temperatures = 2)
    {
        Assert.True(ModuleTopology.TryParse(topology, out var parsed));
        return new PackModule(new ModuleId(id), parsed, temperatures, slot);
    }

    [Fact]
    public void Eighteen_modules_of_6S2P_are_108_cells_in_string_order()
    {
        var layout = new PackLayout("petrel", Enumerable.Range(1, 18).Select(n => Module($"B{n:00}", "6S2P", n)));

        Assert.Equal(108, layout.CellCount);
        Assert.Equal(36, layout.TemperatureCount);
        Assert.Equal("B07.3", layout.CellAt(6 * 6 + 2).ToString());
        Assert.True(layout.TryFindCell(new CellId(new ModuleId("B18"), 6), out var last));
        Assert.Equal(107, last);
        Assert.False(layout.TryFindCell(new CellId(new ModuleId("B18"), 7), out _));
    }

    [Fact]
    public void Modules_of_different_topology_stand_in_one_string()
    {
        var layout = new PackLayout("bench", [Module("A1", "12S1P", 1, 1), Module("B07", "6S2P", 2, 3)]);

        Assert.Equal(18, layout.CellCount);
        Assert.Equal(12, layout.FirstCell(1));
        Assert.Equal(1, layout.ModuleOfCell(12));
        Assert.Equal("A1.12", layout.CellAt(11).ToString());
        Assert.Equal("B07.1", layout.CellAt(12).ToString());
        Assert.Equal(3, layout.SensorNumber(3));
    }

    [Theory]
    [InlineData("B07", 1, "B07", 2, "B07")]
    [InlineData("B07", 1, "B08", 1, "Slot 1")]
    public void A_module_or_a_slot_given_twice_is_refused_by_name(string first, int firstSlot, string second, int secondSlot, string named)
    {
        var fault = Assert.Throws<ArgumentException>(() => new PackLayout("x", [Module(first, "6S2P", firstSlot), Module(second, "6S2P", secondSlot)]));
        Assert.Contains(named, fault.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("6S2P", 6, 2)]
    [InlineData("12s1p", 12, 1)]
    public void A_topology_is_read_in_either_case(string text, int series, int parallel)
    {
        Assert.True(ModuleTopology.TryParse(text, out var topology));
        Assert.Equal(new ModuleTopology(series, parallel), topology);
    }

    [Theory]
    [InlineData("6P2S")]
    [InlineData("0S2P")]
    [InlineData("6S")]
    [InlineData("33S1P")]
    [InlineData("-6S2P")]
    public void What_is_no_topology_is_refused(string text) => Assert.False(ModuleTopology.TryParse(text, out _));

    [Theory]
    [InlineData("B07.3", true)]
    [InlineData("b07.12", true)]
    [InlineData("B07", false)]
    [InlineData("B07.0", false)]
    [InlineData("B07.x", false)]
    [InlineData(".3", false)]
    public void A_cell_is_read_as_it_is_written(string text, bool isCell)
    {
        Assert.Equal(isCell, CellId.TryParse(text, out var cell));
        if (isCell) Assert.Equal(text.ToUpperInvariant(), cell.ToString());
    }
}
