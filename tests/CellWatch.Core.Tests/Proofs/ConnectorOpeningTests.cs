using CellWatch.Core.FrontEnds;
using CellWatch.Core.Live;
using CellWatch.Core.Proofs;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;

namespace CellWatch.Core.Tests.Proofs;

public class ConnectorOpeningTests
{
    private readonly ConnectorOpening opening = new(new ChannelMap(Some.Layout()));

    [Fact]
    public void Six_cells_that_fall_silent_for_five_seconds_while_their_instrument_speaks_are_an_opened_connector_once()
    {
        Assert.Null(opening.Step(State(0)));
        Assert.Null(opening.Step(State(1, Quality.Stale)));
        Assert.Null(opening.Step(State(5.5, Quality.Stale)));
        Assert.Equal([1], opening.Step(State(6, Quality.Missing)));
        Assert.Null(opening.Step(State(20, Quality.Missing)));
        // Plugged in again and opened again: told again.
        Assert.Null(opening.Step(State(30)));
        Assert.Null(opening.Step(State(31, Quality.Open)));
        Assert.Equal([1], opening.Step(State(36, Quality.Open)));
    }

    [Fact]
    public void An_instrument_that_is_gone_says_nothing_about_connectors_unless_every_lead_reads_open()
    {
        opening.Step(State(0));
        for (var t = 1; t < 20; t++) Assert.Null(opening.Step(State(t, Quality.Stale, LinkState.Waiting)));
        opening.Step(State(20));
        opening.Step(State(21, Quality.Open, LinkState.Waiting));
        Assert.Equal([1], opening.Step(State(26, Quality.Open, LinkState.Waiting)));
    }

    [Fact]
    public void A_short_silence_a_doubtful_cell_and_a_module_never_seen_are_none()
    {
        Assert.Null(opening.Step(State(0, Quality.Missing)));
        Assert.Null(opening.Step(State(10, Quality.Missing)));
        opening.Step(State(11));
        opening.Step(State(12, Quality.Stale));
        opening.Step(State(14));
        for (var t = 15; t < 30; t++) Assert.Null(opening.Step(State(t, Quality.Doubtful)));
    }

    /// <summary>The cells of the second module with a quality; all else is good. One instrument for the whole pack.</summary>
    private static PackState State(double timeS, Quality ofB02 = Quality.Good, LinkState link = LinkState.Alive) => Some.State(Some.Snapshot(Some.Layout(), 1, b =>
    {
        b.Begin(1, new SnapshotTime((long)(timeS * 1e6), Some.WallUnixMs));
        b.Qualities.Fill(Quality.Good);
        b.Qualities.Slice(6, 6).Fill(ofB02);
    })) with
    {
        FrontEnds = [Some.FrontEnd(state: link) with { Channels = [.. Enumerable.Range(0, 18)], LastFrameAgeS = link == LinkState.Alive ? 0.1 : 12 }],
    };
}
