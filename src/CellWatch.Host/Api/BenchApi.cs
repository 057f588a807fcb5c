using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Pack;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Host.Bench;

namespace CellWatch.Host.Api;

/// <summary>The HTTP door of the bench, under <c>/bench</c>: thin, everything is worked out in Core.</summary>
public static partial class BenchApi
{
    /// <summary>Maps the endpoints. Entries go through <paramref name="commandFilter"/>, files through <paramref name="uploadFilter"/>.</summary>
    public static void MapBenchApi(
        this IEndpointRouteBuilder app, Func<EndpointFilterInvocationContext, EndpointFilterDelegate, ValueTask<object?>>? commandFilter = null,
        Func<EndpointFilterInvocationContext, EndpointFilterDelegate, ValueTask<object?>>? uploadFilter = null)
    {
        var reads = app.MapGroup("/bench").WithTags("bench").ProducesProblem(StatusCodes.Status422UnprocessableEntity);
        var entries = app.MapGroup("/bench").WithTags("bench").ProducesProblem(StatusCodes.Status409Conflict).ProducesProblem(StatusCodes.Status422UnprocessableEntity);
        if (commandFilter is not null) entries.AddEndpointFilter(commandFilter);
        reads.MapGet("/summary", (BenchDoor door) => BenchAnswers.Read(door, Summary)).WithSummary("Where the project stands");
        reads.MapGet("/records", (BenchDoor door) => BenchAnswers.Read(door, p => p.Records())).WithSummary("Every record, oldest first");
        MapModules(reads, entries);
        MapRuns(reads, entries);
        MapPlanning(reads, entries);
        MapProofs(reads, entries);
        MapSafety(reads, entries);
        MapGates(reads, entries);
        MapReports(reads);
        var uploads = app.MapGroup("/bench").WithTags("bench");
        if (uploadFilter is not null) uploads.AddEndpointFilter(uploadFilter);
        MapFiles(reads, uploads);
    }

    /// <summary>One entry of the door: a body of one form, a name under it, a refusal as a sentence.</summary>
    private static void Enter<TEntry, TAnswer>(RouteGroupBuilder entries, string path, string summary, Func<BenchProject, TEntry, Stamp, TAnswer> enter) =>
        entries.MapPost(path, (BenchEntry<TEntry> body, BenchDoor door) => BenchAnswers.Enter(door, body, enter)).WithSummary(summary);

    /// <summary>An entry whose answer is the record it is kept in.</summary>
    private static void Keep<TEntry, TKept>(RouteGroupBuilder entries, string path, string summary, Func<BenchProject, TEntry, Stamp, Kept<TKept>> keep) =>
        Enter(entries, path, summary, (BenchProject p, TEntry e, Stamp who) => BenchAnswers.Document(keep(p, e, who)));

    /// <summary>An entry that is judged at once; passed or not, the attempt is kept.</summary>
    private static void Judge<TEntry, TOutcome>(RouteGroupBuilder entries, string path, string summary, Func<BenchProject, TEntry, Stamp, (TOutcome Outcome, Kept<ProofAttempt> Kept)> judge) =>
        Enter(entries, path, summary, (BenchProject p, TEntry e, Stamp who) =>
        {
            var (outcome, kept) = judge(p, e, who);
            return BenchAnswers.Judged(outcome, kept.Record);
        });

    private static BenchSummary Summary(BenchProject p)
    {
        var gates = p.Gates.All();
        var next = gates.FirstOrDefault(g => g.Kept?.Value.State is not GateState.Proven);
        var (supervised, sentence) = p.ProofStates.Supervision(p.Site.Map);
        return new BenchSummary(
            p.Modules.All().Count, gates.Count(g => g.Kept?.Value.State is GateState.Proven), next.Gate?.Number, next.Gate?.Title ?? "", supervised, sentence, p.AnySimulated,
            [.. gates.Where(g => g.Kept?.Value.State is GateState.Reopened).Select(g => $"gate {g.Gate.Number} {g.Gate.Title}: {g.Kept!.Value.Reason}")]);
    }

    private static void MapModules(RouteGroupBuilder reads, RouteGroupBuilder entries)
    {
        reads.MapGet("/modules", (BenchDoor door) => BenchAnswers.Read(door, p => p.Modules.All().Select(Module))).WithSummary("All modules");
        reads.MapGet("/modules/{id}", (string id, BenchDoor door) => BenchAnswers.Read(door, p => Module(p.Modules.Get(CheckCharacter.Read(id))))).WithSummary("One module; the check character is checked where given");
        reads.MapGet("/modules/{id}/history", (string id, BenchDoor door) => BenchAnswers.Read(door, p => p.Modules.History(CheckCharacter.Read(id)).Select(Module))).WithSummary("Every revision of a module, oldest first");
        Enter(entries, "/modules", "Adds a module; duplicates and look-alikes are refused", (BenchProject p, ModuleRecord e, Stamp who) => Module(p.Modules.Add(e, who.By, who.At, who.Simulated)));
        entries.MapPost("/modules/{id}", (string id, BenchEntry<ModuleRecord> body, BenchDoor door) =>
            BenchAnswers.Enter(door, body, (p, e, who) => Module(p.Modules.Revise(CheckCharacter.Read(id), body.BasedOn, m => e with { Slots = m.Slots }, who.By, who.At, who.Simulated)))).WithSummary("A new revision of a module; the identity and its stays are kept");
        entries.MapPost("/modules/{id}/slot", (string id, BenchEntry<MoveBody> body, BenchDoor door) =>
            BenchAnswers.Enter(door, body, (p, e, who) => Module(p.Modules.Move(CheckCharacter.Read(id), e.Slot, e.Box, e.Reason, who.By, who.At, who.Simulated)))).WithSummary("Puts a module into a slot, or takes it out");
        entries.MapPost("/modules/{id}/removal", (string id, BenchEntry<RemovalEntry> body, BenchDoor door) =>
            BenchAnswers.Enter(door, body, (p, e, who) => BenchAnswers.Document(p.Runs.Remove(CheckCharacter.Read(id), e, who)))).WithSummary("What was found when a module came out");
        entries.MapPost("/modules/{id}/inspection", (string id, BenchEntry<InspectionEntry> body, BenchDoor door) =>
            BenchAnswers.Enter(door, body, (p, e, who) => BenchAnswers.Document(p.Runs.Inspect(CheckCharacter.Read(id), e, who)))).WithSummary("Incoming inspection: meter and front end side by side");
        Keep(entries, "/quarantine", "Begins the make-safe log", (BenchProject p, ArrivalBody e, Stamp who) => p.Runs.Arrive(e.ArrivedAt, e.ImpactAt, who));
        Enter(entries, "/quarantine/readings", "A look at the battery in quarantine", (BenchProject p, QuarantineReading e, Stamp who) =>
        {
            p.Runs.Look(e, who);
            return p.Runs.QuarantineState()!;
        });
        reads.MapGet("/quarantine", (BenchDoor door) => BenchAnswers.Read(door, p => p.Runs.QuarantineState())).WithSummary("What the make-safe log says");
    }

    private static ModuleBenchDocument Module(Kept<ModuleRecord> kept) => new(
        kept.Value, CheckCharacter.Label(new ModuleId(kept.Value.Identity)), kept.Record.Revision, kept.Record.By, kept.Record.At, kept.Record.Simulated);

    private static void MapRuns(RouteGroupBuilder reads, RouteGroupBuilder entries)
    {
        reads.MapGet("/guide/{method}", (string method, BenchDoor door) => BenchAnswers.Read(door, _ =>
        {
            var (caution, connect, fitness) = RunCourse.Guide(BenchAnswers.Word<RunMethod>(method));
            return new { caution, connect, fitness };
        })).WithSummary("Cautions, connections and fitness list of a method");
        reads.MapGet("/runs", (BenchDoor door) => BenchAnswers.Read(door, p => p.Runs.Runs().Select(BenchAnswers.Document))).WithSummary("All runs");
        reads.MapGet("/runs/{id}", (string id, BenchDoor door) => BenchAnswers.Read(door, p => BenchAnswers.Document(p.Runs.Run(id)))).WithSummary("One run");
        Keep(entries, "/runs", "Starts a run", (BenchProject p, RunBody e, Stamp who) => p.Runs.Start(CheckCharacter.Read(e.Module), e.Method, e.Rig, e.Attended, who));
        entries.MapPost("/runs/{id}/hold", (string id, BenchEntry<ReasonBody> body, BenchDoor door) => Step(door, id, body, (r, e, who) => RunCourse.Hold(r, true, e.Reason, who.By, who.At))).WithSummary("Holds a run");
        entries.MapPost("/runs/{id}/go-on", (string id, BenchEntry<ReasonBody> body, BenchDoor door) => Step(door, id, body, (r, e, who) => RunCourse.Hold(r, false, e.Reason, who.By, who.At))).WithSummary("Goes on with a run");
        entries.MapPost("/runs/{id}/discard", (string id, BenchEntry<ReasonBody> body, BenchDoor door) => Step(door, id, body, (r, e, who) => RunCourse.Discard(r, e.Reason, who.By, who.At))).WithSummary("Ends a run and discards it, with the reason");
        entries.MapPost("/runs/{id}/end", (string id, BenchEntry<ReasonBody> body, BenchDoor door) => Step(door, id, body, (r, e, who) => RunCourse.End(r, e.Reason, who.By, who.At))).WithSummary("Ends a run and keeps it");
        entries.MapPost("/runs/{id}/interrupted", (string id, BenchEntry<ReasonBody> body, BenchDoor door) => Step(door, id, body, (r, e, who) => RunCourse.Interrupt(r, e.Reason, who.At))).WithSummary("Data stopped coming");
        entries.MapPost("/runs/{id}/attended", (string id, BenchEntry<AttendedBody> body, BenchDoor door) => Step(door, id, body, (r, e, who) => RunCourse.SetAttended(r, e.Attended, who.By, who.At))).WithSummary("Someone stays, or leaves");
        entries.MapPost("/runs/{id}/cut-tried", (string id, BenchEntry<CutBody> body, BenchDoor door) =>
            Step(door, id, body, (r, e, who) => RunCourse.CutTried(r, e.CurrentBeforeA, e.CurrentAfterA, e.ZeroA, who.By, who.At))).WithSummary("The run's cut was tried");
        entries.MapPost("/runs/{id}/rest", (string id, BenchEntry<RestBody> body, BenchDoor door) =>
            BenchAnswers.Enter(door, body, (p, e, who) => BenchAnswers.Document(p.Runs.CloseRest(id, e.Recording, e.Settings ?? new RestTestSettings(), who)))).WithSummary("Closes a rest test with its recording");
        entries.MapPost("/runs/{id}/capacity", (string id, BenchEntry<CsvBody> body, BenchDoor door) =>
            BenchAnswers.Enter(door, body, (p, e, who) => BenchAnswers.Document(p.Runs.CloseCapacity(id, e.Csv, e.Settings ?? p.Runs.CapacitySettings, who)))).WithSummary("Closes a capacity test with its recording as CSV");
        entries.MapPost("/runs/{id}/pulse", (string id, BenchEntry<PulseRecording> body, BenchDoor door) =>
            BenchAnswers.Enter(door, body, (p, e, who) => BenchAnswers.Document(p.Runs.ClosePulse(id, e, who)))).WithSummary("Closes a pulse test with its recording");
        entries.MapPost("/runs/{id}/from-log", (string id, BenchEntry<ReasonBody> body, BenchDoor door, IServiceProvider services, CancellationToken cancellation) => BenchAnswers.PlayAsync(body, async () =>
        {
            var closer = services.GetService<IRunCloser>() ?? throw new RefusedException($"This program keeps no cell log: hand the recording in at runs/{id}/rest, /capacity or /pulse.");
            var finding = await closer.CloseAsync(body.By, id, cancellation);
            return new { Finding = finding, Run = door.Read(p => BenchAnswers.Document(p.Runs.Run(id))) };
        })).WithSummary("Closes a run with what the cell log holds of it since it began");
        // Reading a file at the desk: judged and answered, nothing kept.
        Enter(entries, "/read/capacity", "Reads a discharge file without keeping it", (BenchProject p, CsvBody e, Stamp _) => CapacityTest.Judge(RecordingCsv.Parse(e.Csv).Discharge, e.Settings ?? p.Runs.CapacitySettings));
        Enter(entries, "/read/rest", "Reads a rest recording without keeping it", (BenchProject _, RestBody e, Stamp _) => RestTest.Judge(e.Recording, e.Settings ?? new RestTestSettings()));
        Enter(entries, "/queue", "What runs when, when all is done, what to connect next", (BenchProject p, QueueBody e, Stamp who) => BenchQueue.Plan(p.Runs.Open(), e.Rigs, e.Hours, who.At));
    }

    private static IResult Step<T>(BenchDoor door, string id, BenchEntry<T> body, Func<Run, T, Stamp, Run> step) =>
        BenchAnswers.Enter(door, body, (p, e, who) => BenchAnswers.Document(p.Runs.Step(id, r => step(r, e, who), who)));
}
