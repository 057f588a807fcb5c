using CellWatch.Core.FrontEnds;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.TextLines;

namespace CellWatch.FrontEnds.Tests.Running;

public class FrontEndRunnerTests
{
    [Fact]
    public async Task Sentences_become_readings_and_the_link_is_alive()
    {
        await using var bench = new Bench();
        await bench.StartAsync();
        Assert.Equal(LinkState.Listening, bench.Health.State);
        bench.SendCells(new TextSentenceWriter("FE0412"));
        await Bench.UntilAsync(() => bench.Health.Frames == 2);

        var scan = bench.Scan();
        Assert.Equal([3.9, 3.901, 3.902, 3.903, 3.904, 3.905], scan.RawCellVoltageV[..6].ToArray().Select(v => Math.Round(v, 6)));
        Assert.All(scan.CellQuality[..6].ToArray(), q => Assert.Equal(Quality.Good, q));
        Assert.Equal(Quality.Missing, scan.CellQuality[6]);
        Assert.Equal(Origin.Measured, scan.Origin[0]);
        var health = bench.Health;
        Assert.Equal((LinkState.Alive, "FE0412", "B01-B03", Isolation.Yes), (health.State, health.Identity, health.Modules, health.Isolated));
        Assert.Equal((60.0, 31.5, 12.1, false), (health.BleedTimeoutS, health.BoardTemperatureDegC, health.SupplyV, health.Simulated));
        Assert.Equal(18 + 6 + 2 + 18 + 2, health.Channels.Length);
        bench.Time.Advance(TimeSpan.FromSeconds(0.6));
        Assert.Equal(2, bench.Health.RecentRaw.Length);
        Assert.Empty(health.Fault);
    }

    [Fact]
    public async Task A_pulled_lead_is_a_lost_link_at_once_and_attempts_wait_longer_and_longer()
    {
        await using var bench = new Bench();
        await bench.StartAsync();
        var board = new TextSentenceWriter("FE0412");
        bench.SendCells(board);
        await Bench.UntilAsync(() => bench.Health.State == LinkState.Alive);

        bench.Port.Unplug();
        await Bench.UntilAsync(() => bench.Health.State == LinkState.Waiting);
        Assert.Equal(1, bench.Health.LinkLosses);
        Assert.Contains("lost", bench.Health.Fault, StringComparison.Ordinal);

        var pauses = new List<double>();
        for (var attempt = 1; attempt <= 6; attempt++)
        {
            var due = bench.Health.NextAttemptUnixMs!.Value;
            pauses.Add((due - bench.Time.GetUtcNow().ToUnixTimeMilliseconds()) / 1000.0);
            bench.Time.Advance(TimeSpan.FromMilliseconds(due - bench.Time.GetUtcNow().ToUnixTimeMilliseconds()));
            await Bench.UntilAsync(() => bench.Health.Attempt == attempt && bench.Health.NextAttemptUnixMs > due);
            // The task must be waiting again before the clock moves on.
            await Task.Delay(20);
        }

        Assert.Equal([0.5, 1, 2, 4, 8, 10], pauses);
        Assert.Equal(1, bench.Health.LinkLosses);
        Assert.Equal(Quality.Stale, bench.QualityOf(0));

        bench.Port.PlugIn();
        await bench.AdvanceUntilAsync(() => bench.Port.IsOpen);
        bench.SendCells(board, 3.8);
        await Bench.UntilAsync(() => bench.Health.State == LinkState.Alive);
        Assert.Equal(3.8, bench.Value(0), 1e-9);
        Assert.Equal(0, bench.Health.Attempt);
    }

    [Fact]
    public async Task Another_device_on_the_port_is_noticed_and_its_data_are_not_taken()
    {
        await using var bench = new Bench();
        await bench.StartAsync();
        bench.SendCells(new TextSentenceWriter("FE0412"));
        await Bench.UntilAsync(() => bench.Health.Frames == 2);
        bench.Port.Unplug();
        await Bench.UntilAsync(() => bench.Health.State == LinkState.Waiting);
        bench.Port.PlugIn();
        await bench.AdvanceUntilAsync(() => bench.Port.IsOpen);

        // No identity was configured: the first one heard is the one that must come back.
        bench.SendCells(new TextSentenceWriter("FE0999"), 3.1);
        await Bench.UntilAsync(() => bench.Health.State == LinkState.WrongIdentity);
        Assert.Contains("'FE0999' answers on pipe, expected was 'FE0412'", bench.Health.Fault, StringComparison.Ordinal);
        Assert.Equal(Quality.Missing, bench.QualityOf(0));

        bench.SendCells(new TextSentenceWriter("FE0412", 100), 3.8);
        await Bench.UntilAsync(() => bench.Health.State == LinkState.Alive);
        Assert.Equal(3.8, bench.Value(0), 1e-9);
    }

    [Fact]
    public async Task Silence_reopens_the_port()
    {
        await using var bench = new Bench();
        await bench.StartAsync();
        bench.SendCells(new TextSentenceWriter("FE0412"));
        await Bench.UntilAsync(() => bench.Health.Frames == 2);
        await bench.AdvanceUntilAsync(() => bench.Health.LinkLosses == 1);
        Assert.Contains("nothing arrived for 5 s", bench.Health.Fault, StringComparison.Ordinal);
        await bench.AdvanceUntilAsync(() => bench.Port.IsOpen);
    }

    [Fact]
    public async Task A_board_that_says_it_is_a_model_is_never_measured()
    {
        await using var bench = new Bench();
        await bench.StartAsync();
        var board = new TextSentenceWriter("FE0412");
        board.BeginCells(1);
        for (var i = 0; i < 6; i++) board.Add(3.9, 4);
        bench.Send(board.End());
        await Bench.UntilAsync(() => bench.Health.Frames == 1);
        // Before it has said what it is, nobody knows.
        Assert.Equal(Origin.Unknown, bench.Scan().Origin[0]);

        board.BeginStatus();
        for (var i = 0; i < 3; i++) board.AddNoData();
        board.AddStatus(isolated: null, isSimulated: true);
        bench.Send(board.End());
        await Bench.UntilAsync(() => bench.Health.Frames == 2);
        Assert.Equal(Origin.Simulated, bench.Scan().Origin[0]);
        Assert.True(bench.Health.Simulated);
        Assert.Equal(Isolation.Unknown, bench.Health.Isolated);
    }

    [Fact]
    public async Task What_the_board_says_of_its_isolation_can_only_make_it_worse()
    {
        await using var bench = new Bench(Bench.TextOptions with { Isolated = Isolation.No });
        await bench.StartAsync();
        bench.SendCells(new TextSentenceWriter("FE0412"));
        await Bench.UntilAsync(() => bench.Health.Frames == 2);
        Assert.Equal(Isolation.No, bench.Health.Isolated);
    }

    [Fact]
    public async Task Every_change_of_the_link_is_logged_once()
    {
        await using var bench = new Bench();
        await bench.StartAsync();
        bench.SendCells(new TextSentenceWriter("FE0412"));
        await Bench.UntilAsync(() => bench.Health.Frames == 2);
        bench.Port.Unplug();
        await bench.AdvanceUntilAsync(() => bench.Health.Attempt >= 4);
        lock (bench.Log)
        {
            Assert.Equal(3, bench.Log.Count);
            Assert.Contains("frames arrive on pipe", bench.Log[0], StringComparison.Ordinal);
            Assert.Contains("lost", bench.Log[1], StringComparison.Ordinal);
            Assert.Contains("not plugged in", bench.Log[2], StringComparison.Ordinal);
        }
    }
}
