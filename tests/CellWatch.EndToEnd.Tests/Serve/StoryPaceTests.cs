using CellWatch.Core.Snapshots;
using CellWatch.Host.Pipeline;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.Time.Testing;
using Xunit;

namespace CellWatch.EndToEnd.Tests.Serve;

/// <summary>The demo's clock waits for scans and boards, never for ever.</summary>
public sealed class StoryPaceTests : IDisposable
{
    private static readonly ChannelMap Map = Petrel.At("normal").Snapshot.Map;
    private readonly FakeTimeProvider _time = new();
    private readonly ReadingInbox[] _boards = [new(Map, "one", Origin.Simulated), new(Map, "two", Origin.Simulated)];
    private readonly StoryPace _pace;
    private int _ran;

    public StoryPaceTests() => _pace = new StoryPace(() => _ran++, _boards, _time);

    public void Dispose() => _pace.Dispose();

    [Fact]
    public void A_scan_lets_the_clock_run_when_every_board_has_spoken_and_a_late_board_when_it_does()
    {
        Round(0, 1);
        Assert.Equal(1, _ran);
        Round(0);
        Assert.Equal(1, _ran);
        Speak(1);
        Assert.Equal(2, _ran);
        Round(0, 1);
        Assert.Equal(3, _ran);
    }

    [Fact]
    public void A_board_that_stays_silent_is_waited_for_once_until_it_speaks_again()
    {
        Round(0, 1);
        Round(0);
        _time.Advance(TimeSpan.FromSeconds(0.9));
        Assert.Equal(1, _ran);
        _time.Advance(TimeSpan.FromSeconds(0.2));
        Assert.Equal(2, _ran);
        Round(0);
        Round(0);
        Assert.Equal(4, _ran);
        Round(0, 1);
        Round(0);
        Assert.Equal(5, _ran);
    }

    [Fact]
    public void Without_any_board_each_scan_lets_it_run()
    {
        Round();
        Round();
        Assert.Equal(2, _ran);
    }

    // A board that has forgotten what it said is complete anew with its next word, as after a scan.
    private void Round(params int[] boards)
    {
        foreach (var board in boards) Speak(board);
        _pace.Offer(Petrel.At("normal"));
    }

    private void Speak(int board)
    {
        _boards[board].Forget();
        _boards[board].Post([new Reading(board, 3.9)], 0);
    }
}
