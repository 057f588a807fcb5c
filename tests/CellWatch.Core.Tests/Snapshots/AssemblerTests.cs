using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Tests.Snapshots;

public class AssemblerTests
{
    private readonly ChannelMap _map;
    private readonly ReadingInbox _first;
    private readonly ReadingInbox _second;
    private readonly Assembler _assembler;
    private readonly SnapshotBuffer _snapshot;

    public AssemblerTests()
    {
        var topology = new ModuleTopology(2, 1);
        _map = new ChannelMap(new PackLayout("test", [new PackModule(new ModuleId("A"), topology, 1, 1), new PackModule(new ModuleId("B"), topology, 0, 2)]));
        _first = new ReadingInbox(_map, "1", Origin.Measured);
        _second = new ReadingInbox(_map, "2", Origin.Simulated);
        _assembler = new Assembler(_map, [_first, _second], new Freshness { ElectricalS = 4 });
        _snapshot = new SnapshotBuffer(_map);
    }

    private static SnapshotTime At(double elapsedS) => new((long)(elapsedS * 1e6), 1_000_000 + (long)(elapsedS * 1e3));

    [Fact]
    public void Boards_of_different_rates_stand_in_one_scan_with_their_own_ages_and_origins()
    {
        _first.Post([new Reading(0, 3.9), new Reading(1, 3.8)], 500_000);
        _second.Post([new Reading(2, 3.7)], 900_000);

        _assembler.Assemble(_snapshot, At(1));

        Assert.Equal([3.9, 3.8, 3.7], _snapshot.View.RawCellVoltageV[..3].ToArray());
        Assert.Equal([Quality.Good, Quality.Good, Quality.Good, Quality.Missing], _snapshot.View.CellQuality.ToArray());
        Assert.Equal([Origin.Measured, Origin.Measured, Origin.Simulated, Origin.Unknown], _snapshot.View.Origin[..4].ToArray());
        Assert.Equal(500_000, _snapshot.View.AgeUs[0]);
        Assert.Equal(100_000, _snapshot.View.AgeUs[2]);
    }

    [Fact]
    public void A_dead_board_is_not_waited_for_and_its_cells_become_stale_alone()
    {
        _first.Post([new Reading(0, 3.9)], 0);
        _second.Post([new Reading(2, 3.7)], 0);
        _second.Post([new Reading(2, 3.71)], 5_000_000);

        _assembler.Assemble(_snapshot, At(5));

        Assert.Equal(Quality.Stale, _snapshot.View.CellQuality[0]);
        Assert.False(_snapshot.View.TryGet(0, out var gone));
        Assert.True(double.IsNaN(gone));
        Assert.True(_snapshot.View.TryGet(2, out var present));
        Assert.Equal(3.71, present);
    }

    [Fact]
    public void A_channel_nobody_wrote_is_missing_and_never_zero()
    {
        _assembler.Assemble(_snapshot, At(1));

        Assert.Equal(Quality.Missing, _snapshot.View.CellQuality[0]);
        Assert.True(double.IsNaN(_snapshot.View.RawCellVoltageV[0]));
        Assert.False(_snapshot.View.TryGetPackCurrentA(out _));
    }

    [Theory]
    [InlineData(ReadingMark.Open, Quality.Open)]
    [InlineData(ReadingMark.OutOfRange, Quality.OutOfRange)]
    [InlineData(ReadingMark.NoData, Quality.Missing)]
    public void What_the_wire_says_of_a_value_becomes_its_quality(ReadingMark mark, Quality quality)
    {
        _first.Post([new Reading(0, 3.9, mark)], 0);
        _assembler.Assemble(_snapshot, At(1));
        Assert.Equal(quality, _snapshot.View.CellQuality[0]);
    }

    [Fact]
    public void A_value_that_is_no_number_is_never_good()
    {
        _first.Post([new Reading(0, double.NaN)], 0);
        _assembler.Assemble(_snapshot, At(1));
        Assert.Equal(Quality.OutOfRange, _snapshot.View.CellQuality[0]);
    }

    [Fact]
    public void Of_two_sources_of_one_channel_the_newer_value_is_taken()
    {
        _first.Post([new Reading(0, 3.9)], 2_000_000);
        _second.Post([new Reading(0, 3.6)], 1_000_000);
        _assembler.Assemble(_snapshot, At(2));
        Assert.Equal(3.9, _snapshot.View.RawCellVoltageV[0]);
    }

    [Fact]
    public void A_forgotten_board_leaves_nothing_behind()
    {
        _first.Post([new Reading(0, 3.9)], 0);
        _first.Forget();
        _assembler.Assemble(_snapshot, At(1));
        Assert.Equal(Quality.Missing, _snapshot.View.CellQuality[0]);
    }

    [Fact]
    public void A_published_copy_does_not_change_with_the_next_scan()
    {
        _first.Post([new Reading(0, 3.9)], 0);
        _assembler.Assemble(_snapshot, At(1));
        var published = _snapshot.Freeze();
        _first.Post([new Reading(0, 3.5)], 1_500_000);
        _assembler.Assemble(_snapshot, At(2));

        Assert.Equal(3.9, published.RawCellVoltageV[0]);
        Assert.Equal(1, published.Sequence);
        Assert.Equal(2, _snapshot.View.Sequence);
    }

    [Fact]
    public void A_scan_allocates_nothing()
    {
        _first.Post([new Reading(0, 3.9)], 0);
        _assembler.Assemble(_snapshot, At(1));
        var before = GC.GetAllocatedBytesForCurrentThread();
        for (var i = 2; i < 1000; i++) _assembler.Assemble(_snapshot, At(i));
        Assert.Equal(0, GC.GetAllocatedBytesForCurrentThread() - before);
    }

    [Fact]
    public void Channel_names_are_those_a_person_reads()
    {
        Assert.Equal("A.2", _map.NameOf(1));
        Assert.Equal("A.t1", _map.NameOf(_map.FirstTemperature));
        Assert.Equal("packCurrentA", _map.NameOf(_map.PackCurrent));
        Assert.Equal("B.1.bleed", _map.NameOf(_map.FirstBleed + 2));
        Assert.Equal("degC", _map.UnitOf(_map.FirstTemperature));
    }
}
