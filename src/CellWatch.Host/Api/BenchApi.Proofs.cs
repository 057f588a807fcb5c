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
        Judge(entries, "/proofs/stack", "Hand-meter readings of an unplugged connector", (BenchProject p, StackBody e, Stamp who) => p.Proofs.Stack(e.Module, e.ReadingsV, who));
        Judge(entries, "/proofs/sum", "Sum of a module's cells against its terminals", (BenchProject p, SumBody e, Stamp who) => p.Proofs.Sum(e.Module, e.CellV, e.TerminalV, who));
        Judge(entries, "/proofs/module-load", "A known load on a module, in a rhythm", (BenchProject p, RhythmBody e, Stamp who) => p.Proofs.ModuleLoad(e.Subject, e.Samples, who));
        Judge(entries, "/proofs/cell-rhythm", "A load or bleed on one cell, in a rhythm", (BenchProject p, RhythmBody e, Stamp who) => p.Proofs.CellRhythm(e.Subject, e.Samples, who));
        reads.MapGet("/proofs/rhythm", (BenchDoor door, IServiceProvider services) => BenchAnswers.Read(door, _ => Rhythm(services))).WithSummary("The rhythm being played on live data, and how the last one ended");
        entries.MapPost("/proofs/rhythm", (BenchEntry<RhythmOrder> body, BenchDoor door, IServiceProvider services) => BenchAnswers.Play(body, () =>
        {
            Desk(services).Begin(body.By, body.Entry);
            return Rhythm(services);
        })).WithSummary("Begins a rhythm on live data: switch the load after the count; the proof is kept when it is over");
        entries.MapPost("/proofs/rhythm/stop", (BenchEntry<ReasonBody> body, BenchDoor door, IServiceProvider services) => BenchAnswers.Play(body, () =>
        {
            Desk(services).Stop(body.By);
            return Rhythm(services);
        })).WithSummary("Stops the rhythm without a verdict");
        Judge(entries, "/proofs/warm-hand", "A warm hand on a temperature sensor", (BenchProject p, HandBody e, Stamp who) => p.Proofs.Hand(e.Sensor, e.BeforeDegC, e.AfterDegC, who));
        Judge(entries, "/proofs/current", "Sign, scale and zero of the current sensor", (BenchProject p, CurrentBody e, Stamp who) => p.Proofs.Current(e.ZeroA, e.LoadedA, e.ExpectedLoadA, e.ChargingA, who));
        Enter(entries, "/proofs/string-voltage", "Sum, channel and hand meter of the string", (BenchProject p, StringVoltageBody e, Stamp who) =>
        {
            var (passed, sentence) = p.Proofs.StringVoltage(e.SumV, e.ChannelV, e.MeterV, who);
            return new { Passed = passed, Sentence = sentence };
        });
        Live<LiveHandBody>(entries, "/proofs/warm-hand/live", "A warm hand, read from the last seconds of live data: names the sensor that rose", (l, by, e, c) => l.WarmHandAsync(by, e.Sensor, e.Seconds, c));
        Live<LiveCurrentBody>(entries, "/proofs/current/live", "The current sensor, read live without load, with a load under a clamp meter, with a charger", (l, by, e, c) => l.CurrentAsync(by, e.Step, e.MeterA, c));
        Live<LiveStringBody>(entries, "/proofs/string-voltage/live", "Sum and channel of the string, read live, against a hand meter", (l, by, e, c) => l.StringVoltageAsync(by, e.MeterV, c));
        Enter(entries, "/proofs/disconnected", "A connector was opened: its proofs are void", (BenchProject p, DisconnectedBody e, Stamp who) =>
            new { Module = e.Module, ReopenedGates = p.Proofs.Disconnected(e.Module, e.Reason, who).Select(g => g.Value.Number) });
    }

    /// <summary>A proof read from live data at a press.</summary>
    private static void Live<TEntry>(RouteGroupBuilder entries, string path, string summary, Func<ILiveProofs, string, TEntry, CancellationToken, Task<LiveProof>> read) =>
        entries.MapPost(path, (BenchEntry<TEntry> body, IServiceProvider services, CancellationToken cancellation) => BenchAnswers.PlayAsync(body, () =>
            read(services.GetService<ILiveProofs>() ?? throw new RefusedException("This program reads no live data: enter the readings by hand."), body.By, body.Entry, cancellation))).WithSummary(summary);

    private static IRhythmDesk Desk(IServiceProvider services) =>
        services.GetService<IRhythmDesk>() ?? throw new RefusedException("This program reads no live data: hand the samples in at proofs/module-load or proofs/cell-rhythm.");

    private static RhythmDocument Rhythm(IServiceProvider services)
    {
        var desk = Desk(services);
        return new RhythmDocument(desk.Playing, desk.Last, desk.CanSimulateLoad);
    }

    private static void MapSafety(RouteGroupBuilder reads, RouteGroupBuilder entries)
    {
        Keep(entries, "/isolation", "Isolation test with a known resistor", (BenchProject p, IsolationBody e, Stamp who) => p.Safety.Isolation(e.Readings, e.MeterOhm, e.HumidityPercent, e.Connected ?? "", who));
        reads.MapGet("/isolation", (BenchDoor door) => BenchAnswers.Read(door, p => p.Safety.IsolationHistory().Select(BenchAnswers.Document))).WithSummary("All isolation tests");
        Keep(entries, "/pre-charge", "A pre-charge, compared with the reference curve", (BenchProject p, PrechargeBody e, Stamp who) => p.Safety.Precharge(e.Curve, e.ResistorOhm is { } ohm && e.CapacitanceF is { } farad ? new Precharge(e.Curve.PackV, ohm, farad) : null, who));
        Enter(entries, "/charges/preconditions", "What a first charge still needs, its steps and its stop rules", (BenchProject p, PreconditionsBody e, Stamp _) =>
        {
            var facts = p.Facts(e.Kind, e.FrontEndsIsolated, e.DataAgeS, e.CutOffTriedHoursAgo, e.ColdestDegC, e.HottestDegC, e.ChargePercent, e.PresenceMinutesAgo, e.People, e.MeasuredOnly);
            var list = ChargeLadder.Preconditions(facts, p.Site.Limits);
            return new { Supervised = list.All(c => c.Met), Preconditions = list, Steps = ChargeLadder.Steps(e.Kind, p.Site.RatedGroupAh), ChargeLadder.StopRules };
        });
        Keep(entries, "/charges", "A charge as it ended", (BenchProject p, ChargeRecord e, Stamp who) => p.Safety.Charge(e, who));
        entries.MapPost("/charges/from-log", (BenchEntry<ChargeOrder> body, IServiceProvider services, CancellationToken cancellation) => BenchAnswers.PlayAsync(body, async () =>
        {
            var maker = services.GetService<IChargeMaker>() ?? throw new RefusedException("This program keeps no cell log: enter the charge at charges.");
            return BenchAnswers.Document(await maker.MakeAsync(body.By, body.Entry, cancellation));
        })).WithSummary("Makes the record of a charge out of the cell log: of a run by its number, or from and to");
        reads.MapGet("/charges", (BenchDoor door) => BenchAnswers.Read(door, p => p.Safety.Charges().Select(BenchAnswers.Document))).WithSummary("All charges");
        Keep(entries, "/low-reading", "A rest reading low on the curve", (BenchProject p, LowReading e, Stamp who) => p.Safety.Low(e, who));
        Keep(entries, "/nights", "A night, reviewed with those before it", (BenchProject p, NightBody e, Stamp who) => p.Safety.Night(e.Id, e.Night, e.Rules ?? new NightRules(), who));
        reads.MapGet("/nights", (BenchDoor door) => BenchAnswers.Read(door, p => p.Safety.Nights().Select(BenchAnswers.Document))).WithSummary("All nights");
        Keep(entries, "/storage", "The storage sheet: when the lowest cell reaches its limit", (BenchProject p, StorageBody e, Stamp who) => p.Safety.Store(e.Cells, e.ElectronicsMilliampere, who));
        Keep(entries, "/health", "Capacities of a health check, compared like with like", (BenchProject p, IReadOnlyList<CapacityPoint> e, Stamp who) => p.Safety.Health(e, who));
        reads.MapGet("/triage", () => Results.Json(new { FaultTriage.Order, FaultTriage.Table }, RecordJson.Options)).WithSummary("The fault table");
        // Several may work on one fault file: the revision in view goes with the entry.
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
        Enter(entries, "/events", "Something happened that takes the ground from under gates", (BenchProject p, EventBody e, Stamp who) =>
            new { ReopenedGates = p.Happened(e.What, e.Reason, who).Select(g => g.Value.Number) });
    }
}
