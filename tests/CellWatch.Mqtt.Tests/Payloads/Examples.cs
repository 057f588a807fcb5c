using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;

namespace CellWatch.Mqtt.Tests.Payloads;

/// <summary>One payload of each kind from the real code, for the document and for what holds for all of them.</summary>
internal static class Examples
{
    public static IReadOnlyDictionary<string, byte[]> All(Origin origin = Origin.Simulated)
    {
        using var writer = new PayloadWriter();
        var snapshot = Some.Snapshot(Some.Layout(), change: b =>
        {
            b.Origins.Fill(origin);
            b.Qualities[2] = Quality.Stale;
            b.AgesUs[2] = 7_200_000;
        });
        var simulated = origin == Origin.Simulated;
        var charge = new ChargeView
        {
            Phase = ChargePhase.Taper,
            BeganUnixMs = Some.WallUnixMs - 3_600_000,
            TargetV = 4.1,
            TargetReachedUnixMs = Some.WallUnixMs - 60_000,
            TargetReachedCell = 1,
            PlateauA = 60,
            TerminationA = 3,
            ChargedAh = 58.5,
            PermitReason = "not armed by a person",
            NotSupervisedBecause = "simulated data",
        };
        var alarm = Some.Alarm();
        var state = Some.State(snapshot) with { Alarms = [alarm], Charge = charge };
        state = state with
        {
            Summary = state.Summary with
            {
                MedianV = 3.909,
                SpreadV = 0.017,
                SpreadAh = 1.3,
                HottestSensor = 5,
                HottestDegC = 25,
                ColdestSensor = 0,
                ColdestDegC = 20,
                Soc = 0.78,
                OldestS = 0.1,
            },
        };
        return new Dictionary<string, byte[]>(StringComparer.Ordinal)
        {
            ["pack"] = writer.Pack(state).ToArray(),
            ["cells"] = writer.Cells(state, 0).ToArray(),
            ["temperatures"] = writer.Temperatures(state, 0).ToArray(),
            ["alarm"] = writer.Alarm(17, Some.Step(alarm, AlarmState.Normal), state).ToArray(),
            ["instrument"] = writer.Instrument(Some.FrontEnd() with { Simulated = simulated }, state).ToArray(),
            ["run"] = writer.ChargeRun(18, "charge-20260801T091500Z", charge, state).ToArray(),
            ["permit"] = writer.Permit(state, 3).ToArray(),
            ["presence"] = writer.PresenceOf("Petrel", Presence.Online, Some.WallUnixMs, Some.WallUnixMs, simulated).ToArray(),
            ["presence (will)"] = writer.PresenceOf("Petrel", Presence.Lost, null, Some.WallUnixMs, simulated).ToArray(),
        };
    }
}
