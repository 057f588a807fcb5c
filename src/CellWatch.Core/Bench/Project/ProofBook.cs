using CellWatch.Core.Pack;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Bench.Project;

/// <summary>Samples of a rhythm: one array a channel name, as long as the times.</summary>
/// <param name="TimeS">Seconds since the rhythm began.</param>
/// <param name="CellV">Voltages by cell name; null where a sample is missing.</param>
/// <param name="Rhythm">The rhythm that was played.</param>
public sealed record RhythmSamples(IReadOnlyList<double> TimeS, IReadOnlyDictionary<string, double?[]> CellV, LoadRhythm Rhythm);

/// <summary>A rhythm to be played on live data.</summary>
/// <param name="Subject">Module for a module's load, cell for a cell's rhythm.</param>
/// <param name="Method">One of the two.</param>
/// <param name="NoPieceOver60V">The person's statement that no joined piece exceeds 60 V.</param>
/// <param name="SimulatedLoad">The load is the model's and follows the count; only of a simulated pack.</param>
public sealed record RhythmOrder(string Subject, ProofMethod Method, bool NoPieceOver60V, bool SimulatedLoad);

/// <summary>Stage 9: proofs of channels, from readings and rhythms; voids; re-opens gates.</summary>
/// <param name="site">The site.</param>
/// <param name="proofs">The proofs.</param>
/// <param name="gates">The gates.</param>
public sealed class ProofBook(BenchSite site, ProofRegister proofs, GateBook gates)
{
    /// <summary>Judges and keeps the check of an unplugged connector; a failed one is kept too.</summary>
    public (StackOutcome Outcome, Kept<ProofAttempt> Kept) Stack(string module, IReadOnlyList<double> readingsV, Stamp who)
    {
        var outcome = MonotonicStack.Judge(readingsV, Cells(module), CellStep.Usual);
        var readings = readingsV.Select((v, i) => (v, i)).ToDictionary(r => T($"lead{r.i}V"), r => r.v, StringComparer.Ordinal);
        return (outcome, Keep(new ProofAttempt(module, ProofMethod.Stack, outcome.Passed, outcome.Sentence, readings), [module], who));
    }

    /// <summary>Judges and keeps the sum of a module's cells against its terminals. It can be right with exchanged harnesses.</summary>
    public (SumOutcome Outcome, Kept<ProofAttempt> Kept) Sum(string module, IReadOnlyList<double> cellV, double terminalV, Stamp who)
    {
        RefusedException.Unless(cellV.Count == Cells(module), T($"{module} has {Cells(module)} cells; {cellV.Count} voltages were given."));
        var outcome = SumAgainstTerminal.JudgeModule([.. cellV], terminalV);
        var readings = new Dictionary<string, double>(StringComparer.Ordinal) { ["sumV"] = outcome.SumV, ["terminalV"] = terminalV };
        return (outcome, Keep(new ProofAttempt(module, ProofMethod.Sum, outcome.Passed, outcome.Sentence, readings), [module], who));
    }

    /// <summary>Judges and keeps a load on the terminals of a module.</summary>
    public (RhythmOutcome Outcome, Kept<ProofAttempt> Kept) ModuleLoad(string module, RhythmSamples samples, Stamp who) => Rhythm(module, ProofMethod.ModuleLoad, samples, "", who);

    /// <summary>Judges and keeps a load or bleed on one cell.</summary>
    public (RhythmOutcome Outcome, Kept<ProofAttempt> Kept) CellRhythm(string cell, RhythmSamples samples, Stamp who) => Rhythm(cell, ProofMethod.CellRhythm, samples, "", who);

    /// <summary>Judges and keeps a rhythm on a module or a cell.</summary>
    /// <param name="subject">Module for a module's load, cell for a cell's rhythm.</param>
    /// <param name="method">One of the two.</param>
    /// <param name="samples">What was recorded.</param>
    /// <param name="evidence">Where the data lie, in words.</param>
    /// <param name="who">Who did it.</param>
    public (RhythmOutcome Outcome, Kept<ProofAttempt> Kept) Rhythm(string subject, ProofMethod method, RhythmSamples samples, string evidence, Stamp who)
    {
        var recorder = Recorded(samples, out var expected);
        var (name, first, count) = Subject(subject, method);
        var outcome = Judge(recorder, method, first, expected);
        var readings = new Dictionary<string, double>(StringComparer.Ordinal)
        {
            ["loadOnS"] = samples.Rhythm.OnS,
            ["loadOffS"] = samples.Rhythm.OffS,
            ["cycles"] = samples.Rhythm.Cycles,
            ["scansUsed"] = expected,
        };
        // The dips of what was named and of what answered: what the verdict rests on.
        foreach (var cell in Enumerable.Range(first, count).Union(Enumerable.Range(0, site.Map.CellCount).Where(c => outcome.Answered.Contains(site.Map.NameOf(c)))))
        {
            var answer = recorder.AnswerOf(cell);
            if (!double.IsFinite(answer.DipV)) continue;
            readings[$"{site.Map.NameOf(cell)} dipMv"] = Math.Round(1000 * answer.DipV, 3);
            readings[$"{site.Map.NameOf(cell)} sigmaMv"] = Math.Round(1000 * answer.SigmaV, 3);
        }

        var attempt = new ProofAttempt(
            name, method, outcome.Proven, outcome.Sentence, readings, double.IsFinite(outcome.DipMv) ? outcome.DipMv : null, outcome.ConfidencePercent, evidence);
        return (outcome, Keep(attempt, outcome.NotProvenModules, who));
    }

    /// <summary>What a rhythm would come to so far; nothing is kept.</summary>
    public RhythmOutcome TryRhythm(string subject, ProofMethod method, RhythmSamples samples) =>
        Judge(Recorded(samples, out var expected), method, Subject(subject, method).FirstCell, expected);

    /// <summary>
    /// Whether a rhythm may be played now, and on what. A load by hand only while no joined piece exceeds 60 V; at rest; with every channel of the
    /// subject good, since a channel that gives no data can neither answer nor be found silent.
    /// </summary>
    /// <exception cref="RefusedException">It may not; the message says why and what to do.</exception>
    public string AdmitRhythm(RhythmOrder order, Snapshot? now)
    {
        var (name, first, count) = Subject(order.Subject, order.Method);
        RefusedException.Unless(now is not null, T("Nothing has been heard from any instrument yet: the rhythm is read from live data."));
        if (!order.SimulatedLoad)
        {
            RefusedException.Unless(gates.StateOf(GateTable.ThirdModuleJoined) != GateState.Proven,
                T("Gate 9 is proven: the string is joined and over 60 V, where a load is not put on by hand. Part it into pieces of at most two modules and enter the opened joint first; that re-opens gate 9."));
            RefusedException.Unless(order.NoPieceOver60V, T("Say first that no joined piece exceeds 60 V: a load is put on by hand only below that."));
        }

        var live = now!.Map;
        var missing = new List<string>();
        foreach (var cell in Enumerable.Range(first, count).Select(site.Map.NameOf))
            if (!(CellId.TryParse(cell, out var id) && live.Layout.TryFindCell(id, out var channel) && now.TryGet(channel, out _))) missing.Add(cell);
        RefusedException.Unless(missing.Count == 0, T($"{Wording.Figures.List(missing)} {(missing.Count == 1 ? T("gives") : T("give"))} no good value now: look at that first, then play the rhythm."));
        RefusedException.Unless(!now.TryGetPackCurrentA(out var currentA) || Math.Abs(currentA) <= AtRestBelowA,
            T($"{Math.Abs(currentA):0.0} A flow: a rhythm is played at rest (below {AtRestBelowA:0.#} A). Let the current end first."));
        return name;
    }

    /// <summary>A current below this counts as rest for a rhythm, A: a twentieth of the rated capacity an hour (own rule).</summary>
    public double AtRestBelowA => site.RatedGroupAh / 20;

    /// <summary>Judges and keeps a warm hand on a sensor; the evidence says where the data lie, as with a rhythm.</summary>
    public (WarmHandOutcome Outcome, Kept<ProofAttempt> Kept) Hand(string sensor, IReadOnlyDictionary<string, double> beforeDegC, IReadOnlyDictionary<string, double> afterDegC, Stamp who, string evidence = "")
    {
        var names = Enumerable.Range(site.Map.FirstTemperature, site.Map.TemperatureCount).Select(site.Map.NameOf).ToList();
        var index = names.IndexOf(sensor);
        RefusedException.Unless(index >= 0, T($"'{sensor}' is no temperature sensor of this pack{Wording.NearestName.Suggestion(sensor, names)}."));
        double[] Values(IReadOnlyDictionary<string, double> by) => [.. names.Select(n => by.TryGetValue(n, out var v) ? v : double.NaN)];
        var outcome = WarmHand.Judge(names, index, Values(beforeDegC), Values(afterDegC), site.Limits);
        var readings = new Dictionary<string, double>(StringComparer.Ordinal) { ["riseK"] = outcome.RiseK };
        return (outcome, Keep(new ProofAttempt(sensor, ProofMethod.WarmHand, outcome.Proven, outcome.Sentence, readings, Evidence: evidence), [], who));
    }

    /// <summary>Judges and keeps the proof of the current sensor.</summary>
    public (CurrentSensorOutcome Outcome, Kept<ProofAttempt> Kept) Current(double zeroA, double loadedA, double expectedLoadA, double? chargingA, Stamp who, string evidence = "")
    {
        var outcome = CurrentSensorProof.Judge(zeroA, loadedA, expectedLoadA, chargingA);
        var readings = new Dictionary<string, double>(StringComparer.Ordinal) { ["zeroA"] = zeroA, ["loadedA"] = loadedA, ["expectedLoadA"] = expectedLoadA };
        if (chargingA is { } charging) readings["chargingA"] = charging;
        return (outcome, Keep(new ProofAttempt("packCurrentA", ProofMethod.KnownCurrent, outcome.Proven, outcome.Sentence, readings, Evidence: evidence), [], who));
    }

    /// <summary>Judges and keeps sum, channel and hand meter of the whole string against each other.</summary>
    public (bool Passed, string Sentence) StringVoltage(double sumV, double channelV, double meterV, Stamp who, string evidence = "")
    {
        var allowedV = SumAgainstTerminal.StringShare * meterV;
        var passed = meterV > 0 && Math.Abs(sumV - meterV) <= allowedV && Math.Abs(channelV - meterV) <= allowedV;
        var sentence = passed
            ? T($"Sum {sumV:0.0} V, channel {channelV:0.0} V and hand meter {meterV:0.0} V agree within 0.3 %.")
            : T($"Sum {sumV:0.0} V, channel {channelV:0.0} V and hand meter {meterV:0.0} V differ by more than 0.3 % ({allowedV:0.0} V): a lead, a link or a channel is wrong.");
        var readings = new Dictionary<string, double>(StringComparer.Ordinal) { ["sumV"] = sumV, ["channelV"] = channelV, ["meterV"] = meterV };
        Keep(new ProofAttempt("stringVoltageV", ProofMethod.StringVoltage, passed, sentence, readings, Evidence: evidence), [], who);
        return (passed, sentence);
    }

    /// <summary>A connector was opened: its proofs are void and the gates that stand on them are re-opened.</summary>
    public IReadOnlyList<Kept<GateRecord>> Disconnected(string module, string reason, Stamp who)
    {
        Module(module);
        RefusedException.Unless(reason.Trim().Length > 0, T("Say what happened: the gates show it as their reason."));
        var sentence = T($"Connector of {module}: {reason.Trim().TrimEnd('.')}.");
        proofs.Void(module, sentence, who.By, who.At, who.Simulated);
        return gates.Reopen(GateEvent.ConnectorOpened, sentence, who.By, who.At, who.Simulated);
    }

    private RhythmRecorder Recorded(RhythmSamples s, out int expectedSamples)
    {
        RefusedException.Unless(s.TimeS.Count > 0, T("No samples were given."));
        foreach (var (name, values) in s.CellV)
        {
            RefusedException.Unless(values.Length == s.TimeS.Count, T($"{name} holds {values.Length} samples, the times {s.TimeS.Count}."));
            RefusedException.Unless(CellId.TryParse(name, out var id) && site.Layout.TryFindCell(id, out _), T($"'{name}' is no cell of this pack."));
        }

        // With three modules or more the load sits on a third of the channels at most, and what all of them do is not its doing.
        var modules = s.CellV.Where(c => c.Value.Any(v => v is not null)).Select(c => c.Key.Split('.')[0]).Distinct(StringComparer.Ordinal).Count();
        var recorder = new RhythmRecorder(s.Rhythm, site.Map.CellCount, takeCommonOut: modules >= 3);
        var columns = Enumerable.Range(0, site.Map.CellCount).Select(c => s.CellV.GetValueOrDefault(site.Map.NameOf(c))).ToArray();
        var scan = new double[site.Map.CellCount];
        expectedSamples = 0;
        for (var i = 0; i < s.TimeS.Count; i++)
        {
            if (s.Rhythm.LoadAt(s.TimeS[i]) is null) continue;
            expectedSamples++;
            for (var c = 0; c < scan.Length; c++) scan[c] = columns[c]?[i] ?? double.NaN;
            recorder.Add(s.TimeS[i], scan);
        }

        return recorder;
    }

    private RhythmOutcome Judge(RhythmRecorder recorder, ProofMethod method, int firstCell, int expectedSamples) => method == ProofMethod.ModuleLoad
        ? RhythmProof.JudgeModule(recorder, site.Map, site.Layout.ModuleOfCell(firstCell), expectedSamples)
        : RhythmProof.JudgeCell(recorder, site.Map, firstCell, expectedSamples);

    private (string Name, int FirstCell, int Cells) Subject(string subject, ProofMethod method)
    {
        if (method == ProofMethod.ModuleLoad) return (subject, site.Layout.FirstCell(Module(subject)), Cells(subject));
        RefusedException.Unless(method == ProofMethod.CellRhythm, T("A rhythm proves a module by its load (moduleLoad) or a cell (cellRhythm)."));
        return CellId.TryParse(subject, out var id) && site.Layout.TryFindCell(id, out var cell) ? (id.ToString(), cell, 1)
            : throw new RefusedException(T($"'{subject}' is no cell of this pack: write it like B07.3."));
    }

    /// <summary>Keeps an attempt; where it takes a proof away that a gate stands on, the gate is re-opened too.</summary>
    private Kept<ProofAttempt> Keep(ProofAttempt attempt, IReadOnlyList<string> notProven, Stamp who)
    {
        var kept = proofs.Add(attempt, notProven, who.By, who.At, who.Simulated);
        if (!attempt.Passed && notProven.Count > 0) gates.Reopen(GateEvent.ConnectorOpened, $"{attempt.Subject}: {attempt.Sentence}", who.By, who.At, who.Simulated);
        return kept;
    }

    private int Cells(string module) => site.Layout.Modules[Module(module)].Topology.Series;

    private int Module(string module) =>
        ModuleId.IsValid(module) && site.Layout.TryFindModule(new ModuleId(module), out var index) ? index
        : throw new RefusedException(T($"'{module}' is no module of this pack{Wording.NearestName.Suggestion(module, site.Layout.Modules.Select(m => m.Id.Text))}."));
}
