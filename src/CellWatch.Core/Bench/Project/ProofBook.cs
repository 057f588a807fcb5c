using CellWatch.Core.Pack;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;

namespace CellWatch.Core.Bench.Project;

/// <summary>Samples of a rhythm: one array a channel name, as long as the times.</summary>
/// <param name="TimeS">Seconds since the rhythm began.</param>
/// <param name="CellV">Voltages by cell name; null where a sample is missing.</param>
/// <param name="Rhythm">The rhythm that was played.</param>
public sealed record RhythmSamples(IReadOnlyList<double> TimeS, IReadOnlyDictionary<string, double?[]> CellV, LoadRhythm Rhythm);

/// <summary>Stage 9: proofs of channels, from readings and rhythms; voids; re-opens gates.</summary>
/// <param name="site">The site.</param>
/// <param name="proofs">The proofs.</param>
/// <param name="gates">The gates.</param>
public sealed class ProofBook(BenchSite site, ProofRegister proofs, GateBook gates)
{
    private static readonly Dictionary<string, double> None = [];

    /// <summary>Judges and keeps the check of an unplugged connector; a failed one is kept too.</summary>
    public (StackOutcome Outcome, Kept<ProofAttempt> Kept) Stack(string module, IReadOnlyList<double> readingsV, Stamp who)
    {
        var outcome = MonotonicStack.Judge(readingsV, Cells(module), CellStep.Usual);
        var readings = readingsV.Select((v, i) => (v, i)).ToDictionary(r => $"lead{r.i}V", r => r.v, StringComparer.Ordinal);
        return (outcome, Keep(new ProofAttempt(module, ProofMethod.Stack, outcome.Passed, outcome.Sentence, readings), [module], who));
    }

    /// <summary>Judges and keeps the sum of a module's cells against its terminals. It can be right with exchanged harnesses.</summary>
    public (SumOutcome Outcome, Kept<ProofAttempt> Kept) Sum(string module, IReadOnlyList<double> cellV, double terminalV, Stamp who)
    {
        RefusedException.Unless(cellV.Count == Cells(module), $"{module} has {Cells(module)} cells; {cellV.Count} voltages were given.");
        var outcome = SumAgainstTerminal.JudgeModule([.. cellV], terminalV);
        var readings = new Dictionary<string, double>(StringComparer.Ordinal) { ["sumV"] = outcome.SumV, ["terminalV"] = terminalV };
        return (outcome, Keep(new ProofAttempt(module, ProofMethod.Sum, outcome.Passed, outcome.Sentence, readings), [module], who));
    }

    /// <summary>Judges and keeps a load on the terminals of a module.</summary>
    public (RhythmOutcome Outcome, Kept<ProofAttempt> Kept) ModuleLoad(string module, RhythmSamples samples, Stamp who)
    {
        var index = Module(module);
        var outcome = RhythmProof.JudgeModule(Recorded(samples, out var expected), site.Map, index, expected);
        return (outcome, KeepRhythm(module, ProofMethod.ModuleLoad, outcome, who));
    }

    /// <summary>Judges and keeps a load or bleed on one cell.</summary>
    public (RhythmOutcome Outcome, Kept<ProofAttempt> Kept) CellRhythm(string cell, RhythmSamples samples, Stamp who)
    {
        if (!CellId.TryParse(cell, out var id) || !site.Layout.TryFindCell(id, out var index)) throw new RefusedException($"'{cell}' is no cell of this pack: write it like B07.3.");
        var outcome = RhythmProof.JudgeCell(Recorded(samples, out var expected), site.Map, index, expected);
        return (outcome, KeepRhythm(id.ToString(), ProofMethod.CellRhythm, outcome, who));
    }

    /// <summary>Judges and keeps a warm hand on a sensor.</summary>
    public (WarmHandOutcome Outcome, Kept<ProofAttempt> Kept) Hand(string sensor, IReadOnlyDictionary<string, double> beforeDegC, IReadOnlyDictionary<string, double> afterDegC, Stamp who)
    {
        var names = Enumerable.Range(site.Map.FirstTemperature, site.Map.TemperatureCount).Select(site.Map.NameOf).ToList();
        var index = names.IndexOf(sensor);
        RefusedException.Unless(index >= 0, $"'{sensor}' is no temperature sensor of this pack{Wording.NearestName.Suggestion(sensor, names)}.");
        double[] Values(IReadOnlyDictionary<string, double> by) => [.. names.Select(n => by.TryGetValue(n, out var v) ? v : double.NaN)];
        var outcome = WarmHand.Judge(names, index, Values(beforeDegC), Values(afterDegC), site.Limits);
        var readings = new Dictionary<string, double>(StringComparer.Ordinal) { ["riseK"] = outcome.RiseK };
        return (outcome, Keep(new ProofAttempt(sensor, ProofMethod.WarmHand, outcome.Proven, outcome.Sentence, readings), [], who));
    }

    /// <summary>Judges and keeps the proof of the current sensor.</summary>
    public (CurrentSensorOutcome Outcome, Kept<ProofAttempt> Kept) Current(double zeroA, double loadedA, double expectedLoadA, double? chargingA, Stamp who)
    {
        var outcome = CurrentSensorProof.Judge(zeroA, loadedA, expectedLoadA, chargingA);
        var readings = new Dictionary<string, double>(StringComparer.Ordinal) { ["zeroA"] = zeroA, ["loadedA"] = loadedA, ["expectedLoadA"] = expectedLoadA };
        return (outcome, Keep(new ProofAttempt("packCurrentA", ProofMethod.KnownCurrent, outcome.Proven, outcome.Sentence, readings), [], who));
    }

    /// <summary>Judges and keeps sum, channel and hand meter of the whole string against each other.</summary>
    public (bool Passed, string Sentence) StringVoltage(double sumV, double channelV, double meterV, Stamp who)
    {
        var allowedV = SumAgainstTerminal.StringShare * meterV;
        var passed = meterV > 0 && Math.Abs(sumV - meterV) <= allowedV && Math.Abs(channelV - meterV) <= allowedV;
        var sentence = passed
            ? $"Sum {sumV:0.0} V, channel {channelV:0.0} V and hand meter {meterV:0.0} V agree within 0.3 %."
            : $"Sum {sumV:0.0} V, channel {channelV:0.0} V and hand meter {meterV:0.0} V differ by more than 0.3 % ({allowedV:0.0} V): a lead, a link or a channel is wrong.";
        var readings = new Dictionary<string, double>(StringComparer.Ordinal) { ["sumV"] = sumV, ["channelV"] = channelV, ["meterV"] = meterV };
        Keep(new ProofAttempt("stringVoltageV", ProofMethod.StringVoltage, passed, sentence, readings), [], who);
        return (passed, sentence);
    }

    /// <summary>A connector was opened: its proofs are void and the gates that stand on them are re-opened.</summary>
    public IReadOnlyList<Kept<GateRecord>> Disconnected(string module, string reason, Stamp who)
    {
        Module(module);
        RefusedException.Unless(reason.Trim().Length > 0, "Say what happened: the gates show it as their reason.");
        var sentence = $"Connector of {module}: {reason.Trim().TrimEnd('.')}.";
        proofs.Void(module, sentence, who.By, who.At, who.Simulated);
        return gates.Reopen(GateEvent.ConnectorOpened, sentence, who.By, who.At, who.Simulated);
    }

    private RhythmRecorder Recorded(RhythmSamples s, out int expectedSamples)
    {
        RefusedException.Unless(s.TimeS.Count > 0, "No samples were given.");
        foreach (var (name, values) in s.CellV)
        {
            RefusedException.Unless(values.Length == s.TimeS.Count, $"{name} holds {values.Length} samples, the times {s.TimeS.Count}.");
            RefusedException.Unless(CellId.TryParse(name, out var id) && site.Layout.TryFindCell(id, out _), $"'{name}' is no cell of this pack.");
        }

        var recorder = new RhythmRecorder(s.Rhythm, site.Map.CellCount);
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

    private Kept<ProofAttempt> KeepRhythm(string subject, ProofMethod method, RhythmOutcome outcome, Stamp who) => Keep(
        new ProofAttempt(subject, method, outcome.Proven, outcome.Sentence, None, double.IsFinite(outcome.DipMv) ? outcome.DipMv : null, outcome.ConfidencePercent), outcome.NotProvenModules, who);

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
        : throw new RefusedException($"'{module}' is no module of this pack{Wording.NearestName.Suggestion(module, site.Layout.Modules.Select(m => m.Id.Text))}.");
}
