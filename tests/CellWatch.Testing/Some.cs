using System.Collections.Immutable;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Testing;

/// <summary>Maker of values whose details do not matter to a test; what matters the test says itself. All data are invented.</summary>
public static class Some
{
    /// <summary>2026-08-01 10:15:00.250 UTC.</summary>
    public const long WallUnixMs = 1_785_579_300_250;

    /// <summary>A small pack: modules <c>B01</c>, <c>B02</c>, ... of six groups and two sensors.</summary>
    public static PackLayout Layout(string site = "Petrel", int modules = 3, int series = 6, int sensors = 2) => new(site,
        Enumerable.Range(1, modules).Select(m => new PackModule(new ModuleId($"B{m:00}"), new ModuleTopology(series, 2), sensors, m, m * 2 <= modules ? "fore" : "aft")),
        [new AuxiliaryChannel("coolant", AuxiliaryKind.CoolantTemperature, "degC")]);

    /// <summary>
    /// A good, proven, measured scan: cell c at 3.9 V + c mV, sensor t at 20 degC + t, 60 A into the pack, no bleeding.
    /// </summary>
    public static Snapshot Snapshot(PackLayout layout, long sequence = 1, Action<SnapshotBuffer>? change = null)
    {
        var map = new ChannelMap(layout);
        var buffer = new SnapshotBuffer(map);
        buffer.Begin(sequence, new SnapshotTime(sequence * 1_000_000, WallUnixMs + (sequence - 1) * 1000));
        for (var c = 0; c < map.CellCount; c++) buffer.Values[c] = 3.9 + c * 0.001;
        for (var t = 0; t < map.TemperatureCount; t++) buffer.Values[map.FirstTemperature + t] = 20 + t;
        buffer.Values[map.PackCurrent] = 60;
        buffer.Values[map.StringVoltage] = map.CellCount * 3.9;
        buffer.Values[map.FirstBleed..map.FirstAuxiliary].Clear();
        buffer.Values[map.FirstAuxiliary..].Fill(18);
        buffer.Qualities.Fill(Quality.Good);
        buffer.Origins.Fill(Origin.Measured);
        buffer.Proven.Fill(true);
        buffer.AgesUs.Fill(100_000);
        change?.Invoke(buffer);
        return buffer.Freeze();
    }

    /// <summary>A published state around a scan; its summary is of the good cells, its cells are all normal.</summary>
    public static PackState State(Snapshot snapshot)
    {
        int? highest = null, lowest = null;
        for (var c = 0; c < snapshot.Map.CellCount; c++)
        {
            if (!snapshot.TryGet(c, out var v)) continue;
            if (highest is null || v > snapshot.RawValues[highest.Value]) highest = c;
            if (lowest is null || v < snapshot.RawValues[lowest.Value]) lowest = c;
        }

        return new PackState
        {
            Snapshot = snapshot,
            Summary = new PackSummary
            {
                Mode = PackMode.Charging,
                ModeForS = 120,
                HighestCell = highest,
                HighestV = highest is { } h ? snapshot.RawValues[h] : null,
                LowestCell = lowest,
                LowestV = lowest is { } l ? snapshot.RawValues[l] : null,
                PackCurrentA = snapshot.TryGetPackCurrentA(out var a) ? a : null,
                StringVoltageV = snapshot.TryGetStringVoltageV(out var s) ? s : null,
                KnownCells = snapshot.CellQuality.Count(Quality.Good),
                KnownTemperatures = snapshot.TemperatureQuality.Count(Quality.Good),
                ProvenCells = snapshot.Proven[..snapshot.Map.CellCount].Count(true),
            },
            Verdict = new Verdict(StateWord.Normal, "All cells are inside their limits."),
            CellStates = [.. Enumerable.Repeat(StateWord.Normal, snapshot.Map.CellCount)],
            Recording = new RecordingView(true, "recording", null, 30),
        };
    }

    /// <summary>A published state of a small pack.</summary>
    public static PackState State(long sequence = 1, PackLayout? layout = null) => State(Snapshot(layout ?? Layout(), sequence));

    /// <summary>An alarm about a cell of the small pack.</summary>
    public static AlarmView Alarm(string id = "cell-high.B01.2", AlarmState state = AlarmState.Unacknowledged, int? cell = 1) => new()
    {
        Id = id,
        Rule = id.Split('.')[0],
        Priority = AlarmPriority.High,
        State = state,
        IsActive = state is AlarmState.Unacknowledged or AlarmState.Acknowledged,
        Word = "ACT NOW",
        Place = cell is null ? "pack" : "B01.2",
        Slot = "slot 1 fore",
        Cell = cell,
        Module = cell is null ? null : 0,
        Value = 4.213,
        Limit = 4.2,
        Unit = "V",
        Message = "B01.2 is at 4.213 V, 13 mV over its limit.",
        DoFirst = "Stop the charge now at the hand cut-off.",
        SinceUnixMs = WallUnixMs - 1000,
        Count = 1,
    };

    /// <summary>A step in an alarm's life.</summary>
    public static AlarmTransition Step(AlarmView alarm, AlarmState from = AlarmState.Normal, long wallUnixMs = WallUnixMs) =>
        new(alarm.Id, from, alarm.State, 1_000_000, wallUnixMs, "condition", alarm);

    /// <summary>A state in which alarms have just been raised.</summary>
    public static PackState StateWith(long sequence, params ImmutableArray<AlarmView> alarms) =>
        State(sequence) with { Alarms = alarms, Transitions = [.. alarms.Select(a => Step(a))] };

    /// <summary>A front end that is well.</summary>
    public static FrontEndHealth FrontEnd(string name = "instrument 1", LinkState state = LinkState.Alive) => new()
    {
        Name = name,
        Wire = "text lines",
        Port = "in-process",
        State = state,
        Modules = "B01-B03",
        Identity = "A1",
        LastFrameAgeS = 0.05,
        FramesPerS = 10,
        Frames = 1234,
        Garbage = [new GarbageCount("wrong checksum", 2)],
        Isolated = Isolation.Yes,
    };
}
