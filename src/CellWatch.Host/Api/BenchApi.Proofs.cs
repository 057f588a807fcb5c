using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Estimation;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Host.Bench;

namespace CellWatch.Host.Api;

public static partial class BenchApi
{
    private static void MapProofs(RouteGroupBuilder reads, RouteGroupBuilder entries)
    {
        reads.MapGet("/proofs", (BenchDoor door) => BenchAnswers.Read(door, p =>
        {
            var (supervised, sentence) = p.ProofStates.Supervision(p.Site.Map);
            return new { Supervised = supervised, Sentence = sentence, Channels = p.ProofStates.States(p.Site.Map) };
        })).WithSummary("Which channels are proven, by what, and what is missing");
        reads.MapGet("/proofs/{subject}/{method}", (string subject, string method, BenchDoor door) =>
            BenchAnswers.Read(door, p => p.ProofStates.History(subject, BenchAnswers.Word<ProofMethod>(method)).Select(BenchAnswers.Document))).WithSummary("All attempts, failed ones too");
        entries.MapPost("/proofs/stack", (BenchEntry<StackBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
        {
            var (outcome, kept) = p.Proofs.Stack(e.Module, e.ReadingsV, who);
            return BenchAnswers.Judged(outcome, kept.Record);
        })).WithSummary("Hand-meter readings of an unplugged connector");
        entries.MapPost("/proofs/sum", (BenchEntry<SumBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
        {
            var (outcome, kept) = p.Proofs.Sum(e.Module, e.CellV, e.TerminalV, who);
            return BenchAnswers.Judged(outcome, kept.Record);
        })).WithSummary("Sum of a module's cells against its terminals");
        entries.MapPost("/proofs/module-load", (BenchEntry<RhythmBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
        {
            var (outcome, kept) = p.Proofs.ModuleLoad(e.Subject, e.Samples, who);
            return BenchAnswers.Judged(outcome, kept.Record);
        })).WithSummary("A known load on a module, in a rhythm");
        entries.MapPost("/proofs/cell-rhythm", (BenchEntry<RhythmBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
        {
            var (outcome, kept) = p.Proofs.CellRhythm(e.Subject, e.Samples, who);
            return BenchAnswers.Judged(outcome, kept.Record);
        })).WithSummary("A load or bleed on one cell, in a rhythm");
        entries.MapPost("/proofs/warm-hand", (BenchEntry<HandBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
        {
            var (outcome, kept) = p.Proofs.Hand(e.Sensor, e.BeforeDegC, e.AfterDegC, who);
            return BenchAnswers.Judged(outcome, kept.Record);
        })).WithSummary("A warm hand on a temperature sensor");
        entries.MapPost("/proofs/current", (BenchEntry<CurrentBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
        {
            var (outcome, kept) = p.Proofs.Current(e.ZeroA, e.LoadedA, e.ExpectedLoadA, e.ChargingA, who);
            return BenchAnswers.Judged(outcome, kept.Record);
        })).WithSummary("Sign, scale and zero of the current sensor");
        entries.MapPost("/proofs/string-voltage", (BenchEntry<StringVoltageBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
        {
            var (passed, sentence) = p.Proofs.StringVoltage(e.SumV, e.ChannelV, e.MeterV, who);
            return new { Passed = passed, Sentence = sentence };
        })).WithSummary("Sum, channel and hand meter of the string");
        entries.MapPost("/proofs/disconnected", (BenchEntry<DisconnectedBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
            new { Module = e.Module, ReopenedGates = p.Proofs.Disconnected(e.Module, e.Reason, who).Select(g => g.Value.Number) })).WithSummary("A connector was opened: its proofs are void");
    }

    private static void MapSafety(RouteGroupBuilder reads, RouteGroupBuilder entries)
    {
        entries.MapPost("/isolation", (BenchEntry<IsolationBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
            BenchAnswers.Document(p.Safety.Isolation(e.Readings, e.MeterOhm, e.HumidityPercent, e.Connected ?? "", who)))).WithSummary("Isolation test with a known resistor");
        reads.MapGet("/isolation", (BenchDoor door) => BenchAnswers.Read(door, p => p.Safety.IsolationHistory().Select(BenchAnswers.Document))).WithSummary("All isolation tests");
        entries.MapPost("/pre-charge", (BenchEntry<PrechargeBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
            BenchAnswers.Document(p.Safety.Precharge(e.Curve, e.ResistorOhm is { } ohm && e.CapacitanceF is { } farad ? new Precharge(e.Curve.PackV, ohm, farad) : null, who)))).WithSummary("A pre-charge, compared with the reference curve");
        entries.MapPost("/charges/preconditions", (BenchEntry<PreconditionsBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, _) =>
        {
            var facts = p.Facts(e.Kind, e.FrontEndsIsolated, e.DataAgeS, e.CutOffTriedHoursAgo, e.ColdestDegC, e.HottestDegC, e.ChargePercent, e.PresenceMinutesAgo, e.People, e.MeasuredOnly);
            var list = ChargeLadder.Preconditions(facts, p.Site.Limits);
            return new { Supervised = list.All(c => c.Met), Preconditions = list, Steps = ChargeLadder.Steps(e.Kind, p.Site.RatedGroupAh), ChargeLadder.StopRules };
        })).WithSummary("What a first charge still needs, its steps and its stop rules");
        entries.MapPost("/charges", (BenchEntry<ChargeRecord> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) => BenchAnswers.Document(p.Safety.Charge(e, who)))).WithSummary("A charge as it ended");
        reads.MapGet("/charges", (BenchDoor door) => BenchAnswers.Read(door, p => p.Safety.Charges().Select(BenchAnswers.Document))).WithSummary("All charges");
        entries.MapPost("/low-reading", (BenchEntry<LowReading> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) => BenchAnswers.Document(p.Safety.Low(e, who)))).WithSummary("A rest reading low on the curve");
        entries.MapPost("/nights", (BenchEntry<NightBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) => BenchAnswers.Document(p.Safety.Night(e.Id, e.Night, e.Rules ?? new NightRules(), who)))).WithSummary("A night, reviewed with those before it");
        reads.MapGet("/nights", (BenchDoor door) => BenchAnswers.Read(door, p => p.Safety.Nights().Select(BenchAnswers.Document))).WithSummary("All nights");
        entries.MapPost("/storage", (BenchEntry<StorageBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) => BenchAnswers.Document(p.Safety.Store(e.Cells, e.ElectronicsMilliampere, who)))).WithSummary("The storage sheet: when the lowest cell reaches its limit");
        entries.MapPost("/health", (BenchEntry<IReadOnlyList<CapacityPoint>> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) => BenchAnswers.Document(p.Safety.Health(e, who)))).WithSummary("Capacities of a health check, compared like with like");
        reads.MapGet("/triage", () => Results.Json(new { FaultTriage.Order, FaultTriage.Table }, RecordJson.Options)).WithSummary("The fault table");
        entries.MapPost("/faults", (BenchEntry<FaultFile> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
            BenchAnswers.Document(p.Safety.Fault(e with { Tests = e.Tests.IsDefault ? [] : e.Tests }, body.BasedOn, who)))).WithSummary("A fault file; closed only with a measurement after the fix");
        reads.MapGet("/faults", (BenchDoor door) => BenchAnswers.Read(door, p => p.Safety.Faults().Select(BenchAnswers.Document))).WithSummary("All fault files");
    }

    private static void MapGates(RouteGroupBuilder reads, RouteGroupBuilder entries)
    {
        reads.MapGet("/gates", (BenchDoor door) => BenchAnswers.Read(door, p => GateView.All(p))).WithSummary("The twenty gates");
        reads.MapGet("/gates/{number:int}", (int number, BenchDoor door) => BenchAnswers.Read(door, p => GateView.Of(p, number))).WithSummary("One gate");
        reads.MapGet("/gates/{number:int}/history", (int number, BenchDoor door) => BenchAnswers.Read(door, p => p.Gates.History(number).Select(BenchAnswers.Document))).WithSummary("Every revision of a gate");
        entries.MapPost("/gates/{number:int}/ready", (int number, BenchEntry<ReasonBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, _, who) =>
        {
            p.Gates.Ready(number, who.By, who.At, who.Simulated);
            return GateView.Of(p, number);
        })).WithSummary("Marks a gate as the next one and says what it needs");
        entries.MapPost("/gates/{number:int}/prove", (int number, BenchEntry<EvidenceBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
        {
            p.Gates.Prove(number, e.Evidence ?? new Dictionary<string, string>(StringComparer.Ordinal), who.By, who.At, who.Simulated);
            return GateView.Of(p, number);
        })).WithSummary("Proves a gate; refused with anything missing");
        entries.MapPost("/events", (BenchEntry<EventBody> body, BenchDoor door) => BenchAnswers.Enter(door, body, (p, e, who) =>
            new { ReopenedGates = p.Happened(e.What, e.Reason, who).Select(g => g.Value.Number) })).WithSummary("Something happened that takes the ground from under gates");
    }
}
