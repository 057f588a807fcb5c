using CellWatch.Core.FrontEnds;
using CellWatch.FrontEnds.Transport;

namespace CellWatch.FrontEnds.Running;

/// <summary>
/// Runs one front end over a stream of bytes: opens its port, takes the device into service, decodes, and when the link is lost opens it
/// anew with a pause that doubles from 0.5 s to 10 s. Where the device may come back under another name, the ports are tried in turn; data are
/// taken only once the identity in the stream is the expected one.
/// </summary>
public sealed class FrontEndRunner : IFrontEnd
{
    private static readonly TimeSpan FirstPause = TimeSpan.FromSeconds(0.5);
    private static readonly TimeSpan LongestPause = TimeSpan.FromSeconds(10);
    private static readonly TimeSpan PresenceCheck = TimeSpan.FromSeconds(1);

    private readonly IBytePort[] _ports;
    private readonly IWireDecoder _decoder;
    private readonly LinkJournal _journal;
    private readonly BoardChannels _channels;
    private readonly FrontEndContext _context;
    private readonly TimeSpan _silence;
    private string _lastLogged = "";

    internal FrontEndRunner(string name, IEnumerable<IBytePort> ports, IWireDecoder decoder, LinkJournal journal, BoardChannels channels,
        FrontEndContext context, TimeSpan silence)
    {
        Name = name;
        _ports = [.. ports];
        _decoder = decoder;
        _journal = journal;
        _channels = channels;
        _context = context;
        _silence = silence;
        journal.Trying(_ports[0].Name, 0);
    }

    /// <inheritdoc/>
    public string Name { get; }

    /// <inheritdoc/>
    public FrontEndHealth Health => _journal.Picture(Name, _decoder.Wire, _channels);

    /// <inheritdoc/>
    public async Task RunAsync(CancellationToken cancellation)
    {
        var pause = FirstPause;
        var attempt = 0;
        for (var turn = 0; !cancellation.IsCancellationRequested; turn++)
        {
            var port = _ports[turn % _ports.Length];
            _journal.Trying(port.Name, ++attempt);
            var (fault, wasOpen) = await RunSessionAsync(port, cancellation);
            if (cancellation.IsCancellationRequested) break;

            if (_journal.HadFramesThisSession && wasOpen)
            {
                // It worked here: begin again with the same port and without delay grown from older trouble.
                turn--;
                attempt = 0;
                pause = FirstPause;
            }

            _journal.Waiting(fault, pause, isLoss: wasOpen);
            Log(FrontEndNote.Warning, fault);
            try
            {
                await Task.Delay(pause, _context.Time, cancellation);
            }
            catch (OperationCanceledException)
            {
                break;
            }

            if (turn % _ports.Length == _ports.Length - 1 || _ports.Length == 1)
                pause = pause * 2 < LongestPause ? pause * 2 : LongestPause;
        }

        _journal.Closed();
    }

    /// <summary>One session from open to loss; says how it ended.</summary>
    private async Task<(string Fault, bool WasOpen)> RunSessionAsync(IBytePort port, CancellationToken cancellation)
    {
        IByteLink link;
        try
        {
            link = await port.OpenAsync(cancellation);
        }
        catch (PortException e)
        {
            return (e.Message, false);
        }
        catch (OperationCanceledException)
        {
            return ("stopped", false);
        }

        try
        {
            _decoder.Reset();
            _journal.Opened(port.Name, _decoder);
            await _decoder.StartAsync(link.Stream, cancellation);
            return (await ReadUntilLostAsync(port, link, cancellation), true);
        }
        catch (PortException e)
        {
            return (e.Message, true);
        }
        catch (OperationCanceledException)
        {
            await _decoder.StopAsync(link.Stream, CancellationToken.None);
            return ("stopped", true);
        }
        catch (Exception e) when (IsLinkLoss(e))
        {
            return ($"{port.Name}: the link is lost ({e.Message})", true);
        }
        finally
        {
            await link.DisposeAsync();
        }
    }

    private async Task<string> ReadUntilLostAsync(IBytePort port, IByteLink link, CancellationToken cancellation)
    {
        var buffer = new byte[4096];
        var lastByte = _context.Time.GetTimestamp();
        while (true)
        {
            var read = link.Stream.ReadAsync(buffer, cancellation);
            int length;
            if (read.IsCompletedSuccessfully) length = read.Result;
            else
            {
                var pending = read.AsTask();
                while (!await EndsWithinAsync(pending, cancellation))
                {
                    // A system that forgets to wake the reader is caught here, and so is a device that fell silent.
                    if (!link.IsPresent) return $"{port.Name} is gone: the lead was pulled or the device restarted.";
                    if (_context.Time.GetElapsedTime(lastByte) >= _silence)
                        return FormattableString.Invariant($"{port.Name}: nothing arrived for {_silence.TotalSeconds:0.#} s.");
                }

                length = await pending;
            }

            if (length == 0) return $"{port.Name}: the link is lost (closed by the other side).";
            lastByte = _context.Time.GetTimestamp();
            var wasOther = _journal.IsOtherDevice;
            var hadFrames = _journal.HadFramesThisSession;
            _decoder.Take(buffer.AsSpan(0, length));
            if (!hadFrames && _journal.HadFramesThisSession) Log(FrontEndNote.Information, $"{Name}: frames arrive on {port.Name}.");
            if (!_journal.IsOtherDevice) continue;
            if (!wasOther) Log(FrontEndNote.Warning, $"{Name}: {Health.Fault}");
            // Where there are other ports to try, the expected device may be behind one of them.
            if (_ports.Length > 1) return Health.Fault;
        }
    }

    private async Task<bool> EndsWithinAsync(Task pending, CancellationToken cancellation)
    {
        try
        {
            await pending.WaitAsync(PresenceCheck, _context.Time, cancellation);
            return true;
        }
        catch (TimeoutException) when (!pending.IsFaulted)
        {
            return pending.IsCompleted;
        }
    }

    /// <summary>What a stream throws when its device goes; measured on pseudo-terminals, see hardware-notes.</summary>
    private static bool IsLinkLoss(Exception e) =>
        e is IOException or InvalidOperationException or UnauthorizedAccessException or TimeoutException;

    /// <summary>Each sentence once until another one follows: a port that stays away does not flood the log.</summary>
    private void Log(FrontEndNote note, string text)
    {
        if (string.Equals(_lastLogged, text, StringComparison.Ordinal)) return;
        _lastLogged = text;
        _context.Log?.Invoke(Name, note, text);
    }
}
