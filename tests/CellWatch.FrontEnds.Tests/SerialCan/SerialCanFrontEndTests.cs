using System.Text;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.SerialCan;
using CellWatch.FrontEnds.Tests.Running;

namespace CellWatch.FrontEnds.Tests.SerialCan;

/// <summary>The whole way from an adapter's bytes to channels, over a pipe whose far end answers as adapters do.</summary>
public sealed class SerialCanFrontEndTests : IDisposable
{
    private const string Database = """
        BO_ 256 Cells1: 6 B
         SG_ M01_C01_V : 0|16@1+ (0.0001,0) [0|5] "V" H
         SG_ M01_C02_V : 16|16@1+ (0.0001,0) [0|5] "V" H
         SG_ M01_C03_V : 32|16@1+ (0.0001,0) [0|5] "V" H
        BO_ 257 Cells2: 6 B
         SG_ M01_C04_V : 7|16@0+ (0.0001,0) [0|5] "V" H
         SG_ M01_C05_V : 23|16@0+ (0.0001,0) [0|5] "V" H
         SG_ M01_C06_V : 39|16@0+ (0.0001,0) [0|5] "V" H
        BO_ 258 Temps: 2 B
         SG_ M01_T1_degC : 0|8@1- (1,0) [-40|120] "degC" H
         SG_ M01_T2_degC : 8|8@1- (1,0) [-40|120] "degC" H
        BO_ 259 Bleeds: 1 B
         SG_ M01_Bleed : 0|6@1+ (1,0) [0|63] "" H
        BO_ 260 Pack: 8 B
         SG_ I_A : 0|24@1- (0.001,0) [-1000|1000] "A" H
         SG_ U_V : 24|24@1+ (0.001,0) [0|1000] "V" H
         SG_ Coolant_degC : 48|8@1- (1,0) [-40|120] "degC" H
        BO_ 261 Status: 8 B
         SG_ Serial : 0|16@1+ (1,0) [0|0] "" H
         SG_ Seq : 16|8@1+ (1,0) [0|0] "" H
         SG_ BoardT : 24|8@1- (1,0) [0|0] "degC" H
         SG_ Supply : 32|8@1+ (0.1,0) [0|0] "V" H
         SG_ BleedS : 40|8@1+ (1,0) [0|0] "s" H
         SG_ Isolated : 48|2@1+ (1,0) [0|0] "" H
         SG_ Model : 50|1@1+ (1,0) [0|0] "" H
        """;

    private readonly string _folder = Directory.CreateTempSubdirectory().FullName;
    private readonly StringBuilder _sent = new();

    public SerialCanFrontEndTests() => File.WriteAllText(Path.Combine(_folder, "board.dbc"), Database);

    private static FrontEndOptions Options { get; } = new()
    {
        Name = "can",
        Wire = WireKind.SerialCan,
        Port = "pipe",
        Database = "board.dbc",
        Modules = ["B01"],
        Auxiliaries = ["coolant"],
        Signals = new SignalMapOptions
        {
            Cells = "M{module:00}_C{cell:00}_V",
            Temperatures = "M{module:00}_T{sensor}_degC",
            BleedMask = "M{module:00}_Bleed",
            PackCurrent = "I_A",
            StringVoltage = "U_V",
            Auxiliaries = new Dictionary<string, string>(StringComparer.Ordinal) { ["coolant"] = "Coolant_degC" },
            Identity = "Serial",
            Sequence = "Seq",
            BoardTemperature = "BoardT",
            Supply = "Supply",
            BleedTimeout = "BleedS",
            Isolated = "Isolated",
            Simulated = "Model",
            NoDataCodes = ["0xFFFF", "0x8000"],
        },
    };

    /// <summary>An adapter that answers as the public command table says, unless told otherwise.</summary>
    private Bench Adapter(FrontEndOptions options, Func<string, string?>? answer = null)
    {
        var bench = new Bench(options, _folder);
        bench.Port.Received = bytes =>
        {
            foreach (var command in Encoding.ASCII.GetString(bytes.Span).Split('\r')[..^1])
            {
                lock (_sent) _sent.Append(command).Append(' ');
                bench.Send(answer?.Invoke(command) ?? command switch { "" => "\r", "C" => "\a", "V" => "V1013\r", "N" => "NA123\r", _ => "\r" });
            }
        };
        return bench;
    }

    private async Task OpenAsync(Bench bench, string lastCommand = "L ")
    {
        await bench.StartAsync();
        await bench.AdvanceUntilAsync(() => { lock (_sent) return _sent.ToString().EndsWith(lastCommand, StringComparison.Ordinal); });
    }

    /// <summary>Order of commands: Linux slcan, slcand and python-can all send C, S, then O or L; ours asks who is there in between.</summary>
    [Fact]
    public async Task The_channel_is_closed_set_and_opened_to_listen_only()
    {
        await using var bench = Adapter(Options);
        await OpenAsync(bench);
        Assert.Equal("  C V N S6 L ", _sent.ToString());
    }

    [Fact]
    public async Task Frames_become_readings_on_every_kind_of_channel()
    {
        await using var bench = Adapter(Options);
        await OpenAsync(bench);
        bench.Send("t1058D2040119780A0100\rt105");
        bench.Send("8D2040219783C0500\r");
        bench.Send("t1006399046903\rt1006399046903690\r");
        bench.Send("t1016" + "9039" + "FFFF" + "C400\r");
        bench.Send("t102219F6\rt1031" + "21\rt1048" + "D8DCFF" + "D00A01" + "2300\rt7FF0\r");
        await Bench.UntilAsync(() => bench.Health.Frames >= 7);

        var scan = bench.Scan();
        Assert.Equal([3.6921, 3.6934, 3.6918, 3.6921], scan.RawValues[..4].ToArray().Select(v => Math.Round(v, 6)));
        Assert.Equal([Quality.Good, Quality.Missing, Quality.OutOfRange], scan.Quality[3..6].ToArray());
        Assert.Equal(5.0176, scan.RawValues[5], 1e-9);
        Assert.Equal([25, -10], scan.RawValues.Slice(bench.Map.FirstTemperature, 2).ToArray());
        Assert.Equal([1, 0, 0, 0, 0, 1], scan.RawValues.Slice(bench.Map.FirstBleed, 6).ToArray());
        Assert.Equal(-9.0, scan.RawValues[bench.Map.PackCurrent], 1e-9);
        Assert.Equal(68.304, scan.RawValues[bench.Map.StringVoltage], 1e-9);
        Assert.Equal(35, scan.RawValues[bench.Map.FirstAuxiliary]);
        Assert.Equal(Origin.Simulated, scan.Origin[0]);

        var health = bench.Health;
        Assert.Equal(("1234", Isolation.Yes, 60.0, 25.0, 12.0), (health.Identity, health.Isolated, health.BleedTimeoutS, health.BoardTemperatureDegC, health.SupplyV));
        Assert.Equal(0, health.LostFrames);
        Assert.Equal(1, bench.Bad("data are not hex") + bench.Bad("data shorter than its length"));
        Assert.Equal(1, bench.Bad("unknown identifier"));
    }

    [Fact]
    public async Task A_refused_bit_rate_is_told_with_the_adapters_answer()
    {
        await using var bench = Adapter(Options, command => command == "S6" ? "\a" : null);
        await bench.StartAsync();
        await bench.AdvanceUntilAsync(() => bench.Health.State == LinkState.Waiting);
        Assert.Contains("refuses the bit rate of 500 kbit/s: it answers 'S6' with BEL", bench.Health.Fault, StringComparison.Ordinal);
    }

    /// <summary>Public issues on open adapter firmwares: no acknowledgement at all, free text after V.</summary>
    [Fact]
    public async Task An_adapter_that_acknowledges_nothing_is_taken_at_its_frames()
    {
        await using var bench = Adapter(Options with { Signals = Options.Signals with { Identity = "" } }, command => command == "V" ? "canable build 2f\r" : "");
        await OpenAsync(bench);
        await bench.AdvanceUntilAsync(() =>
        {
            bench.Send("t1006399046903690\r");
            return bench.Health.State == LinkState.Alive;
        });
    }

    [Fact]
    public async Task Without_an_identity_signal_the_adapters_own_serial_is_asked_for()
    {
        await using var bench = Adapter(Options with { Identity = "A124", Signals = Options.Signals with { Identity = "" } });
        await OpenAsync(bench);
        await bench.AdvanceUntilAsync(() => bench.Health.State == LinkState.WrongIdentity);
        bench.Send("t1006399046903690\r");
        await Bench.UntilAsync(() => bench.Health.RecentRaw.Any(l => l.Contains("t1006", StringComparison.Ordinal)) || Advance(bench));
        Assert.Equal(Quality.Missing, bench.QualityOf(0));

        static bool Advance(Bench bench)
        {
            bench.Time.Advance(TimeSpan.FromSeconds(0.6));
            return false;
        }
    }

    [Fact]
    public async Task After_a_pulled_lead_data_wait_for_the_identity_in_the_stream()
    {
        await using var bench = Adapter(Options with { Identity = "1234" });
        await OpenAsync(bench);
        bench.Send("t1006399046903690\r");
        bench.Send("t1058D2040119783C0500\r");
        bench.Send("t1006399046903690\r");
        await Bench.UntilAsync(() => bench.Health.Frames == 2);
        Assert.Equal(Quality.Good, bench.QualityOf(0));
    }

    [Fact]
    public void Mapping_errors_name_field_value_and_what_was_meant()
    {
        using var bench = new DisposableBench();
        string[] Problems(FrontEndOptions options) => [.. FrontEndFactory.Check(options, bench.Map, _folder).Select(p => p.ToString())];

        Assert.Empty(Problems(Options));
        Assert.Contains(Problems(Options with { Signals = Options.Signals with { Cells = "M{module:00}_C{cell:00}_v" } }),
            p => p.Contains("signals.cells: 'M01_C01_v'", StringComparison.Ordinal) && p.Contains("needed for B01.1", StringComparison.Ordinal) && p.EndsWith("Did you mean 'M01_C01_V'?", StringComparison.Ordinal));
        Assert.Contains(Problems(Options with { Signals = Options.Signals with { Cells = "M{module:00}_V" } }), p => p.Contains("contains {cell}", StringComparison.Ordinal));
        Assert.Contains(Problems(Options with { Signals = Options.Signals with { StringVoltage = "I_A" } }),
            p => p.Contains("'I_A'", StringComparison.Ordinal) && p.Contains("packCurrentA and stringVoltageV are both mapped to it", StringComparison.Ordinal));
        Assert.Contains(Problems(Options with { Modules = ["B11"] }), p => p.Contains("modules: 'B11'", StringComparison.Ordinal) && p.Contains("Did you mean 'B01'?", StringComparison.Ordinal));
        Assert.Contains(Problems(Options with { Modules = ["B01", "B01"] }), p => p.Contains("each module once", StringComparison.Ordinal));
        Assert.Contains(Problems(Options with { Database = "absent.dbc" }), p => p.Contains("absent.dbc", StringComparison.Ordinal));
        Assert.Contains(Problems(Options with { Database = "" }), p => p.StartsWith("database:", StringComparison.Ordinal));
        Assert.Contains(Problems(Options with { Baud = 12 }), p => p.Contains("baud: '12' is not valid; allowed: 1200 to 4000000", StringComparison.Ordinal));
        Assert.Contains(Problems(Options with { SerialCan = new SerialCanOptions { BitRateKbit = 333 } }), p => p.Contains("serialCan.bitRateKbit: '333'", StringComparison.Ordinal));
        Assert.Contains(Problems(Options with { OtherPorts = ["/dev/ttyUSB1"] }), p => p.StartsWith("otherPorts:", StringComparison.Ordinal));
        Assert.Contains(Problems(Options with { Signals = Options.Signals with { NoDataCodes = ["0xXY"] } }), p => p.Contains("'0xXY'", StringComparison.Ordinal));
        Assert.Throws<FrontEndOptionsException>(() => FrontEndFactory.Create(Options with { Baud = 12 }, bench.Map, new ReadingInbox(bench.Map, "x", Origin.Measured),
            CellWatch.FrontEnds.Running.FrontEndContext.On(TimeProvider.System), _folder));
    }

    [Fact]
    public void A_whole_adapter_stream_is_decoded_without_allocation()
    {
        using var bench = new DisposableBench();
        var inbox = new ReadingInbox(bench.Map, "x", Origin.Measured);
        var probe = FrontEndFactory.DecoderFor(Options with { Signals = Options.Signals with { Identity = "" } }, bench.Map, inbox,
            CellWatch.FrontEnds.Running.FrontEndContext.On(TimeProvider.System), _folder);
        var stream = Vectors.Ascii("t1006399046903690\rt1016903990399039\rt102219F6\rt7FF0\rgarbage\r");
        for (var i = 0; i < 100; i++) probe.Take(stream);
        var before = GC.GetAllocatedBytesForCurrentThread();
        for (var i = 0; i < 1000; i++) probe.Take(stream);
        Assert.Equal(0, GC.GetAllocatedBytesForCurrentThread() - before);
    }

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    private sealed class DisposableBench : IDisposable
    {
        private readonly Bench _bench = new();

        public ChannelMap Map => _bench.Map;

        public void Dispose() => _bench.DisposeAsync().AsTask().Wait();
    }
}
