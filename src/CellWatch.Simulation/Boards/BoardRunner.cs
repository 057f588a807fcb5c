using System.Buffers;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds;
using CellWatch.FrontEnds.Running;
using CellWatch.FrontEnds.Transport;
using CellWatch.Simulation.Stories;

namespace CellWatch.Simulation.Boards;

/// <summary>Gives an emulated board a clock and a port inside this process: scans at its rate, and answers as soon as the host has written.</summary>
public sealed class BoardRunner
{
    private readonly Lock _gate = new();
    private readonly EmulatedBoard _board;
    private readonly StoryClock _storyClock;
    private readonly TimeProvider _clock;
    private readonly ArrayBufferWriter<byte> _bytes = new(4096);

    /// <param name="board">The board.</param>
    /// <param name="port">The port a front end opens.</param>
    /// <param name="storyClock">Time of the story.</param>
    /// <param name="clock">Paces the scans; scaled, so scans and story keep step.</param>
    public BoardRunner(EmulatedBoard board, PipePort port, StoryClock storyClock, TimeProvider clock)
    {
        (_board, Port, _storyClock, _clock) = (board, port, storyClock, clock);
        port.Received = Received;
    }

    /// <summary>The port a front end opens.</summary>
    public PipePort Port { get; }

    /// <summary>What the board measures and speaks.</summary>
    public BoardPlan Plan => _board.Plan;

    /// <summary>Whether its lead is out.</summary>
    public bool IsOut { get; private set; }

    /// <summary>Whether the board measures a channel.</summary>
    public bool Measures(int channel) => _board.Channels.Contains(channel);

    /// <summary>Makes the real front end that reads this board over its port.</summary>
    /// <param name="map">The pack's channels.</param>
    /// <param name="inbox">Where its readings go; its origin must be simulated.</param>
    /// <param name="context">Clock and log.</param>
    public FrontEndRunner CreateFrontEnd(ChannelMap map, ReadingInbox inbox, FrontEndContext context)
    {
        // The factory reads a signal database from a file, and only while it makes the front end.
        var folder = Directory.CreateTempSubdirectory("cellwatch-board-").FullName;
        try
        {
            var options = BoardWiring.WriteOptions(Plan, map.Layout, folder, Port.Name);
            return FrontEndFactory.Create(options, map, inbox, context, port: Port);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>Scans until cancelled. A board whose lead is out has no supply: it says nothing.</summary>
    public async Task RunAsync(CancellationToken cancellation)
    {
        using var timer = new PeriodicTimer(TimeSpan.FromSeconds(1 / EmulatedBoard.ScansPerS), _clock);
        do ScanNow();
        while (await WaitAsync(timer, cancellation));
    }

    /// <summary>Scans at once, whatever the clock says.</summary>
    public void ScanNow()
    {
        lock (_gate)
        {
            if (IsOut) return;
            _bytes.ResetWrittenCount();
            _board.Scan(_storyClock.StoryTimeS, _bytes);
            if (_bytes.WrittenCount > 0) Port.Send(_bytes.WrittenSpan);
        }
    }

    /// <summary>Pulls the lead: link and supply are gone, the board forgets what it was told.</summary>
    public void PullLead()
    {
        lock (_gate)
        {
            IsOut = true;
            _board.LosePower();
        }

        Port.Unplug();
    }

    /// <summary>Puts the lead back.</summary>
    public void PlugIn()
    {
        Port.PlugIn();
        lock (_gate) IsOut = false;
    }

    private static async ValueTask<bool> WaitAsync(PeriodicTimer timer, CancellationToken cancellation)
    {
        try
        {
            return await timer.WaitForNextTickAsync(cancellation);
        }
        catch (OperationCanceledException)
        {
            return false;
        }
    }

    private void Received(ReadOnlyMemory<byte> input)
    {
        lock (_gate)
        {
            if (IsOut) return;
            _bytes.ResetWrittenCount();
            _board.Answer(input.Span, _bytes);
            if (_bytes.WrittenCount > 0) Port.Send(_bytes.WrittenSpan);
        }
    }
}
