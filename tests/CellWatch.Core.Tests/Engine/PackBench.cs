using System.Collections.Immutable;
using CellWatch.Core.Commands;
using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Tests.Engine;

/// <summary>A pack on the bench: scans are put in by hand, second by second, and the engine is asked what it makes of them.</summary>
internal sealed class PackBench
{
    public const long StartUnixMs = 1_767_225_600_000; // 2026-01-01T00:00:00Z
    private readonly List<AlarmTransition> _transitions = [];
    private long _sequence;

    public PackBench(int modules = 18, int series = 6, int temperatures = 2, CellType? type = null, EngineOptions? options = null, bool noCellType = false, RuleTable? rules = null, AuxiliaryChannel[]? auxiliaries = null)
    {
        Layout = new PackLayout("petrel", Enumerable.Range(1, modules).Select(m => new PackModule(new ModuleId($"B{m:00}"), new ModuleTopology(series, 2), temperatures, m, m <= modules / 2 ? "fore" : "aft")), auxiliaries);
        Map = new ChannelMap(Layout);
        Buffer = new SnapshotBuffer(Map);
        Options = options ?? new EngineOptions { HandCutOff = "red button on the station", CapacityAh = 110 };
        Engine = new PackEngine(Map, noCellType ? null : type ?? CellType.Nmc420, Options, rules);
        CellV = new double[Map.CellCount];
        CellV.AsSpan().Fill(3.9);
        TemperatureDegC = new double[Map.TemperatureCount];
        TemperatureDegC.AsSpan().Fill(22);
        Auxiliary = new double[Layout.Auxiliaries.Length];
        Lost = new Dictionary<int, long>();
    }

    public PackLayout Layout { get; }
    public ChannelMap Map { get; }
    public SnapshotBuffer Buffer { get; }
    public EngineOptions Options { get; }
    public PackEngine Engine { get; }
    public double[] CellV { get; }
    public double[] TemperatureDegC { get; }
    public double[] Auxiliary { get; }
    public double CurrentA { get; set; }
    public double? StringV { get; set; }

    /// <summary>Resistance put between the cells' own voltage and what is read, ohm.</summary>
    public double Ohm { get; set; }

    /// <summary>Noise of the readings, V rms; seeded, so every run is the same.</summary>
    public double NoiseV { get; set; }

    /// <summary>Changes readings after everything else, to put a fault in.</summary>
    public Action<SnapshotBuffer>? Fault { get; set; }

    private readonly Random _random = new(1);
    public HashSet<int> Bleeding { get; } = [];
    public bool Proven { get; set; } = true;
    public Origin Origin { get; set; } = Origin.Measured;

    /// <summary>Channels that fell silent, and when (elapsed µs).</summary>
    public Dictionary<int, long> Lost { get; }

    /// <summary>A state is published every so many scans.</summary>
    public int PublishEvery { get; set; } = 1;
    public long NowUs { get; private set; }
    public PackState State { get; private set; } = null!;
    public IReadOnlyList<AlarmTransition> Transitions => _transitions;

    public int Cell(string name) => CellId.TryParse(name, out var id) && Layout.TryFindCell(id, out var cell) ? cell : throw new ArgumentException(name);

    public void AllCells(double v) => CellV.AsSpan().Fill(v);

    public void Lose(IEnumerable<int> channels)
    {
        foreach (var channel in channels) Lost[channel] = NowUs;
    }

    /// <summary>Steps for some seconds, calling <paramref name="each"/> before every scan.</summary>
    public PackState Run(double seconds, double dtS = 1, Action<double>? each = null)
    {
        var steps = (int)Math.Round(seconds / dtS);
        for (var i = 0; i < steps; i++)
        {
            NowUs += (long)Math.Round(dtS * 1e6);
            each?.Invoke(NowUs * 1e-6);
            Scan();
            if (_sequence % PublishEvery == 0) Publish();
        }

        return State;
    }

    public void Scan()
    {
        Buffer.Begin(++_sequence, Time);
        for (var cell = 0; cell < CellV.Length; cell++) Buffer.Values[cell] = CellV[cell] + CurrentA * Ohm + NoiseV * Normal();
        TemperatureDegC.CopyTo(Buffer.Values[Map.FirstTemperature..]);
        Buffer.Values[Map.PackCurrent] = CurrentA;
        var sum = 0.0;
        for (var cell = 0; cell < CellV.Length; cell++) sum += Buffer.Values[cell];
        Buffer.Values[Map.StringVoltage] = StringV ?? sum;
        for (var cell = 0; cell < Map.CellCount; cell++) Buffer.Values[Map.FirstBleed + cell] = Bleeding.Contains(cell) ? 1 : 0;
        Auxiliary.CopyTo(Buffer.Values[Map.FirstAuxiliary..]);
        Buffer.Qualities.Fill(Quality.Good);
        Buffer.Origins.Fill(Origin);
        Buffer.AgesUs.Fill(200_000);
        Buffer.Proven.Fill(Proven);
        foreach (var (channel, sinceUs) in Lost)
        {
            Buffer.AgesUs[channel] = NowUs - sinceUs;
            if (NowUs - sinceUs > 4_000_000) Buffer.Qualities[channel] = Quality.Stale;
        }

        Fault?.Invoke(Buffer);
        Engine.Step(Buffer);
    }

    private double Normal() => NoiseV == 0 ? 0 : Math.Sqrt(-2 * Math.Log(1 - _random.NextDouble())) * Math.Cos(2 * Math.PI * _random.NextDouble());

    public SnapshotTime Time => new(NowUs, StartUnixMs + NowUs / 1000);

    public PackState Publish()
    {
        State = Engine.Publish(Buffer, [], new RecordingView(true, "recording", null, null), new SendingView(true, "sending"));
        _transitions.AddRange(State.Transitions);
        return State;
    }

    public CommandAnswer Do(PackCommand command)
    {
        var answer = Engine.Apply(command, Time);
        return answer;
    }

    public AlarmView? Alarm(string id) => State.Alarms.FirstOrDefault(a => a.Id == id);

    /// <summary>A sentence with its narrow spaces written as ordinary ones, as a person would type it.</summary>
    public static string Plain(string text) => text.Replace(Say.Thin, ' ').Replace(Say.Minus, '-');
}
