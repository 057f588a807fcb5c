using System.Globalization;
using System.Text;
using BenchmarkDotNet.Attributes;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.Running;
using CellWatch.FrontEnds.SerialCan;
using CellWatch.FrontEnds.SignalDatabase;

namespace CellWatch.Benchmarks;

/// <summary>
/// What one CAN frame costs on its way from the adapter's bytes: 54 messages of a pack of 216 cells, four 16-bit cells a frame, half of them
/// little-endian and half big-endian, in reads of 4 KiB as a port delivers them. Figures are per frame.
/// </summary>
[MemoryDiagnoser]
public class CanFrames
{
    private const int Frames = 5400;
    private const int PieceLength = 4096;

    private readonly byte[] _stream;
    private readonly CanDatabase _database;
    private readonly SignalValue[] _values;
    private readonly LineSplitter _splitter = SerialCanLine.CreateSplitter();
    private readonly IWireDecoder _decoder;
    private CanFrame _frame;

    /// <summary>Writes database and stream.</summary>
    public CanFrames()
    {
        var text = new StringBuilder();
        for (var m = 0; m < 54; m++)
        {
            text.Append(CultureInfo.InvariantCulture, $"BO_ {0x100 + m} Cells{m}: 8 Board\n");
            for (var i = 0; i < 4; i++)
            {
                var (module, cell) = ((4 * m + i) / 12 + 1, (4 * m + i) % 12 + 1);
                var place = m % 2 == 0 ? $"{16 * i}|16@1+" : $"{16 * i + 7}|16@0+";
                text.Append(CultureInfo.InvariantCulture, $" SG_ M{module:00}_C{cell:00}_V : {place} (0.0001,0) [0|6] \"V\" Host\n");
            }
        }

        _database = CanDatabase.Parse(text.ToString(), "benchmark.dbc");
        _values = new SignalValue[_database.MaxSignals];
        var stream = new StringBuilder();
        for (var f = 0; f < Frames; f++) stream.Append(CultureInfo.InvariantCulture, $"t{0x100 + f % 54:X3}8{(ulong)f * 0x123456789UL + 0x8E94903990469036:X16}\r");
        _stream = Encoding.ASCII.GetBytes(stream.ToString());

        var layout = new PackLayout("bench", Enumerable.Range(1, 18).Select(n => new PackModule(new ModuleId($"B{n:00}"), new ModuleTopology(12, 1), 0, n)));
        var map = new ChannelMap(layout);
        var options = new FrontEndOptions
        {
            Name = "bench",
            Wire = WireKind.SerialCan,
            Port = "none",
            Modules = [.. layout.Modules.Select(m => m.Id.Text)],
            Signals = new SignalMapOptions { Cells = "M{module:00}_C{cell:00}_V" },
        };
        _decoder = FrontEndFactory.DecoderFor(options, map, new ReadingInbox(map, "bench", Origin.Simulated), FrontEndContext.On(TimeProvider.System), database: _database);
    }

    /// <summary>Split, parse, look up, decode all four signals.</summary>
    [Benchmark(OperationsPerInvoke = Frames)]
    public double ParseAndDecode()
    {
        var sum = 0.0;
        for (var at = 0; at < _stream.Length; at += PieceLength)
        {
            ReadOnlySpan<byte> piece = _stream.AsSpan(at, Math.Min(PieceLength, _stream.Length - at));
            while (_splitter.TryTake(ref piece, out var line, out var end))
            {
                if (SerialCanLine.Read(line, end, false, ref _frame, out _) != SerialCanLineKind.Frame) continue;
                if (_database.Find(_frame.Id, _frame.IsExtended) is not { } message) continue;
                message.Decode(_frame.Data, _values);
                sum += _values[3].Physical;
            }
        }

        return sum;
    }

    /// <summary>The whole front end: the same, and range, no-data codes, channels, diagnostics, and the readings left in the inbox.</summary>
    [Benchmark(OperationsPerInvoke = Frames)]
    public void ParseDecodeMapAndPost()
    {
        for (var at = 0; at < _stream.Length; at += PieceLength)
            _decoder.Take(_stream.AsSpan(at, Math.Min(PieceLength, _stream.Length - at)));
    }
}
