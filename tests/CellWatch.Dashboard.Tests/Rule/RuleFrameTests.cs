using System.Buffers.Binary;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Rule;
using CellWatch.Testing.Pages;
using Xunit;

namespace CellWatch.Dashboard.Tests.Rule;

public sealed class RuleFrameTests
{
    private static RuleFrame Frame(string scene, RuleMode mode = RuleMode.Voltage) => RuleFrame.From(Petrel.At(scene), mode)!;

    [Fact]
    public void Columns_stand_in_physical_order_not_in_electrical_order()
    {
        var layout = new Core.Pack.PackLayout("bench",
        [
            new(new("B01"), new(6, 2), 2, 3), new(new("B02"), new(12, 1), 2, 1), new(new("B03"), new(6, 2), 2, 2),
        ]);
        var columns = RuleColumns.OfCells(layout);
        Assert.Equal(["B02", "B03", "B01"], columns.Select(c => c.Id));
        Assert.Equal([12, 6, 6], columns.Select(c => c.Count));
        Assert.Equal([6, 18, 0], columns.Select(c => c.First));
    }

    [Fact]
    public void A_frame_of_108_cells_is_329_bytes_and_says_the_same_as_the_state()
    {
        var frame = Frame("no-data");
        var bytes = frame.ToBytes(2);
        Assert.Equal(329, bytes.Length);
        Assert.Equal(2, bytes[0]);
        var at = frame.PositionOf(Petrel.Cell("B07.3"))!.Value;
        var mark = bytes.AsSpan(RuleFrame.HeaderBytes + 3 * at);
        Assert.InRange(BinaryPrimitives.ReadInt16LittleEndian(mark), -190, -170);
        Assert.Equal((byte)StateWord.Caution, mark[2]);
        Assert.Equal(at, BinaryPrimitives.ReadUInt16LittleEndian(bytes.AsSpan(3)));
    }

    [Fact]
    public void A_lost_cell_has_no_place_on_the_scale()
    {
        var frame = Frame("no-data");
        var at = frame.PositionOf(Petrel.Cell("B12.4"))!.Value;
        Assert.True(double.IsNaN(frame.Deviation[at]));
        Assert.Equal(RuleFrame.None, BinaryPrimitives.ReadInt16LittleEndian(frame.ToBytes(0).AsSpan(RuleFrame.HeaderBytes + 3 * at)));
        Assert.DoesNotContain(double.NaN, frame.KnownDistances());
    }

    [Fact]
    public void A_doubtful_cell_is_shown_but_is_never_the_highest_or_the_lowest()
    {
        var frame = Frame("lead");
        var at = frame.PositionOf(Petrel.Cell("B16.3"))!.Value;
        Assert.InRange(frame.Deviation[at], 60, 64);
        Assert.NotEqual(at, frame.Highest);
        Assert.NotEqual(frame.PositionOf(Petrel.Cell("B16.2")), frame.Lowest);
    }

    [Fact]
    public void Position_and_channel_are_each_other_s_inverse()
    {
        var frame = Frame("normal");
        for (var cell = 0; cell < Petrel.Layout.CellCount; cell++) Assert.Equal(cell, frame.ChannelAt(frame.PositionOf(cell)!.Value));
    }

    [Fact]
    public void The_temperature_ruler_has_one_mark_a_sensor()
    {
        var frame = Frame("normal", RuleMode.Temperature);
        Assert.Equal(36, frame.Deviation.Length);
        Assert.Equal("B01 sensor 2", frame.NameAt(1));
        Assert.InRange(frame.Median!.Value, 21, 23);
    }

    [Fact]
    public void A_ruler_without_figures_says_why_instead_of_showing_zeros()
    {
        var state = Petrel.At("charging");
        Assert.Null(RuleFrame.From(state, RuleMode.Charge));
        Assert.Contains("rest", RuleFrame.WhyNot(state, RuleMode.Charge), StringComparison.Ordinal);
        Assert.Null(RuleFrame.WhyNot(state, RuleMode.Voltage));
    }
}
