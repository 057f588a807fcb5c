using System.Collections.Immutable;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Testing.Pages;

/// <summary>
/// Scripted states of the Petrel (18 modules of 6S2P in a fore and an aft box), with invented figures, for component tests and the
/// preview. They are drawn by hand, not computed: only the pages are under test.
/// </summary>
public static class Petrel
{
    /// <summary>The day and time of the scenes, ms since 1970: 2026-03-09 14:22:07 UTC.</summary>
    public const long NoonMs = 1_773_066_127_000;

    private static readonly string[] Fore = ["B01", "B02", "B03", "B07", "B05", "B06", "B04", "B08", "B09", "B10", "B11", "B12"];
    private static readonly string[] Aft = ["B13", "B14", "B15", "B16", "B17", "B18"];

    /// <summary>The pack.</summary>
    public static PackLayout Layout { get; } = new("Petrel",
        Fore.Select((id, i) => new PackModule(new ModuleId(id), new ModuleTopology(6, 2), 2, i + 1, "fore"))
            .Concat(Aft.Select((id, i) => new PackModule(new ModuleId(id), new ModuleTopology(6, 2), 2, i + 13, "aft"))));

    /// <summary>Its channels.</summary>
    public static ChannelMap Map { get; } = new(Layout);

    /// <summary>Names of the scenes.</summary>
    public static ImmutableArray<string> Scenes { get; } = ["normal", "no-data", "charging", "taper", "act-now", "pulled", "lead", "no-type", "flood"];

    /// <summary>Cell index of a name.</summary>
    public static int Cell(string name)
        => CellId.TryParse(name, out var id) && Layout.TryFindCell(id, out var cell) ? cell : throw new ArgumentException($"The Petrel has no cell {name}.");

    /// <summary>Module index of a name.</summary>
    public static int Module(string name) => Layout.TryFindModule(new ModuleId(name), out var module) ? module : throw new ArgumentException($"The Petrel has no module {name}.");

    /// <summary>One state of a scene.</summary>
    /// <param name="scene">One of <see cref="Scenes"/>.</param>
    /// <param name="sequence">Counts up; also moves the figures a little.</param>
    /// <param name="simulated">Whether the values come from a model.</param>
    public static PackState At(string scene, long sequence = 1, bool simulated = true) => scene switch
    {
        "normal" => Resting(sequence, simulated, lost: false, caution: false),
        "no-data" => Resting(sequence, simulated, lost: true, caution: true),
        "charging" => ChargingScenes.BeforeTarget(sequence, simulated),
        "taper" => ChargingScenes.Tapering(sequence, simulated),
        "act-now" => ChargingScenes.OverLimit(sequence, simulated),
        "pulled" => ChargingScenes.LeadPulled(sequence, simulated),
        "flood" => Flood(sequence, simulated),
        "lead" => CorrodedLead(sequence, simulated),
        "no-type" => Resting(sequence, simulated, lost: false, caution: false) with { Charge = null, Limits = null },
        _ => throw new ArgumentException($"There is no scene {scene}; there are {string.Join(", ", Scenes)}."),
    };

    internal static double Noise(long seed)
    {
        var x = (ulong)seed * 0x9E3779B97F4A7C15UL;
        x ^= x >> 31;
        x *= 0xBF58476D1CE4E5B9UL;
        x ^= x >> 27;
        return (x >> 11) / (double)(1UL << 53) * 2 - 1;
    }

    /// <summary>A snapshot with a pattern of small deviations around a median.</summary>
    internal static SnapshotBuffer Scan(long sequence, double medianV, double currentA, bool simulated)
    {
        var buffer = new SnapshotBuffer(Map);
        buffer.Begin(sequence, new SnapshotTime(sequence * 500_000, NoonMs + sequence * 500));
        buffer.Origins.Fill(simulated ? Origin.Simulated : Origin.Measured);
        buffer.Qualities.Fill(Quality.Good);
        buffer.Proven.Fill(true);
        buffer.AgesUs.Fill(400_000);
        for (var cell = 0; cell < Map.CellCount; cell++)
        {
            var own = Noise(cell * 7919 + 11) * 2.2 + Noise(cell / 6 * 104729 + 3) * 1.4;
            buffer.Values[cell] = medianV + Math.Round(Math.Clamp(own, -4.4, 4.4) + Noise(sequence * 131 + cell) * 0.4, 1) / 1000;
        }

        for (var t = 0; t < Map.TemperatureCount; t++) buffer.Values[Map.FirstTemperature + t] = 22.1 + Math.Round(Noise(t * 31 + 5) * 7) / 10;
        buffer.Values[Map.PackCurrent] = currentA;
        buffer.Values[Map.StringVoltage] = medianV * Map.CellCount + 0.1;
        for (var cell = 0; cell < Map.CellCount; cell++) buffer.Values[Map.FirstBleed + cell] = 0;
        return buffer;
    }

    /// <summary>Takes a board's six modules away.</summary>
    internal static void Lose(SnapshotBuffer buffer, IEnumerable<string> modules, double ageS)
    {
        foreach (var name in modules)
        {
            var m = Module(name);
            for (var cell = Layout.FirstCell(m); cell < Layout.FirstCell(m + 1); cell++) Drop(buffer, cell, ageS);
            for (var t = Layout.FirstTemperature(m); t < Layout.FirstTemperature(m + 1); t++) Drop(buffer, Map.FirstTemperature + t, ageS);
        }
    }

    private static void Drop(SnapshotBuffer buffer, int channel, double ageS)
    {
        buffer.Qualities[channel] = Quality.Stale;
        buffer.AgesUs[channel] = (long)(ageS * 1e6);
    }

    /// <summary>Builds the state's plain figures from a scan.</summary>
    internal static PackState State(SnapshotBuffer buffer, PackMode mode, double modeForS, Action<StateWord[]>? states = null)
    {
        var snapshot = buffer.Freeze();
        var words = new StateWord[Map.CellCount];
        for (var cell = 0; cell < words.Length; cell++)
            words[cell] = snapshot.CellQuality[cell] switch
            {
                Quality.Good => StateWord.Normal,
                Quality.Stuck or Quality.Doubtful or Quality.OutOfRange => StateWord.Doubtful,
                _ => StateWord.NoData,
            };
        states?.Invoke(words);
        var known = Enumerable.Range(0, Map.CellCount).Where(c => snapshot.CellQuality[c] == Quality.Good && words[c] is not (StateWord.Bleeding or StateWord.Doubtful)).ToArray();
        var ordered = known.OrderBy(c => snapshot.RawCellVoltageV[c]).ToArray();
        var temperatures = Enumerable.Range(0, Map.TemperatureCount).Where(t => snapshot.TemperatureQuality[t] == Quality.Good).OrderBy(t => snapshot.RawTemperatureDegC[t]).ToArray();
        var median = snapshot.RawCellVoltageV[ordered[ordered.Length / 2]];
        var spread = snapshot.RawCellVoltageV[ordered[^1]] - snapshot.RawCellVoltageV[ordered[0]];
        double? sum = null;
        var good = Enumerable.Range(0, Map.CellCount).Count(c => snapshot.CellQuality[c] == Quality.Good);
        if (good == Map.CellCount)
        {
            sum = 0;
            foreach (var v in snapshot.RawCellVoltageV) sum += v;
        }

        snapshot.TryGetStringVoltageV(out var stringV);
        snapshot.TryGetPackCurrentA(out var currentA);
        return new PackState
        {
            Snapshot = snapshot,
            CellStates = [.. words],
            Summary = new PackSummary
            {
                Mode = mode,
                ModeForS = modeForS,
                MedianV = median,
                HighestCell = ordered[^1],
                HighestV = snapshot.RawCellVoltageV[ordered[^1]],
                LowestCell = ordered[0],
                LowestV = snapshot.RawCellVoltageV[ordered[0]],
                SpreadV = spread,
                SpreadAh = spread * 1000 * 0.128,
                SumV = sum,
                StringVoltageV = stringV,
                PackCurrentA = currentA,
                HottestDegC = snapshot.RawTemperatureDegC[temperatures[^1]],
                HottestSensor = temperatures[^1],
                ColdestDegC = snapshot.RawTemperatureDegC[temperatures[0]],
                ColdestSensor = temperatures[0],
                KnownCells = good,
                KnownTemperatures = temperatures.Length,
                ProvenCells = Map.CellCount,
                Soc = 0.70,
                OldestS = 0.4,
                DeviationWarnV = mode == PackMode.Rest ? 0.009 : null,
                DeviationWarnBecause = mode == PackMode.Rest ? "1 % of charge" : "",
            },
            Verdict = new Verdict(StateWord.Normal, $"All {Map.CellCount} cells known. Widest: {Layout.CellAt(ordered[0])}, {Math.Round((median - snapshot.RawCellVoltageV[ordered[0]]) * 1000)} mV low."),
            FrontEnds = FrontEnds(buffer.View.Time.WallUnixMs, buffer.Origins[0] == Origin.Simulated),
            Recording = new RecordingView(true, "recording", null, 61.4),
            Sending = new SendingView(true, "sending to the broker"),
            Limits = new CellLimits { ChargeTargetV = 4.15 },
            Charge = new ChargeView { Phase = ChargePhase.NotCharging, TargetV = 4.15, TerminationA = 3.3, HandCutOff = "red button on the station", Advice = "No charge current. Last charge: 9 Mar, ended at 3.3 A." },
            ChargeDifferenceAh = mode == PackMode.Rest ? [.. Enumerable.Range(0, Map.CellCount).Select(c => (snapshot.RawCellVoltageV[c] - median) * 128)] : [],
            ResistanceMilliohm = [.. Enumerable.Range(0, Map.CellCount).Select(c => Math.Round(1.07 + Noise(c * 53) * 0.03, 3))],
        };
    }

    internal static ImmutableArray<FrontEndHealth> FrontEnds(long nowMs, bool simulated) =>
    [
        Board("1", "text lines", "/dev/serial/by-id/usb-A-1047", "A-1047", "B01-B06", 0, simulated, nowMs),
        Board("2", "serial CAN", "/dev/serial/by-id/usb-A-1052", "A-1052", "B07-B12", 6, simulated, nowMs),
        Board("3", "text lines", "/dev/serial/by-id/usb-A-1050", "A-1050", "B13-B18", 12, simulated, nowMs) with { BadPerMinute = 3, Garbage = [new("wrong checksum", 41), new("line too short", 3)], LostFrames = 2 },
    ];

    private static FrontEndHealth Board(string name, string wire, string port, string serial, string modules, int first, bool simulated, long nowMs)
    {
        var channels = new List<int>();
        for (var i = first; i < first + 6; i++)
        {
            var m = Module($"B{i + 1:00}");
            channels.AddRange(Enumerable.Range(Layout.FirstCell(m), 6));
            channels.AddRange(Enumerable.Range(Map.FirstTemperature + Layout.FirstTemperature(m), 2));
        }

        return new FrontEndHealth
        {
            Name = name,
            Wire = wire,
            Port = simulated ? $"emulated board {name}" : port,
            State = LinkState.Alive,
            Identity = serial,
            ExpectedIdentity = serial,
            Modules = modules,
            Channels = [.. channels],
            LastFrameAgeS = 0.3,
            FramesPerS = 2.0,
            Frames = 48_211,
            LostFrames = 0,
            Isolated = Isolation.Yes,
            BleedTimeoutS = 60,
            BoardTemperatureDegC = 31.2,
            SupplyV = 5.02,
            Simulated = simulated,
            RecentRaw = [.. Enumerable.Range(0, 8).Select(k => $"$CW,{serial},{48_203 + k},B{first + 1:00},3.9124,3.9118,3.9120,3.9121,3.9117,3.9122*{(k * 37 + 11) % 256:X2}")],
            RecentBad = name == "3" ? [$"{DateTimeOffset.FromUnixTimeMilliseconds(nowMs - 12_000):HH:mm:ss} wrong checksum: $CW,A-1050,48102,B13,3.91"] : [],
        };
    }

    private static PackState Resting(long sequence, bool simulated, bool lost, bool caution)
    {
        var buffer = Scan(sequence, 3.912, 0, simulated);
        var median = 3.912;
        buffer.Values[Cell("B11.2")] = median + 0.007;
        if (caution) buffer.Values[Cell("B07.3")] = median - 0.018;
        if (lost) Lose(buffer, ["B12"], 24 * 60 + 7);
        var state = State(buffer, PackMode.Rest, 7_800, words =>
        {
            if (caution) words[Cell("B07.3")] = StateWord.Caution;
            words[Cell("B02.4")] = StateWord.Bleeding;
            words[Cell("B15.2")] = StateWord.NotProven;
        });
        if (!lost && !caution) return state;
        var now = buffer.View.Time.WallUnixMs;
        return state with
        {
            Verdict = new Verdict(StateWord.NoData, "B12: 6 of 108 cells unseen since 13:58. Widest of the rest: B07.3, 18\u202fmV low (2.3\u202fAh)."),
            StandsOut =
            [
                new(StateWord.NoData, "B12", "fore, 12", "no data 24\u202fmin", "One board silent; the five beside it answer.", "Check the sense plug at B12", null, Module("B12")),
                new(StateWord.Caution, "B07.3", "fore, 4", "\u221218\u202fmV, 2.3\u202fAh", "Level when full: low capacity, not offset.", "Decides: bench discharge", Cell("B07.3"), Module("B07")),
            ],
            Alarms =
            [
                new() { Id = "stale.B12", Rule = "stale", Priority = AlarmPriority.Medium, State = AlarmState.Acknowledged, IsActive = true, Word = "NO DATA", Place = "B12", Slot = "fore, 12", Module = Module("B12"), Message = "Six cells unseen for 24\u202fmin; the five modules beside it answer.", DoFirst = "Check the sense plug at B12.", SinceUnixMs = now - 1_447_000, SeenUnixMs = now - 1_300_000, SeenBy = "Anna", Count = 1 },
                new() { Id = "spread.B07.3", Rule = "spread", Priority = AlarmPriority.Medium, State = AlarmState.Unacknowledged, IsActive = true, Word = "CAUTION", Place = "B07.3", Slot = "fore, 4", Cell = Cell("B07.3"), Module = Module("B07"), Value = -18, Limit = -9, Unit = "mV", Message = "18\u202fmV under the median at rest, limit 9\u202fmV.", DoFirst = "Nothing now; plan a bench discharge of B07.", LikelyCause = "Low capacity fits, offset does not.", SinceUnixMs = now - 960_000, Count = 2 },
            ],
        };
    }

    // One urgent alarm, fourteen of other causes within ten minutes, two dozen more grouped under them.
    private static PackState Flood(long sequence, bool simulated)
    {
        var state = ChargingScenes.OverLimit(sequence, simulated);
        var now = state.Snapshot.Time.WallUnixMs;
        var more = Layout.Modules.Take(14).Select((m, i) => state.Alarms[1] with
        {
            Id = $"heat.{m.Id}",
            Place = m.Id.Text,
            Slot = m.SlotInWords,
            Module = i,
            SinceUnixMs = now - 20_000 * (i + 1),
            Grouped = i % 3,
            DoFirst = $"Turn down to 41\u202fA and look at the joints of {m.Id}.",
        });
        return state with { Alarms = [state.Alarms[0], .. more], AlarmFigures = new AlarmFigures { InTenMinutes = 39, InDay = 41, Flood = true, Low = 2, Medium = 38, High = 1, Repeaters = [new AlarmRepeat("heat.B05", 4)] } };
    }

    private static PackState CorrodedLead(long sequence, bool simulated)
    {
        var buffer = Scan(sequence, 3.912, 0, simulated);
        buffer.Values[Cell("B16.2")] = 3.912 - 0.062;
        buffer.Values[Cell("B16.3")] = 3.912 + 0.062;
        buffer.Qualities[Cell("B16.2")] = Quality.Doubtful;
        buffer.Qualities[Cell("B16.3")] = Quality.Doubtful;
        return State(buffer, PackMode.Rest, 7_800, words => words[Cell("B16.1")] = StateWord.Bleeding) with
        {
            Verdict = new Verdict(StateWord.Doubtful, "B16.2 and B16.3 mirror each other by 62\u202fmV while B16.2 bleeds: the lead they share, not a cell."),
            StandsOut = [new(StateWord.Doubtful, "B16.2", "aft, 16", "\u221262\u202fmV", "B16.3 moved the other way by as much: the shared lead.", "Decides: stop the bleed and look again", Cell("B16.2"), Module("B16"))],
        };
    }
}
