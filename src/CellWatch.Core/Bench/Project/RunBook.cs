using System.Security.Cryptography;
using System.Text;
using CellWatch.Core.Pack;
using CellWatch.Core.Register;

namespace CellWatch.Core.Bench.Project;

/// <summary>What was found when a module came out.</summary>
/// <param name="ModuleV">Voltage at its terminals.</param>
/// <param name="TemperatureDegC">Temperature.</param>
/// <param name="LinkTorqueNm">Torque at which its links came loose; 0 came loose by hand.</param>
/// <param name="Words">Coolant side, marks, remarks.</param>
public sealed record RemovalEntry(double ModuleV, double TemperatureDegC, double LinkTorqueNm, string Words);

/// <summary>An inspection as kept.</summary>
public sealed record InspectionKept(InspectionEntry Entry, InspectionOutcome Outcome);

/// <summary>A rest test as kept, with the rules and the program it was judged by; both null where they were not kept.</summary>
public sealed record RestKept(string RunId, RestOutcome Outcome, RestTestSettings? Settings = null, string? Software = null);

/// <summary>A capacity test as kept; the temperature is the hottest of the run. Rules and program as with <see cref="RestKept"/>.</summary>
public sealed record CapacityKept(string RunId, CapacityOutcome Outcome, double TemperatureDegC, CapacitySettings? Settings = null, string? Software = null);

/// <summary>A pulse test as kept; its rules are those of the program it names.</summary>
public sealed record PulseKept(string RunId, PulseOutcome Outcome, double TemperatureDegC, double ChargePercent, string? Software = null);

/// <summary>Raw data of a run, frozen.</summary>
public sealed record RawKept(string Text);

/// <summary>Stages 1 to 6: quarantine, removal, inspection and bench runs with their results.</summary>
/// <param name="store">Where it is kept.</param>
/// <param name="site">The site.</param>
/// <param name="register">The modules.</param>
public sealed class RunBook(IRecordStore store, BenchSite site, ModuleRegister register)
{
    private readonly Shelf<Run> runs = new(store, "run");
    private readonly Shelf<RawKept> raw = new(store, "raw");
    private readonly Shelf<Quarantine> quarantine = new(store, "quarantine");
    private readonly Shelf<RemovalEntry> removals = new(store, "removal");
    private readonly Shelf<InspectionKept> inspections = new(store, "inspection");
    private readonly Shelf<RestKept> rests = new(store, "rest");
    private readonly Shelf<CapacityKept> capacities = new(store, "capacity");
    private readonly Shelf<PulseKept> pulses = new(store, "pulse");

    /// <summary>The quarantine log; null before it begins.</summary>
    public Kept<Quarantine>? Quarantine() => quarantine.Latest("battery");

    /// <summary>What the quarantine log says; null before it begins.</summary>
    public QuarantineState? QuarantineState() => Quarantine() is { } log ? new QuarantineRules().Judge(log.Value) : null;

    /// <summary>Begins the quarantine log.</summary>
    public Kept<Quarantine> Arrive(DateTimeOffset arrivedAt, DateTimeOffset? impactAt, Stamp who)
    {
        RefusedException.Unless(Quarantine() is null, T("The quarantine log has begun already: add readings to it."));
        return quarantine.Put("battery", new Quarantine(arrivedAt, impactAt, []), 0, who.By, who.At, who.Simulated);
    }

    /// <summary>Adds a reading.</summary>
    public Kept<Quarantine> Look(QuarantineReading reading, Stamp who)
    {
        var log = Quarantine() ?? throw new RefusedException(T("The quarantine log has not begun: enter when the vehicle arrived first."));
        foreach (var t in reading.SurfaceDegC.Append(reading.AmbientDegC))
            RefusedException.Unless(t is > -40 and < 100, T($"{t:0.#} degC is not believable here: is it in degF? Enter degC."));
        return quarantine.Put("battery", log.Value with { Readings = log.Value.Readings.Add(reading) }, log.Record.Revision, who.By, who.At, who.Simulated);
    }

    /// <summary>Keeps what was found when a module came out.</summary>
    public Kept<RemovalEntry> Remove(ModuleId module, RemovalEntry entry, Stamp who)
    {
        register.Get(module);
        RefusedException.Unless(entry.ModuleV is > 0 and < 100, T($"{entry.ModuleV:0.##} V is no voltage of one module: measure at its own terminals."));
        RefusedException.Unless(entry.TemperatureDegC is > -40 and < 80, T($"{entry.TemperatureDegC:0.#} degC is not believable for a module: is it in degF? Enter degC."));
        return removals.Put(module.Text, entry, Revision(removals, module.Text), who.By, who.At, who.Simulated);
    }

    /// <summary>All removals.</summary>
    public IReadOnlyList<Kept<RemovalEntry>> Removals() => removals.Latest();

    /// <summary>Judges and keeps an inspection.</summary>
    public Kept<InspectionKept> Inspect(ModuleId module, InspectionEntry entry, Stamp who)
    {
        var topology = ModuleTopology.Parse(register.Get(module).Value.Topology);
        return inspections.Put(module.Text, new InspectionKept(entry, Inspection.Judge(entry, topology.Series)), Revision(inspections, module.Text), who.By, who.At, who.Simulated);
    }

    /// <summary>The latest inspection; null before.</summary>
    public Kept<InspectionKept>? InspectionOf(string module) => inspections.Latest(module);

    /// <summary>The latest rest test; null before.</summary>
    public Kept<RestKept>? RestOf(string module) => rests.Latest(module);

    /// <summary>The latest capacity test; null before.</summary>
    public Kept<CapacityKept>? CapacityOf(string module) => capacities.Latest(module);

    /// <summary>The latest pulse test; null before.</summary>
    public Kept<PulseKept>? PulseOf(string module) => pulses.Latest(module);

    /// <summary>All capacity tests of a module, oldest first.</summary>
    public IReadOnlyList<Kept<CapacityKept>> CapacityHistory(string module) => capacities.History(module);

    /// <summary>The raw text of a run's first stretch of data; null where it has none.</summary>
    public string? RawOf(string runId) => raw.Latest($"{runId}/1")?.Value.Text;

    /// <summary>All runs.</summary>
    public IReadOnlyList<Kept<Run>> Runs() => runs.Latest();

    /// <summary>One run.</summary>
    /// <exception cref="RefusedException">There is none of that name.</exception>
    public Kept<Run> Run(string id) =>
        runs.Latest(id) ?? throw new RefusedException(T($"There is no run '{id}'{Wording.NearestName.Suggestion(id, Runs().Select(r => r.Value.Id))}."));

    /// <summary>Starts a run.</summary>
    public Kept<Run> Start(ModuleId module, RunMethod method, string rig, bool attended, Stamp who)
    {
        var kept = register.Get(module);
        RefusedException.Unless(kept.Value.Status != ModuleStatus.Rejected, T($"{module} is rejected: no run is started with it."));
        RefusedException.Unless(InspectionOf(module.Text) is { } seen && seen.Value.Outcome.Verdict != Verdict.Reject, T($"{module} has no passed inspection: inspect it first."));
        var run = RunCourse.Start(module.Text, method, rig, attended, [.. Runs().Select(r => r.Value)], who.By, who.At);
        return runs.Put(run.Id, run, 0, who.By, who.At, who.Simulated);
    }

    /// <summary>Takes a step in a run's course.</summary>
    public Kept<Run> Step(string id, Func<Run, Run> step, Stamp who)
    {
        var run = Run(id);
        return runs.Put(id, step(run.Value), run.Record.Revision, who.By, who.At, who.Simulated);
    }

    /// <summary>Judges a rest recording, keeps it with its digest and ends the run.</summary>
    public Kept<RestKept> CloseRest(string id, RestRecording recording, RestTestSettings settings, Stamp who)
    {
        var run = Running(id, RunMethod.Rest);
        RefusedException.Unless(recording.TimeS.Length > 0 && recording.CellV.All(c => c.Length == recording.TimeS.Length) && (recording.TemperatureDegC is null || recording.TemperatureDegC.Length == recording.TimeS.Length),
            T("The rest holds no rows, or columns of different lengths: times, every cell and the temperature need one value a row."));
        var outcome = RestTest.Judge(recording, settings);
        Freeze(id, System.Text.Json.JsonSerializer.Serialize(recording, RecordJson.Options), recording.TimeS.Length, who);
        Step(id, r => RunCourse.End(r, outcome.Sentence, who.By, who.At), who);
        return rests.Put(run.Module, new RestKept(id, outcome, settings, site.SoftwareVersion), Revision(rests, run.Module), who.By, who.At, who.Simulated);
    }

    /// <summary>Judges a discharge given as CSV. A hole under current interrupts the run instead: it is never spliced.</summary>
    public Kept<CapacityKept> CloseCapacity(string id, string csv, CapacitySettings settings, Stamp who)
    {
        var run = Running(id, RunMethod.Capacity);
        var recording = RecordingCsv.Parse(csv);
        if (recording.LongestHoleS() is > 0 and var holeS)
        {
            Step(id, r => RunCourse.Interrupt(r, T($"{holeS:0} s without data under current"), who.At), who);
            throw new RefusedException(T($"{id}: {holeS:0} s without data while current flowed; the charge in it is not known, so no capacity is stated. The run is marked interrupted: go on with a reason, or end it and repeat."));
        }

        RefusedException.Unless(!run.HasHole, T($"{id} was interrupted and gone on with: the charge in the hole is not known. End it and repeat the test for a capacity."));
        var outcome = CapacityTest.Judge(recording.Discharge, settings);
        RefusedException.Unless(outcome.ModuleAh.Value <= 2 * settings.RatedAh,
            T($"{outcome.ModuleAh.Value:0.#} Ah is more than twice what these cells can hold ({settings.RatedAh:0} Ah rated): check the unit and the sign of the current."));
        Freeze(id, csv, recording.TimeS.Length, who);
        Step(id, r => RunCourse.End(r, outcome.Sentence, who.By, who.At), who);
        var degC = recording.HottestDegC?.Where(double.IsFinite).DefaultIfEmpty(double.NaN).Max() ?? double.NaN;
        return capacities.Put(run.Module, new CapacityKept(id, outcome, degC, settings, site.SoftwareVersion), Revision(capacities, run.Module), who.By, who.At, who.Simulated);
    }

    /// <summary>Judges a pulse, keeps it and ends the run.</summary>
    public Kept<PulseKept> ClosePulse(string id, PulseRecording recording, Stamp who)
    {
        var run = Running(id, RunMethod.Pulse);
        RefusedException.Unless(recording.TimeS.Length > 0 && recording.CurrentA.Length == recording.TimeS.Length && recording.CellV.All(c => c.Length == recording.TimeS.Length),
            T("The pulse holds no rows, or columns of different lengths: times, current and every cell need one value a row."));
        foreach (var t in new[] { recording.StartDegC, recording.EndDegC })
            RefusedException.Unless(!(t is <= -30 or >= 60), T($"{t:0.#} degC is not believable for a module at a pulse: is it in degF? Enter degC."));
        var outcome = PulseTest.Judge(recording);
        Freeze(id, System.Text.Json.JsonSerializer.Serialize(recording, RecordJson.Options), recording.TimeS.Length, who);
        Step(id, r => RunCourse.End(r, outcome.Sentence, who.By, who.At), who);
        return pulses.Put(run.Module, new PulseKept(id, outcome, recording.StartDegC, recording.ChargePercent, site.SoftwareVersion), Revision(pulses, run.Module), who.By, who.At, who.Simulated);
    }

    /// <summary>What is still to be done with each module, for the queue.</summary>
    public IReadOnlyList<(string Module, RunMethod Method)> Open()
    {
        var open = new List<(string, RunMethod)>();
        foreach (var module in register.All().Where(m => m.Value.Status != ModuleStatus.Rejected).Select(m => m.Value.Identity))
        {
            if (CapacityOf(module) is not { Value.Outcome.IsFit: true }) open.Add((module, RunMethod.Capacity));
            if (RestOf(module) is not { Value.Outcome.Refused.Count: 0 }) open.Add((module, RunMethod.Rest));
            if (PulseOf(module) is not { Value.Outcome.Comparable: true }) open.Add((module, RunMethod.Pulse));
        }

        return open;
    }

    /// <summary>All that is known of a module for its grade.</summary>
    public ModuleEvidence Evidence(ModuleRecord module)
    {
        var (id, i) = (module.Identity, InspectionOf(module.Identity));
        EvidenceLink Link(BenchRecord r) => new(T($"{r.Kind} {r.Key} rev {r.Revision}"), r.At);
        var (rest, capacity, pulse) = (RestOf(id), CapacityOf(id), PulseOf(id));
        var worst = rest?.Value.Outcome.Groups.MaxBy(g => ((int)g.Verdict, g.LeakMilliampere));
        return new ModuleEvidence(
            id, module.Origin.Gap,
            i is null ? null : new InspectionEvidence(i.Value.Outcome.Verdict, i.Value.Outcome.Words, Link(i.Record)),
            rest is null || worst is null ? null : new RestEvidence(
                worst.Cell, worst.LeakMilliampere, worst.HalfWidthMilliampere, rest.Value.Outcome.SmallestLeakFoundMilliampere, worst.Steepens, rest.Value.Outcome.Verdict == Verdict.Undecided, Link(rest.Record)),
            capacity is null ? null : new CapacityEvidence([.. capacity.Value.Outcome.Groups.Select(g => g.CapacityAh)], capacity.Value.TemperatureDegC, capacity.Value.Outcome.IsFit, Link(capacity.Record)),
            pulse is not { Value.Outcome.Comparable: true } ? null : new ResistanceEvidence(
                [.. pulse.Value.Outcome.Groups.Select(g => g.TenSecondMilliohm)], [.. pulse.Value.Outcome.Groups.Select(g => g.OhmicMilliohm)], pulse.Value.TemperatureDegC, pulse.Value.ChargePercent, Link(pulse.Record)),
            i?.Value.Entry.CaseMegohm is { } megohm ? new IsolationEvidence(megohm, Link(i.Record)) : null);
    }

    /// <summary>Settings of a capacity test at this site.</summary>
    public CapacitySettings CapacitySettings => new() { RatedAh = site.RatedGroupAh };

    private Run Running(string id, RunMethod method)
    {
        var run = Run(id).Value;
        RefusedException.Unless(run.Method == method, T($"{id} is a {run.Method.ToString().ToLowerInvariant()} run."));
        RefusedException.Unless(run.State == RunState.Running, T($"{id} is {run.State.ToString().ToLowerInvariant()}: it takes data only while it is running."));
        return run;
    }

    private void Freeze(string id, string text, int rows, Stamp who)
    {
        var key = $"{id}/{Run(id).Value.Raw.Length + 1}";
        raw.Put(key, new RawKept(text), 0, who.By, who.At, who.Simulated);
        var digest = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(text)));
        Step(id, r => RunCourse.AddRaw(r, new RawReference(key, rows, digest), who.By, who.At), who);
    }

    private static int Revision<T>(Shelf<T> shelf, string key)
        where T : class => shelf.Latest(key)?.Record.Revision ?? 0;
}
