using CellWatch.Core.Inputs;
using CellWatch.FrontEnds.Transport;

namespace CellWatch.FrontEnds.Inputs;

/// <summary>
/// Looks at one contact fifty times a second and tells its presses. A contact that cannot be opened or read is tried again after 0.5 s, then
/// after pauses that double up to 10 s; what happened meanwhile counts for nothing.
/// </summary>
public sealed class ContactReader
{
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(20);
    private static readonly TimeSpan FirstPause = TimeSpan.FromSeconds(0.5);
    private static readonly TimeSpan LongestPause = TimeSpan.FromSeconds(10);

    private readonly IContactLine _line;
    private readonly TimeProvider _time;
    private readonly ContactTimes _times;
    private readonly Func<InputView, Task<string>> _press;
    private readonly Action<InputView> _changed;
    private volatile InputView _view;

    /// <param name="name">Its name in the site file.</param>
    /// <param name="purpose">What a press asks for.</param>
    /// <param name="line">Where it is wired.</param>
    /// <param name="time">All times and pauses.</param>
    /// <param name="press">Carries a press out and gives the answer to it.</param>
    /// <param name="changed">Told each change of its state once.</param>
    /// <param name="times">Times of the judge.</param>
    public ContactReader(string name, InputPurpose purpose, IContactLine line, TimeProvider time, Func<InputView, Task<string>> press, Action<InputView> changed, ContactTimes? times = null)
    {
        (_line, _time, _press, _changed, _times) = (line, time, press, changed, times ?? new ContactTimes());
        _view = new InputView { Name = name, Place = line.Place, Purpose = purpose };
    }

    /// <summary>How it is now; safe to read from any thread.</summary>
    public InputView View => _view;

    /// <summary>Runs until cancelled. Never throws for a fault of the wire.</summary>
    public async Task RunAsync(CancellationToken cancellation)
    {
        var pause = FirstPause;
        try
        {
            while (true)
            {
                try
                {
                    using var contact = _line.Open();
                    Set(InputState.Well, "");
                    pause = FirstPause;
                    await FollowAsync(contact, cancellation);
                }
                catch (PortException fault)
                {
                    Set(InputState.Lost, fault.Message);
                }

                await Task.Delay(pause, _time, cancellation);
                pause = pause * 2 < LongestPause ? pause * 2 : LongestPause;
            }
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
            Set(InputState.Closed, "");
        }
    }

    private async Task FollowAsync(IOpenContact contact, CancellationToken cancellation)
    {
        var judge = new ContactJudge(_times);
        var began = _time.GetTimestamp();
        using var timer = new PeriodicTimer(Look, _time);
        do
        {
            switch (judge.Look(contact.IsClosed(), (long)(_time.GetElapsedTime(began).TotalMicroseconds)))
            {
                case ContactNews.Stuck:
                    Set(InputState.Stuck, "It has been closed for longer than a press lasts: it is stuck, shorted or something stands on it. It counts for nothing until it was open again.");
                    break;
                case ContactNews.Fluttering:
                    Set(InputState.Fluttering, "It opens and closes faster than a hand does: look for a loose wire. It counts for nothing until it has been quiet for some seconds.");
                    break;
                case ContactNews.Well:
                    Set(InputState.Well, "");
                    break;
                case ContactNews.Pressed:
                    _view = _view with { Presses = _view.Presses + 1, LastPressUnixMs = _time.GetUtcNow().ToUnixTimeMilliseconds() };
                    _view = _view with { LastAnswer = await _press(_view) };
                    break;
            }
        }
        while (await timer.WaitForNextTickAsync(cancellation));
    }

    private void Set(InputState state, string fault)
    {
        if (_view.State == state && _view.Fault == fault) return;
        _view = _view with { State = state, Fault = fault };
        _changed(_view);
    }
}
