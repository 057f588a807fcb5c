using CellWatch.Core.Imbalance;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Host.Api;

/// <summary>One cell in an answer. A value that is not good is null: look at <paramref name="Quality"/> for why.</summary>
public sealed record CellDocument(string Id, double? CellVoltageV, Quality Quality, Origin Origin, bool Proven, bool Bleeding, StateWord State, double? AgeS, double? ChargeDifferenceAh, double? ResistanceMilliohm);

/// <summary>One temperature in an answer.</summary>
public sealed record TemperatureDocument(string Id, double? TemperatureDegC, Quality Quality);

/// <summary>One channel beside the pack in an answer.</summary>
public sealed record AuxiliaryDocument(string Name, AuxiliaryKind Kind, double? Value, string Unit, Quality Quality);

/// <summary>One module in an answer.</summary>
public sealed record ModuleDocument(string Id, int Slot, string Box, string Topology, IReadOnlyList<CellDocument> Cells, IReadOnlyList<TemperatureDocument> Temperatures);

/// <summary>One alarm in an answer.</summary>
public sealed record AlarmDocument(
    string Id, AlarmPriority Priority, AlarmState State, bool IsActive, string Word, string Place, string Slot, double? Value, double? Limit, string Unit,
    string Message, string DoFirst, string LikelyCause, DateTimeOffset Since, DateTimeOffset? Seen, string SeenBy, DateTimeOffset? ShelvedUntil,
    string ShelvedReason, int Grouped, string GroupedUnder, int Count);

/// <summary>One front end in an answer.</summary>
public sealed record InstrumentDocument(
    string Name, string Wire, string Port, Core.FrontEnds.LinkState State, string Fault, string Identity, string Modules, double? LastFrameAgeS,
    double FramesPerS, long Frames, IReadOnlyDictionary<string, long> Garbage, Core.FrontEnds.Isolation Isolated, double? BleedTimeoutS, bool Simulated);

/// <summary>One entry of the link ledger; half widths are those of 95 % intervals.</summary>
public sealed record LinkEntryDocument(DateTimeOffset Time, double LinkMilliohm, double HalfWidthMilliohm, double OffsetV, double OffsetHalfWidthV)
{
    internal static LinkEntryDocument Of(LinkEntry entry) =>
        new(DateTimeOffset.FromUnixTimeMilliseconds(entry.WallUnixMs), 1000 * entry.LinkOhm, 1000 * entry.HalfWidthOhm, entry.OffsetV, entry.OffsetHalfWidthV);
}

/// <summary>Total resistance of all links and the constant difference of the meters; <paramref name="Entries"/> is null where they were not asked for.</summary>
public sealed record LinksDocument(string Sentence, LinkEntryDocument First, LinkEntryDocument Latest, double? RiseMicroohm, DateTimeOffset? RoseAt, IReadOnlyList<LinkEntryDocument>? Entries)
{
    internal static LinksDocument Of(LinkView links, bool withEntries) => new(
        links.Sentence, LinkEntryDocument.Of(links.First), LinkEntryDocument.Of(links.Latest), 1e6 * links.RiseOhm,
        links.RoseUnixMs is { } ms ? DateTimeOffset.FromUnixTimeMilliseconds(ms) : null, withEntries ? [.. links.Entries.Select(LinkEntryDocument.Of)] : null);
}

/// <summary>The whole present state. Units are in the names; times are RFC 3339 in UTC.</summary>
public sealed record StateDocument(
    string Site, DateTimeOffset Time, double ElapsedS, long Sequence, bool Simulated, Verdict Verdict, PackSummary Summary,
    IReadOnlyList<ModuleDocument> Modules, double? PackCurrentA, double? StringVoltageV, IReadOnlyList<AuxiliaryDocument> Auxiliaries,
    ChargeView? Charge, IReadOnlyList<AlarmDocument> Alarms, IReadOnlyList<InstrumentDocument> Instruments, RecordingView Recording, SendingView Sending,
    IReadOnlyList<StandOut> StandsOut, LinksDocument? Links, IReadOnlyList<NoiseView> Noise, AlarmFigures AlarmFigures)
{
    /// <summary>Writes a state out.</summary>
    public static StateDocument Of(PackState state)
    {
        var snapshot = state.Snapshot;
        var map = snapshot.Map;
        var layout = map.Layout;
        return new StateDocument(
            layout.SiteName, snapshot.Time.Wall, snapshot.Time.ElapsedS, snapshot.Sequence, state.Simulated, state.Verdict, state.Summary,
            [.. layout.Modules.Select((module, m) => new ModuleDocument(
                module.Id.Text, module.Slot, module.Box, module.Topology.ToString(),
                [.. Enumerable.Range(layout.FirstCell(m), module.Topology.Series).Select(cell => Cell(state, cell))],
                [.. Enumerable.Range(layout.FirstTemperature(m), module.TemperatureSensors).Select(t => Temperature(snapshot, t))]))],
            Known(snapshot, map.PackCurrent), Known(snapshot, map.StringVoltage),
            [.. layout.Auxiliaries.Select((a, i) => new AuxiliaryDocument(a.Name, a.Kind, Known(snapshot, map.FirstAuxiliary + i), a.Unit, snapshot.Quality[map.FirstAuxiliary + i]))],
            state.Charge, [.. state.Alarms.Select(Alarm)], [.. state.FrontEnds.Select(Instrument)], state.Recording, state.Sending,
            state.StandsOut, state.Links is { } links ? LinksDocument.Of(links, false) : null, state.Noise, state.AlarmFigures);
    }

    /// <summary>Writes an alarm out.</summary>
    public static AlarmDocument Alarm(AlarmView alarm) => new(
        alarm.Id, alarm.Priority, alarm.State, alarm.IsActive, alarm.Word, alarm.Place, alarm.Slot, alarm.Value, alarm.Limit, alarm.Unit,
        alarm.Message, alarm.DoFirst, alarm.LikelyCause, Wall(alarm.SinceUnixMs)!.Value, Wall(alarm.SeenUnixMs), alarm.SeenBy,
        Wall(alarm.ShelvedUntilUnixMs), alarm.ShelvedReason, alarm.Grouped, alarm.GroupedUnder, alarm.Count);

    private static InstrumentDocument Instrument(Core.FrontEnds.FrontEndHealth health) => new(
        health.Name, health.Wire, health.Port, health.State, health.Fault, health.Identity, health.Modules, health.LastFrameAgeS, health.FramesPerS,
        health.Frames, health.Garbage.ToDictionary(g => g.Reason, g => g.Count), health.Isolated, health.BleedTimeoutS, health.Simulated);

    private static CellDocument Cell(PackState state, int cell)
    {
        var snapshot = state.Snapshot;
        var age = snapshot.AgeUs[cell];
        return new CellDocument(
            state.Layout.CellAt(cell).ToString(), Known(snapshot, cell), snapshot.CellQuality[cell], snapshot.Origin[cell], snapshot.Proven[cell],
            snapshot.IsBleeding(cell), state.CellStates[cell], age == long.MaxValue ? null : age * 1e-6, At(state.ChargeDifferenceAh, cell), At(state.ResistanceMilliohm, cell));
    }

    private static TemperatureDocument Temperature(Snapshot snapshot, int temperature)
    {
        var channel = snapshot.Map.FirstTemperature + temperature;
        return new TemperatureDocument(snapshot.Map.NameOf(channel), Known(snapshot, channel), snapshot.Quality[channel]);
    }

    private static double? At(System.Collections.Immutable.ImmutableArray<double> values, int cell) => cell < values.Length && double.IsFinite(values[cell]) ? values[cell] : null;

    private static double? Known(Snapshot snapshot, int channel) => snapshot.TryGet(channel, out var value) ? value : null;

    private static DateTimeOffset? Wall(long? unixMs) => unixMs is { } ms ? DateTimeOffset.FromUnixTimeMilliseconds(ms) : null;
}
