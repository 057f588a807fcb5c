using CellWatch.Core.FrontEnds;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.Running;
using CellWatch.FrontEnds.TextLines;
using CellWatch.FrontEnds.Transport;
using Microsoft.Extensions.Time.Testing;

namespace CellWatch.FrontEnds.Tests.Running;

/// <summary>A pack of three modules 6S2P, one front end on a pipe, a clock that is moved by hand.</summary>
internal sealed class Bench : IAsyncDisposable
{
    private readonly CancellationTokenSource _stop = new();
    private readonly Assembler _assembler;
    private readonly SnapshotBuffer _snapshot;
    private Task? _running;

    public Bench(FrontEndOptions? options = null, string baseFolder = "", Origin origin = Origin.Measured)
    {
        Layout = new PackLayout("petrel",
            [.. Enumerable.Range(1, 3).Select(n => new PackModule(new ModuleId($"B0{n}"), new ModuleTopology(6, 2), 2, n))],
            [new AuxiliaryChannel("coolant", AuxiliaryKind.CoolantTemperature, "degC"), new AuxiliaryChannel("plug", AuxiliaryKind.ServicePlug)]);
        Map = new ChannelMap(Layout);
        Inbox = new ReadingInbox(Map, "bench", origin);
        Context = FrontEndContext.On(Time, (_, note, text) => { lock (Log) Log.Add($"{note}: {text}"); });
        FrontEnd = FrontEndFactory.Create(options ?? TextOptions, Map, Inbox, Context, baseFolder, Port);
        _assembler = new Assembler(Map, [Inbox], new Freshness());
        _snapshot = new SnapshotBuffer(Map);
    }

    public static FrontEndOptions TextOptions { get; } = new()
    {
        Name = "fore",
        Wire = WireKind.TextLines,
        Port = "pipe",
        Modules = ["B01", "B02", "B03"],
        MeasuresPack = true,
        Auxiliaries = ["coolant", "plug"],
    };

    public FakeTimeProvider Time { get; } = new(new DateTimeOffset(2026, 6, 1, 8, 0, 0, TimeSpan.Zero));

    public PipePort Port { get; } = new("pipe");

    public PackLayout Layout { get; }

    public ChannelMap Map { get; }

    public ReadingInbox Inbox { get; }

    public FrontEndContext Context { get; }

    public FrontEndRunner FrontEnd { get; }

    public List<string> Log { get; } = [];

    public FrontEndHealth Health => FrontEnd.Health;

    public async Task StartAsync()
    {
        _running = Task.Run(() => FrontEnd.RunAsync(_stop.Token));
        await UntilAsync(() => Port.IsOpen && Health.State != LinkState.Closed);
    }

    public void Send(ReadOnlySpan<byte> bytes) => Port.Send(bytes);

    public void Send(string text) => Port.Send(Vectors.Ascii(text));

    /// <summary>Waits for another thread to get there; fails after ten real seconds instead of hanging.</summary>
    public static async Task UntilAsync(Func<bool> isThere)
    {
        for (var i = 0; i < 2000; i++)
        {
            if (isThere()) return;
            await Task.Delay(5);
        }

        Assert.Fail("it did not happen within ten seconds");
    }

    /// <summary>Moves the clock until something has happened; pauses are taken as they come.</summary>
    public async Task AdvanceUntilAsync(Func<bool> isThere, double stepS = 0.1, double mostS = 60)
    {
        for (var passed = 0.0; passed < mostS; passed += stepS)
        {
            for (var i = 0; i < 3; i++)
            {
                if (isThere()) return;
                await Task.Delay(1);
            }

            Time.Advance(TimeSpan.FromSeconds(stepS));
        }

        Assert.Fail($"it did not happen within {mostS} s");
    }

    public Snapshot Scan()
    {
        _assembler.Assemble(_snapshot, new SnapshotTime(Context.ElapsedUs(), Time.GetUtcNow().ToUnixTimeMilliseconds()));
        return _snapshot.Freeze();
    }

    public double Value(int channel) => Scan().RawValues[channel];

    public Quality QualityOf(int channel) => Scan().Quality[channel];

    /// <summary>A status sentence and the voltages of module 1, cell n at first + n mV.</summary>
    public void SendCells(TextSentenceWriter board, double firstV = 3.9)
    {
        board.BeginStatus();
        board.Add(31.5, 1);
        board.Add(12.1, 2);
        board.Add(60, 0);
        board.AddStatus(isolated: true, isSimulated: false);
        Send(board.End());
        board.BeginCells(1);
        for (var i = 0; i < 6; i++) board.Add(firstV + i * 0.001, 4);
        Send(board.End());
    }

    public long Bad(string reason) => Health.Garbage.FirstOrDefault(g => g.Reason == reason).Count;

    public async ValueTask DisposeAsync()
    {
        await _stop.CancelAsync();
        if (_running is not null) await _running.WaitAsync(TimeSpan.FromSeconds(10));
        _stop.Dispose();
    }
}
