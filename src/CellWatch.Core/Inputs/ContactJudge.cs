namespace CellWatch.Core.Inputs;

/// <summary>What a look at a contact told.</summary>
public enum ContactNews : byte
{
    /// <summary>Nothing new.</summary>
    None,

    /// <summary>It was open, was closed for a while and is open again: one press.</summary>
    Pressed,

    /// <summary>It has been closed for longer than a press lasts: stuck, shorted or leant on. Said once.</summary>
    Stuck,

    /// <summary>It closes and opens faster than a hand does: a loose wire. Said once.</summary>
    Fluttering,

    /// <summary>It is open and quiet again after it was stuck or fluttering.</summary>
    Well,
}

/// <summary>
/// Judges a switch by looks at its contact. Only the change open, closed, open counts, quiet before and after, and it counts when the switch
/// was let go: a contact that is closed from the start, stays closed or flutters is no press, and a broken wire, which stays open, never is.
/// <code>
///  not ready --open and quiet--> ready --closes--> closing --stays closed--> held --opens--> releasing --open and quiet--> PRESSED, ready
///      ^                                              |                       |                  |
///      +---------------- will not settle, closed too long, closes again ------+------------------+
/// </code>
/// Pure: time is an argument.
/// </summary>
/// <param name="times">Times.</param>
public sealed class ContactJudge(ContactTimes times)
{
    private readonly Queue<long> _changesUs = new();
    private long? _lookedUs;
    private bool _closed;
    private long _sinceUs;      // Since when the contact is as it is.
    private Step _step;
    private long _stepSinceUs;

    private enum Step : byte { NotReady, Ready, Closing, Held, Releasing }

    /// <summary>Whether it is known to be stuck.</summary>
    public bool IsStuck { get; private set; }

    /// <summary>Whether it is known to flutter.</summary>
    public bool IsFluttering { get; private set; }

    /// <summary>Takes one look.</summary>
    /// <param name="isClosed">The contact now.</param>
    /// <param name="nowUs">Elapsed time, µs; never goes back.</param>
    public ContactNews Look(bool isClosed, long nowUs)
    {
        // Nobody looked for a while (the machine slept, the line was lost): what happened meanwhile is not known, so nothing of it counts.
        if (_lookedUs is not { } before || nowUs - before > times.LongestBlindUs)
        {
            _changesUs.Clear();
            (_closed, _sinceUs) = (isClosed, nowUs);
            Go(Step.NotReady, nowUs);
        }

        _lookedUs = nowUs;
        if (isClosed != _closed)
        {
            (_closed, _sinceUs) = (isClosed, nowUs);
            _changesUs.Enqueue(nowUs);
        }

        while (_changesUs.TryPeek(out var first) && nowUs - first > times.FlutterWindowUs) _changesUs.Dequeue();
        if (!IsFluttering && _changesUs.Count > times.FlutterChanges)
        {
            IsFluttering = true;
            Go(Step.NotReady, nowUs);
            return ContactNews.Fluttering;
        }

        return Advance(nowUs);
    }

    private ContactNews Advance(long nowUs)
    {
        var (stillUs, inStepUs) = (nowUs - _sinceUs, nowUs - _stepSinceUs);
        var isQuietlyOpen = !_closed && stillUs >= times.QuietUs;
        switch (_step)
        {
            case Step.NotReady when isQuietlyOpen && !(IsFluttering && _changesUs.Count > 0):
                Go(Step.Ready, nowUs);
                if (!IsStuck && !IsFluttering) break;
                (IsStuck, IsFluttering) = (false, false);
                return ContactNews.Well;
            case Step.NotReady or Step.Held when _closed && stillUs > times.LongestPressUs && !IsStuck:
                IsStuck = true;
                Go(Step.NotReady, nowUs);
                return ContactNews.Stuck;
            case Step.Ready when _closed:
                Go(Step.Closing, nowUs);
                break;
            case Step.Closing when _closed && stillUs >= times.DebounceUs:
                Go(Step.Held, nowUs);
                break;
            case Step.Held when !_closed:
                Go(Step.Releasing, nowUs);
                break;
            case Step.Releasing when isQuietlyOpen:
                Go(Step.Ready, nowUs);
                return ContactNews.Pressed;
            case Step.Closing when inStepUs > times.QuietUs:
            case Step.Releasing when _closed && inStepUs > times.BounceUs:
                Go(Step.NotReady, nowUs);
                break;
        }

        return ContactNews.None;
    }

    private void Go(Step step, long nowUs) => (_step, _stepSinceUs) = (step, nowUs);
}

/// <summary>Times of a <see cref="ContactJudge"/>; common practice, no source.</summary>
public sealed record ContactTimes
{
    /// <summary>Time a contact must stay closed to be believed, µs.</summary>
    public long DebounceUs { get; init; } = 40_000;

    /// <summary>Time within which a switch may bounce when it is let go, µs; most bounce for 1 to 20 ms.</summary>
    public long BounceUs { get; init; } = 100_000;

    /// <summary>Time it must be open without a change before and after a press, µs: a hand does that, a rubbing wire seldom.</summary>
    public long QuietUs { get; init; } = 250_000;

    /// <summary>Longest press, µs; what is closed for longer is stuck.</summary>
    public long LongestPressUs { get; init; } = 5_000_000;

    /// <summary>Longest time between two looks over which a press may reach, µs.</summary>
    public long LongestBlindUs { get; init; } = 500_000;

    /// <summary>Stretch in which changes are counted, µs; a fluttering contact must be quiet for as long to be well again.</summary>
    public long FlutterWindowUs { get; init; } = 5_000_000;

    /// <summary>Changes in that stretch a hand may make, bounce included.</summary>
    public int FlutterChanges { get; init; } = 30;
}
