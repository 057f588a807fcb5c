using BenchmarkDotNet.Attributes;
using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Benchmarks;

/// <summary>
/// One step of the engine as the pack's task takes it: readings assembled, checked, estimated, judged; during a charge at 60 A with 1 mV of
/// noise. 10,000 cells show how it grows.
/// </summary>
[MemoryDiagnoser]
public class EngineBenchmarks
{
    private const int Scans = 64;
    private Reading[][] _scans = [];
    private ReadingInbox _inbox = null!;
    private Assembler _assembler = null!;
    private SnapshotBuffer _buffer = null!;
    private PackEngine _full = null!;
    private PackEngine _withoutEstimates = null!;
    private long _nowUs;
    private int _at;

    /// <summary>Cells; 216 carry 72 temperatures.</summary>
    [Params(108, 216, 10_000)]
    public int Cells { get; set; }

    [GlobalSetup]
    public void Setup()
    {
        const int Series = 6;
        var modules = (Cells + Series - 1) / Series;
        var layout = new PackLayout("bench", Enumerable.Range(1, modules).Select(m => new PackModule(new ModuleId($"M{m}"), new ModuleTopology(m == modules && Cells % Series != 0 ? Cells % Series : Series, 2), 2, m)));
        var map = new ChannelMap(layout);
        _inbox = new ReadingInbox(map, "board", Origin.Measured);
        _assembler = new Assembler(map, [_inbox], new Freshness());
        for (var channel = 0; channel < map.Count; channel++) _assembler.SetProven(channel, true);
        _buffer = new SnapshotBuffer(map);
        _full = new PackEngine(map, CellType.Nmc420, new EngineOptions { CapacityAh = 110 });
        _withoutEstimates = new PackEngine(map, CellType.Nmc420 with { OcvCurve = null }, new EngineOptions { CapacityAh = 110 });
        var random = new Random(1);
        var own = Enumerable.Range(0, map.CellCount).Select(_ => 3.95 + 0.004 * (random.NextDouble() - 0.5)).ToArray();
        _scans = [.. Enumerable.Range(0, Scans).Select(_ => Scan(map, own, random))];
        // Past the half hour after which a person must confirm presence: an alarm that changes allocates, a step does not.
        for (var i = 0; i < 2400; i++) Whole();
        for (var i = 0; i < 100; i++) AssembleCheckAndRules();
        _full.TakeTransitions();
        _withoutEstimates.TakeTransitions();
    }

    /// <summary>Assemble, checks, figures, charge filter of every cell, heat, who limits, rules, permit.</summary>
    [Benchmark]
    public void Whole()
    {
        Assemble();
        _full.Step(_buffer);
    }

    /// <summary>The same without a curve: no filter and no forecast.</summary>
    [Benchmark]
    public void AssembleCheckAndRules()
    {
        Assemble();
        _withoutEstimates.Step(_buffer);
    }

    /// <summary>The immutable copy for the sinks; it allocates by design.</summary>
    [Benchmark]
    public PackState Publish() => _full.Publish(_buffer, [], new RecordingView(true, "recording", null, null), new SendingView(true, "sending"));

    private void Assemble()
    {
        _nowUs += 1_000_000;
        _inbox.Post(_scans[_at], _nowUs);
        _at = (_at + 1) % Scans;
        _assembler.Assemble(_buffer, new SnapshotTime(_nowUs, 1_767_225_600_000 + _nowUs / 1000));
    }

    private static Reading[] Scan(ChannelMap map, double[] own, Random random)
    {
        var readings = new List<Reading>();
        for (var cell = 0; cell < map.CellCount; cell++) readings.Add(new Reading(cell, own[cell] + 0.002 * (random.NextDouble() - 0.5)));
        for (var sensor = 0; sensor < map.TemperatureCount; sensor++) readings.Add(new Reading(map.FirstTemperature + sensor, 24 + 0.1 * random.NextDouble()));
        readings.Add(new Reading(map.PackCurrent, 60 + 0.05 * random.NextDouble()));
        readings.Add(new Reading(map.StringVoltage, own.Sum() + 0.06));
        for (var cell = 0; cell < map.CellCount; cell++) readings.Add(new Reading(map.FirstBleed + cell, 0));
        return [.. readings];
    }
}

/// <summary>A day at one scan a second through 108 cells, as a replay does it: load a snapshot, step, take the transitions.</summary>
[MemoryDiagnoser]
public class ReplayBenchmarks
{
    private const int Seconds = 86_400;
    private ChannelMap _map = null!;
    private SnapshotBuffer _buffer = null!;
    private double[] _own = [];

    [GlobalSetup]
    public void Setup()
    {
        _map = new ChannelMap(new PackLayout("bench", Enumerable.Range(1, 18).Select(m => new PackModule(new ModuleId($"B{m:00}"), new ModuleTopology(6, 2), 2, m))));
        _buffer = new SnapshotBuffer(_map);
        var random = new Random(1);
        _own = [.. Enumerable.Range(0, 4096).Select(_ => 0.002 * (random.NextDouble() - 0.5))];
    }

    [Benchmark]
    public int OneDayOf108Cells()
    {
        var engine = new PackEngine(_map, CellType.Nmc420, new EngineOptions { CapacityAh = 110, PresenceMinutes = 240 });
        var transitions = 0;
        for (var second = 1; second <= Seconds; second++)
        {
            // Six hours each of rest, charge, rest and drive, so that every stage works.
            var currentA = (second / 21_600) switch { 1 => 4.0, 3 => -4.0, _ => 0.0 };
            var level = 3.85 + (second / 21_600) switch { 0 => 0, 1 => 0.1 * (second - 21_600) / 21_600, 2 => 0.1, _ => 0.1 - 0.1 * (second - 64_800) / 21_600 };
            _buffer.Begin(second, new SnapshotTime(second * 1_000_000L, 1_767_225_600_000 + second * 1000L));
            _buffer.Values.Clear();
            for (var cell = 0; cell < _map.CellCount; cell++) _buffer.Values[cell] = level + 0.001 * currentA + _own[(second * 31 + cell * 7) & 4095];
            _buffer.Values[_map.FirstTemperature.._map.PackCurrent].Fill(22);
            _buffer.Values[_map.PackCurrent] = currentA;
            _buffer.Qualities.Fill(Quality.Good);
            _buffer.Origins.Fill(Origin.Replayed);
            _buffer.AgesUs.Clear();
            engine.Step(_buffer);
            if (second % 60 == 0) transitions += engine.TakeTransitions().Length;
        }

        return transitions;
    }
}
