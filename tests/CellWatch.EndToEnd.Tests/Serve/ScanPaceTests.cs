using CellWatch.Core.Snapshots;
using CellWatch.Host.Pipeline;
using CellWatch.Testing;
using Microsoft.Extensions.Time.Testing;

namespace CellWatch.EndToEnd.Tests.Serve;

/// <summary>When scans are taken: at the set rate, and within it as the boards speak.</summary>
public sealed class ScanPaceTests : IDisposable
{
    private static readonly TimeSpan Period = TimeSpan.FromMilliseconds(500);

    private readonly FakeTimeProvider _time = new(DateTimeOffset.UnixEpoch);
    private readonly ChannelMap _map = new SyntheticPack(modules: 1).Map;
    private readonly ReadingInbox _first;
    private readonly ReadingInbox _second;
    private readonly Assembler _assembler;
    private readonly SnapshotBuffer _buffer;
    private readonly ScanPace _pace;

    public ScanPaceTests()
    {
        _first = new ReadingInbox(_map, "first", Origin.Measured);
        _second = new ReadingInbox(_map, "second", Origin.Measured);
        _assembler = new Assembler(_map, [_first, _second], new Freshness());
        _buffer = new SnapshotBuffer(_map);
        _pace = new ScanPace([_first, _second], Period, _time);
    }

    [Fact]
    public void Without_a_word_the_set_rate_rules()
    {
        Assert.Equal([500, 1000, 1500], Scans(1600, _ => { }));
    }

    [Fact]
    public void Scans_drift_to_the_moment_at_which_the_last_board_has_spoken_and_stay_there()
    {
        var scans = Scans(60_000, ms =>
        {
            if (ms % 500 == 20) Say(_first, 0);
            if (ms % 500 == 80) Say(_second, 3);
        });
        Assert.All(scans.Where(s => s > 30_000), s => Assert.Equal(80, s % 500));
        Assert.All(Distances(scans), d => Assert.InRange(d, 450, 625));
    }

    [Fact]
    public void A_board_that_is_dead_is_not_waited_for()
    {
        var scans = Scans(90_000, ms =>
        {
            if (ms % 500 == 20) Say(_first, 0);
            if (ms % 500 == 80 && ms < 30_000) Say(_second, 3);
        });
        // Once the second board has been silent for a round, scans follow the first alone.
        Assert.All(scans.Where(s => s > 45_000), s => Assert.Equal(20, s % 500));
        Assert.All(Distances(scans), d => Assert.InRange(d, 450, 625));
    }

    [Fact]
    public void A_board_slower_than_the_set_rate_does_not_slow_the_scans()
    {
        var scans = Scans(30_000, ms =>
        {
            if (ms % 3000 == 130) Say(_first, 0);
        });
        Assert.InRange(scans.Count, 57, 61);
    }

    [Fact]
    public void A_board_faster_than_the_set_rate_hurries_the_scans_by_one_in_fifty_at_most()
    {
        var scans = Scans(30_000, ms =>
        {
            if (ms % 30 == 0) Say(_first, 0);
        });
        Assert.InRange(scans.Count, 60, 62);
    }

    public void Dispose() => _pace.Dispose();

    private static IEnumerable<int> Distances(List<int> scans) => scans.Zip(scans.Skip(1), (one, next) => next - one);

    private void Say(ReadingInbox inbox, int firstCell)
    {
        Span<Reading> round = [new(firstCell, 3.7), new(firstCell + 1, 3.7), new(firstCell + 2, 3.7)];
        inbox.Post(round, (long)(_time.GetUtcNow() - DateTimeOffset.UnixEpoch).TotalMicroseconds);
    }

    /// <summary>Lets the clock run millisecond by millisecond and tells at which one each scan was taken.</summary>
    private List<int> Scans(int lengthMs, Action<int> boards)
    {
        var scans = new List<int>();
        for (var ms = 0; ms < lengthMs; ms++)
        {
            boards(ms);
            if (_pace.IsDue(out var wait))
            {
                scans.Add(ms);
                _assembler.Assemble(_buffer, new SnapshotTime(ms * 1000L, ms));
            }
            else
            {
                Assert.InRange(wait, TimeSpan.FromTicks(1), Period * ScanPace.LatestPart);
            }

            _time.Advance(TimeSpan.FromMilliseconds(1));
        }

        return scans;
    }
}
