using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;

namespace CellWatch.Host.Pipeline;

/// <summary>
/// With a simulated pack: lets its clock run on after each scan, once every emulated board has spoken since the scan before. On a machine too
/// busy for the pace the story then waits for program and boards, and no silence is seen that nobody made. A board that says nothing for a
/// second of real time (its lead may be out) is not waited for again until it has spoken.
/// </summary>
public sealed class StoryPace : IPackStateSink, IDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(1);

    private readonly Lock _gate = new();
    private readonly Action _letRun;
    private readonly IReadOnlyList<ReadingInbox> _boards;
    private readonly long[] _heard;
    private readonly bool[] _expected;
    private readonly ITimer _timer;
    private bool _waits;

    /// <param name="letRun">Lets the clock run on by its lead.</param>
    /// <param name="boards">What the boards say.</param>
    /// <param name="time">Real time.</param>
    public StoryPace(Action letRun, IReadOnlyList<ReadingInbox> boards, TimeProvider time)
    {
        (_letRun, _boards) = (letRun, boards);
        _heard = new long[boards.Count];
        _expected = new bool[boards.Count];
        _timer = time.CreateTimer(_ => GoOn(whoeverIsMissing: true), null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
        foreach (var board in boards) board.Completed += Spoke;
    }

    /// <inheritdoc/>
    public string Name => "pace of the story";

    /// <inheritdoc/>
    public void Offer(PackState state)
    {
        lock (_gate)
        {
            if (!_waits) _timer.Change(Patience, Timeout.InfiniteTimeSpan);
            _waits = true;
        }

        GoOn(whoeverIsMissing: false);
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        foreach (var board in _boards) board.Completed -= Spoke;
        _timer.Dispose();
    }

    private void Spoke() => GoOn(whoeverIsMissing: false);

    private void GoOn(bool whoeverIsMissing)
    {
        lock (_gate)
        {
            if (!_waits || (!whoeverIsMissing && !AllSpoke())) return;
            _waits = false;
            for (var i = 0; i < _boards.Count; i++)
            {
                var said = _boards[i].Groups;
                _expected[i] = said != _heard[i];
                _heard[i] = said;
            }

            _letRun();
        }
    }

    private bool AllSpoke()
    {
        for (var i = 0; i < _boards.Count; i++)
            if (_expected[i] && _boards[i].Groups == _heard[i]) return false;
        return true;
    }
}
