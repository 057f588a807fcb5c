using System.Collections.Immutable;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Testing.Pages;

/// <summary>The Petrel on the charger, in invented figures.</summary>
internal static class ChargingScenes
{
    private const double TargetV = 4.15;

    private static readonly (string Cell, double Below, double Rise)[] Next =
    [
        ("B11.2", 42, 6.8), ("B03.5", 46, 5.6), ("B16.1", 49, 5.3), ("B09.4", 38, 3.7), ("B01.2", 47, 3.8), ("B14.6", 50, 4.1),
        ("B05.3", 48, 3.6), ("B17.4", 52, 4.0), ("B02.1", 50, 3.4), ("B08.6", 53, 3.9), ("B12.5", 51, 3.2), ("B06.2", 54, 3.5),
    ];

    public static PackState BeforeTarget(long sequence, bool simulated)
    {
        var state = OnTheCharger(sequence, simulated, 60.1 + Petrel.Noise(sequence) * 0.15, 0);
        var now = state.Snapshot.Time.WallUnixMs;
        var first = 42 / 6.8 * 60;
        return state with
        {
            Verdict = new Verdict(StateWord.Normal, "Keep 60\u202fA. B11.2 will be first at 4.150\u202fV, in about 6\u202fmin. The current must fall then."),
            Charge = View(now, 0.038, state.Summary.HighestCell) with
            {
                Phase = ChargePhase.ConstantCurrent,
                HeadroomS = first,
                PlateauA = 60.1,
                EndUnixMs = now + 22 * 60_000,
                EndEarliestUnixMs = now + 19 * 60_000,
                EndLatestUnixMs = now + 27 * 60_000,
                Advice = "Keep 60\u202fA. B11.2 will be first at 4.150\u202fV, in about 6\u202fmin. The current must fall then.",
            },
        };
    }

    public static PackState Tapering(long sequence, bool simulated)
    {
        var state = OnTheCharger(sequence, simulated, 22.4, 42);
        var now = state.Snapshot.Time.WallUnixMs;
        return state with
        {
            Verdict = new Verdict(StateWord.Normal, "Let it fall. B11.2 holds at 4.150\u202fV and the current obeys, 22\u202fA now; about 11\u202fmin to the end."),
            Charge = View(now, 0.000, state.Summary.HighestCell) with
            {
                Phase = ChargePhase.Taper,
                HeadroomS = 0,
                PlateauA = 60.1,
                TaperIsFitted = true,
                TargetReachedUnixMs = now - 336_000,
                TargetReachedCell = Petrel.Cell("B11.2"),
                EndUnixMs = now + 650_000,
                EndEarliestUnixMs = now + 590_000,
                EndLatestUnixMs = now + 720_000,
                Advice = "Let it fall. B11.2 holds at 4.150\u202fV and the current obeys, 22\u202fA now; about 11\u202fmin to the end.",
                StopRules = [new("108 channels proven, data fresh", true), new("isolation 1.10\u202fMΩ", true), new("red button tried 2\u202fh ago", true), new("taper obeys", true)],
            },
        };
    }

    public static PackState OverLimit(long sequence, bool simulated)
    {
        var state = OnTheCharger(sequence, simulated, 60.0, 42, words => words[Petrel.Cell("B11.2")] = StateWord.ActNow, overMv: 53);
        var now = state.Snapshot.Time.WallUnixMs;
        var say = "B11.2 is at 4.203\u202fV, over the limit of 4.200\u202fV. Current is still 60\u202fA.";
        return state with
        {
            Verdict = new Verdict(StateWord.ActNow, say),
            StandsOut = [new(StateWord.ActNow, "B11.2", "fore, 11", "4.203\u202fV", "Over the limit of 4.200\u202fV.", "Stop the charge", Petrel.Cell("B11.2"), Petrel.Module("B11"))],
            Charge = View(now, -0.053, state.Summary.HighestCell) with
            {
                Phase = ChargePhase.TaperMissing,
                HeadroomS = null,
                PlateauA = 60,
                TargetReachedUnixMs = now - 190_000,
                TargetReachedCell = Petrel.Cell("B11.2"),
                Advice = $"STOP THE CHARGE NOW: red button on the station. {say}",
                StopRules = [new("108 channels proven, data fresh", true), new("isolation 1.10\u202fMΩ", true), new("red button tried 2\u202fh ago", true), new("taper does not obey: 60\u202fA at the target", false)],
            },
            Alarms =
            [
                new() { Id = "cell-high.B11.2", Rule = "cell-high", Priority = AlarmPriority.High, State = AlarmState.Unacknowledged, IsActive = true, Word = "ACT NOW", Place = "B11.2", Slot = "fore, 11", Cell = Petrel.Cell("B11.2"), Module = Petrel.Module("B11"), Value = 4.203, Limit = 4.200, Unit = "V", Message = say, DoFirst = "STOP THE CHARGE NOW: red button on the station.", LikelyCause = "The cell, not the lead: B11.1 and B11.3 have not moved the other way.", SinceUnixMs = now - 4_000, Grouped = 4, Count = 1 },
                new() { Id = "heat.B05", Rule = "heat", Priority = AlarmPriority.Medium, State = AlarmState.Unacknowledged, IsActive = true, Word = "CAUTION", Place = "B05", Slot = "fore, 5", Module = Petrel.Module("B05"), Value = 0.21, Limit = 0.20, Unit = "K/min", Message = "Rising 0.21\u202fK/min; current explains 0.10.", DoFirst = "Turn down to 41\u202fA and look at the joints of B05.", SinceUnixMs = now - 32_000, Count = 1 },
                new() { Id = "stuck.B04.t1", Rule = "stuck", Priority = AlarmPriority.Low, State = AlarmState.Acknowledged, IsActive = true, Word = "DOUBTFUL", Place = "B04 sensor 1", Slot = "fore, 7", Module = Petrel.Module("B04"), Message = "Same value to the last digit for 120\u202fs while current changed 50\u202fA.", DoFirst = "Judge B04 by sensor 2.", SinceUnixMs = now - 1_132_000, SeenUnixMs = now - 1_089_000, SeenBy = "Anna", Count = 4 },
                new() { Id = "not-sending", Rule = "not-sending", Priority = AlarmPriority.Medium, State = AlarmState.Shelved, IsActive = true, Word = "CAUTION", Place = "Broker", Message = "NOT SENDING; recording goes on.", DoFirst = "Start the broker again after the charge.", SinceUnixMs = now - 1_990_000, ShelvedUntilUnixMs = now + 1_728_000, ShelvedReason = "moving the router", Count = 1 },
            ],
        };
    }

    public static PackState LeadPulled(long sequence, bool simulated)
    {
        var buffer = Scan(sequence, simulated, 60.1, 0, 0);
        string[] gone = ["B07", "B08", "B09", "B10", "B11", "B12"];
        var silentS = 6 + sequence * 0.5;
        Petrel.Lose(buffer, gone, silentS);
        var state = Petrel.State(buffer, PackMode.Charging, 1_300);
        var now = state.Snapshot.Time.WallUnixMs;
        var say = $"No data from instrument 2 for {silentS:0}\u202fs: 36 cells unseen while charging.";
        return state with
        {
            Verdict = new Verdict(StateWord.ActNow, "STOP THE CHARGE NOW: red button on the station. " + say),
            Charge = View(now, 0.046, state.Summary.HighestCell) with { Phase = ChargePhase.ConstantCurrent, HeadroomS = null, NextToLimit = [], PlateauA = 60.1, Supervised = false, NotSupervisedBecause = "36 channels unseen", Advice = "STOP THE CHARGE NOW: red button on the station. " + say },
            FrontEnds =
            [
                state.FrontEnds[0],
                state.FrontEnds[1] with { State = LinkState.Waiting, Port = "gone", Fault = "The port closed while reading: its lead is out, or the board lost its supply.", LastFrameAgeS = silentS, FramesPerS = 0, Attempt = 4, NextAttemptUnixMs = now + 8_000, LinkLosses = 1 },
                state.FrontEnds[2],
            ],
            StandsOut = [new(StateWord.NoData, "instrument 2", "B07-B12", "no data " + $"{silentS:0}\u202fs", "All six modules of one instrument: its lead or its supply.", "Check the USB lead at the laptop", null, null)],
            Alarms = [new() { Id = "instrument.2", Rule = "instrument-lost", Priority = AlarmPriority.High, State = AlarmState.Unacknowledged, IsActive = true, Word = "NO DATA", Place = "instrument 2", Message = say, DoFirst = "STOP THE CHARGE NOW: red button on the station.", LikelyCause = "Its lead or its supply: all six modules went at once.", SinceUnixMs = now - (long)(silentS * 1000), Grouped = 36, Count = 1 }],
        };
    }

    private static PackState OnTheCharger(long sequence, bool simulated, double currentA, double risenMv, Action<StateWord[]>? states = null, double overMv = 0) =>
        Petrel.State(Scan(sequence, simulated, currentA, risenMv, overMv), PackMode.Charging, 840, states);

    private static SnapshotBuffer Scan(long sequence, bool simulated, double currentA, double risenMv, double overMv)
    {
        var buffer = Petrel.Scan(sequence, TargetV - 0.060 + risenMv / 1000, currentA, simulated);
        foreach (var (name, below, _) in Next) buffer.Values[Petrel.Cell(name)] = TargetV - below / 1000 + Math.Min(risenMv, below - 1) / 1000;
        if (risenMv > 0) buffer.Values[Petrel.Cell("B11.2")] = TargetV + overMv / 1000;
        for (var t = 0; t < Petrel.Map.TemperatureCount; t++) buffer.Values[Petrel.Map.FirstTemperature + t] += 6.3;
        buffer.Values[Petrel.Map.FirstTemperature + Petrel.Layout.FirstTemperature(Petrel.Module("B05"))] = 31.2;
        return buffer;
    }

    private static ChargeView View(long now, double headroomV, int? highest)
    {
        var first = 42 / 6.8;
        return new ChargeView
        {
            TargetV = TargetV,
            HeadroomV = headroomV,
            HeadroomCell = highest,
            AllowedA = 60,
            AllowedBecause = "B11.2 stays under its target",
            Supervised = true,
            TerminationA = 3.3,
            BeganUnixMs = now - 14 * 60_000,
            TaperTimeConstantS = 340,
            ChargedAh = 13.6,
            PresenceLeftS = 1_450 - now / 500 % 2 * 0.5,
            HandCutOff = "red button on the station",
            Heat = new HeatView(Petrel.Module("B05"), 31.2, 0.11, 0.10, [(Petrel.Module("B17"), 30.4), (Petrel.Module("B02"), 29.8)]),
            StopRules = [new("108 channels proven, data fresh", true), new("isolation 1.10\u202fMΩ", true), new("red button tried 2\u202fh ago", true), new("taper obeys: not yet due", null)],
            NextToLimit = [.. Next.Select(n => new Limiter(Petrel.Cell(n.Cell), TargetV - n.Below / 1000, n.Rise, n.Below / n.Rise * 60, n.Below / n.Rise * 54, n.Below / n.Rise * 68, TargetV - Math.Max(0, n.Below - n.Rise * first) / 1000))
                .OrderBy(l => l.ToTargetS)],
        };
    }
}
