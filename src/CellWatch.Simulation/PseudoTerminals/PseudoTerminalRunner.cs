using System.Buffers;
using CellWatch.Simulation.Boards;

namespace CellWatch.Simulation.PseudoTerminals;

/// <summary>Serves an emulated board on a pseudo-terminal, so that <c>serve</c> on a real site file can be practised without a board.</summary>
public sealed class PseudoTerminalRunner : IDisposable
{
    private const int LookEveryMs = 100;
    private readonly Lock _gate = new();
    private readonly PseudoTerminal _terminal = new();
    private readonly EmulatedBoard _board;
    private readonly StoryClock _storyClock;
    private readonly TimeProvider _clock;
    private readonly ArrayBufferWriter<byte> _bytes = new(4096);

    /// <param name="board">The board.</param>
    /// <param name="storyClock">Time of the story.</param>
    /// <param name="clock">Paces the scans.</param>
    /// <exception cref="PlatformNotSupportedException">This system has no pseudo-terminals.</exception>
    /// <exception cref="IOException">The system refused one.</exception>
    public PseudoTerminalRunner(EmulatedBoard board, StoryClock storyClock, TimeProvider clock) =>
        (_board, _storyClock, _clock) = (board, storyClock, clock);

    /// <summary>What the other program opens as its port.</summary>
    public string Path => _terminal.Path;

    /// <summary>The board that speaks there.</summary>
    public EmulatedBoard Board => _board;

    /// <summary>Speaks until cancelled.</summary>
    public async Task RunAsync(CancellationToken cancellation)
    {
        // Reading waits in the kernel: a thread of its own, so that no shared one is held up.
        var listening = Task.Factory.StartNew(() => Listen(cancellation), CancellationToken.None, TaskCreationOptions.LongRunning, TaskScheduler.Default);
        using var timer = new PeriodicTimer(TimeSpan.FromSeconds(1 / EmulatedBoard.ScansPerS), _clock);
        try
        {
            do
            {
                lock (_gate)
                {
                    _bytes.ResetWrittenCount();
                    _board.Scan(_storyClock.StoryTimeS, _bytes);
                    _terminal.TryWrite(_bytes.WrittenSpan);
                }
            }
            while (await timer.WaitForNextTickAsync(cancellation));
        }
        catch (OperationCanceledException)
        {
            // Asked to stop.
        }

        await listening;
    }

    /// <inheritdoc/>
    public void Dispose() => _terminal.Dispose();

    private void Listen(CancellationToken cancellation)
    {
        var buffer = new byte[256];
        while (!cancellation.IsCancellationRequested)
        {
            var count = _terminal.Read(buffer, LookEveryMs);
            if (count == 0)
            {
                // With nobody at the other end the kernel answers at once: look again a little later.
                if (!_terminal.IsOpenedByOther) cancellation.WaitHandle.WaitOne(LookEveryMs);
                continue;
            }

            lock (_gate)
            {
                _bytes.ResetWrittenCount();
                _board.Answer(buffer.AsSpan(0, count), _bytes);
                _terminal.TryWrite(_bytes.WrittenSpan);
            }
        }
    }
}
