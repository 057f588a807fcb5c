using CellWatch.Core.FrontEnds;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Running;
using CellWatch.Simulation.Controls;
using CellWatch.Simulation.Stories;
using CellWatch.Simulation.Time;
using Microsoft.Extensions.Time.Testing;

namespace CellWatch.Simulation.Tests;

/// <summary>The whole way: model, emulated boards, bytes, the real front ends, inboxes, a scan.</summary>
public sealed class SimulatedSiteTests : IAsyncLifetime, IDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);

    private readonly FakeTimeProvider _real = new(new DateTimeOffset(2026, 3, 9, 12, 0, 0, TimeSpan.Zero));
    private readonly CancellationTokenSource _stop = new();
    private readonly ScaledTimeProvider _clock;
    private readonly SimulatedSite _site;
    private readonly ChannelMap _map;
    private readonly List<FrontEndRunner> _frontEnds = [];
    private readonly List<ReadingInbox> _inboxes = [];
    private readonly List<Task> _running = [];
    private readonly Assembler _assembler;
    private static readonly TimeSpan Pace = TimeSpan.FromMilliseconds(2);

    private readonly SnapshotBuffer _scan;

    public SimulatedSiteTests()
    {
        var story = FirstChargeStory.Create();
        _clock = SimulatedSite.CreateClock(story, inner: _real);
        _site = new SimulatedSite(story, _clock);
        _map = new ChannelMap(_site.Layout);
        var context = FrontEndContext.On(_clock);
        foreach (var board in _site.Boards)
        {
            var inbox = new ReadingInbox(_map, board.Plan.Name, Origin.Simulated);
            _inboxes.Add(inbox);
            _frontEnds.Add(board.CreateFrontEnd(_map, inbox, context));
        }

        _assembler = new Assembler(_map, _inboxes, new Freshness());
        foreach (var proof in _site.Proofs) _assembler.SetProven(proof.Channel, true);
        _scan = new SnapshotBuffer(_map);
    }

    public Task InitializeAsync()
    {
        _site.PlayPast(Now, 60, _ => { });
        foreach (var frontEnd in _frontEnds) _running.Add(frontEnd.RunAsync(_stop.Token));
        _running.Add(_site.RunAsync(_stop.Token));
        return Task.CompletedTask;
    }

    public async Task DisposeAsync()
    {
        await _stop.CancelAsync();
        await Task.WhenAll(_running).WaitAsync(Patience);
    }

    public void Dispose() => _stop.Dispose();

    [Fact]
    public void Every_channel_arrives_good_proven_simulated_and_equal_to_what_the_instruments_show()
    {
        RunUntil(() => Scan().Quality.IndexOfAnyExcept(Quality.Good) < 0);

        // The clock stands, so boards and test read the same tick: the wires must carry every digit.
        foreach (var board in _site.Boards) board.ScanNow();
        var channels = Enumerable.Range(0, _map.Count).ToArray();
        var shown = new double[channels.Length];
        _site.Pack.Read(_site.StoryClock.StoryTimeS, channels, shown);
        int[] fast = [.. channels.Where(c => _map.KindOf(c) is ChannelKind.CellVoltage or ChannelKind.PackCurrent or ChannelKind.StringVoltage or ChannelKind.Bleed)];
        SpinWait.SpinUntil(() => Array.TrueForAll(fast, c => Math.Abs(Scan().RawValues[c] - shown[c]) < 1e-6), Patience);
        var scan = Scan();
        foreach (var channel in fast) Assert.Equal(shown[channel], scan.RawValues[channel], 6);
        foreach (var channel in channels)
        {
            Assert.Equal(Origin.Simulated, scan.Origin[channel]);
            Assert.True(scan.Proven[channel]);
        }
    }

    [Fact]
    public void Every_instrument_is_alive_isolated_simulated_and_who_it_should_be_with_nothing_lost()
    {
        RunUntil(() => _frontEnds.All(f => f.Health.State == LinkState.Alive && f.Health.BleedTimeoutS is not null));
        for (var i = 0; i < 40; i++) Settle();

        foreach (var (frontEnd, plan) in _frontEnds.Zip(_site.Story.Boards))
        {
            var health = frontEnd.Health;
            Assert.Equal((plan.Serial, LinkState.Alive, Isolation.Yes, true), (health.Identity, health.State, health.Isolated, health.Simulated));
            Assert.Equal(60, health.BleedTimeoutS);
            Assert.Empty(health.Garbage);
            Assert.Equal(0, health.LostFrames);
            Assert.Equal(0, health.LinkLosses);
        }
    }

    [Fact]
    public void A_pulled_lead_takes_36_cells_away_within_five_seconds_and_putting_it_back_brings_them_again()
    {
        RunUntil(() => Scan().Quality.IndexOfAnyExcept(Quality.Good) < 0);
        _site.Controls.Trigger(PressKeys.PullLead);
        RunUntil(() => _frontEnds[2].Health.State == LinkState.Waiting);
        var pulled = _clock.Elapsed;

        RunUntil(() => Unseen() == 36);

        Assert.True(_clock.Elapsed - pulled < TimeSpan.FromSeconds(5), $"{_clock.Elapsed - pulled}");
        Assert.True(Scan().TryGetPackCurrentA(out _));

        _site.Controls.Trigger(PressKeys.PullLead);
        RunUntil(() => Unseen() == 0);
        Assert.Equal("PTR-0103", _frontEnds[2].Health.Identity);
    }

    [Fact]
    public void The_adapter_is_taken_into_service_again_after_its_lead_was_out()
    {
        RunUntil(() => Unseen() == 0);
        _site.Controls.PullLead(2, isOut: true);
        RunUntil(() => Unseen() == 36);

        _site.Controls.PullLead(2, isOut: false);

        RunUntil(() => Unseen() == 0);
        Assert.True(_frontEnds[1].Health.LinkLosses > 0);
    }

    [Fact]
    public void A_channel_with_an_open_tap_arrives_open_over_both_wires()
    {
        RunUntil(() => Unseen() == 0);

        _site.Controls.Trigger(PressKeys.OpenTap);

        // B12 hangs on the CAN board: its code for an open lead says that there is no value.
        var lower = PetrelPack.Cell(_site.Layout, "B12.2");
        // In one and the same scan: both cells at the tap without a value by the board's own word (not merely late), their neighbour good.
        RunUntil(() =>
        {
            var cells = Scan().CellQuality;
            return (cells[lower] is Quality.Missing or Quality.Open) && (cells[lower + 1] is Quality.Missing or Quality.Open) && cells[lower - 1] == Quality.Good;
        });
    }

    [Fact]
    public async Task After_a_leap_the_boards_have_spoken_and_no_link_was_lost()
    {
        RunUntil(() => Unseen() == 0);
        _site.Controls.Trigger(PressKeys.NextMorning);
        await _site.Controls.LeapDone.WaitAsync(Patience);

        RunUntil(() => Unseen() == 0 && _map.Layout.CellCount == 108);

        Assert.InRange(_clock.GetUtcNow().TimeOfDay.TotalHours, 6.1, 6.3);
        Assert.True(Scan().TryGetPackCurrentA(out var current));
        Assert.InRange(current, -0.3, 0.3);
    }

    private SnapshotTime Now => new(_clock.Elapsed.Ticks / 10, _clock.GetUtcNow().ToUnixTimeMilliseconds());

    private Snapshot Scan()
    {
        _assembler.Assemble(_scan, Now);
        return _scan.View;
    }

    private int Unseen()
    {
        var unseen = 0;
        foreach (var quality in Scan().CellQuality)
            if (quality != Quality.Good) unseen++;
        return unseen;
    }

    /// <summary>Lets half a second of the story pass and something of every board's scan of it arrive.</summary>
    private void Settle()
    {
        var before = _inboxes.Select(i => i.Groups).ToArray();
        _real.Advance(TimeSpan.FromSeconds(0.5 / _clock.Factor) + TimeSpan.FromMilliseconds(1));
        Assert.True(SpinWait.SpinUntil(() => _inboxes.Zip(before).All(p => p.First.Groups > p.Second), Patience));
    }

    private void RunUntil(Func<bool> isSo)
    {
        var deadline = System.Diagnostics.Stopwatch.StartNew();
        while (!isSo())
        {
            Assert.True(deadline.Elapsed < Patience, "It never came.");
            // The clock must not outrun the tasks that read the boards, else links fall silent that never were.
            var before = _inboxes.Sum(i => i.Groups);
            _real.Advance(TimeSpan.FromMilliseconds(2));
            SpinWait.SpinUntil(() => _inboxes.Sum(i => i.Groups) > before, Pace);
        }
    }
}
