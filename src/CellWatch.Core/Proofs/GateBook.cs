using System.Globalization;
using CellWatch.Core.Register;
using CellWatch.Core.Wording;

namespace CellWatch.Core.Proofs;

/// <summary>Where a gate stands.</summary>
public enum GateState
{
    /// <summary>Not yet.</summary>
    Open,

    /// <summary>The builder is at it: its measurements are asked for.</summary>
    Ready,

    /// <summary>Proven, with evidence.</summary>
    Proven,

    /// <summary>Was proven; something took the ground from under it.</summary>
    Reopened,
}

/// <summary>A gate as stored.</summary>
/// <param name="Number">1 to 20.</param>
/// <param name="State">Where it stands.</param>
/// <param name="Evidence">Evidence by name: figures, yes, names, and what the records said.</param>
/// <param name="Reason">Why it was re-opened; empty else.</param>
public sealed record GateRecord(int Number, GateState State, IReadOnlyDictionary<string, string> Evidence, string Reason);

/// <summary>A fact the program finds in its own records.</summary>
/// <param name="Met">Whether it holds.</param>
/// <param name="Sentence">The figures behind it, or what is missing.</param>
public sealed record GateFact(bool Met, string Sentence);

/// <summary>Where the facts named in <see cref="EvidenceKind.FromRecords"/> come from.</summary>
public interface IGateFacts
{
    /// <summary>The fact of that name.</summary>
    GateFact FactFor(string name);
}

/// <summary>The twenty gates with their evidence. A gate is proven only with every piece of it; a missing one is refused in a sentence.</summary>
/// <param name="store">Where the revisions are kept.</param>
/// <param name="facts">What the records say.</param>
public sealed class GateBook(IRecordStore store, IGateFacts facts)
{
    private readonly Shelf<GateRecord> shelf = new(store, "gate");

    /// <summary>Where every gate stands, in order; null record for one never touched.</summary>
    public IReadOnlyList<(GateDefinition Gate, Kept<GateRecord>? Kept)> All() => [.. GateTable.All.Select(g => (g, shelf.Latest(Key(g.Number))))];

    /// <summary>Where one gate stands.</summary>
    public GateState StateOf(int number) => shelf.Latest(Key(number))?.Value.State ?? GateState.Open;

    /// <summary>All revisions of a gate, oldest first.</summary>
    public IReadOnlyList<Kept<GateRecord>> History(int number) => shelf.History(Key(number));

    /// <summary>What the records say now for each piece of evidence that nobody types, by name.</summary>
    public IReadOnlyDictionary<string, GateFact> FactsFor(int number) =>
        GateTable.Numbered(number).Needs.Where(n => n.Kind == EvidenceKind.FromRecords).ToDictionary(n => n.Name, n => facts.FactFor(n.Name), StringComparer.Ordinal);

    /// <summary>Marks a gate as the one being worked on and says what it needs.</summary>
    public Kept<GateRecord> Ready(int number, string by, DateTimeOffset at, bool simulated)
    {
        var gate = GateTable.Numbered(number);
        RefuseWithoutGround(gate);
        RefusedException.Unless(StateOf(number) != GateState.Proven, T($"Gate {number} is proven already."));
        return Put(new GateRecord(number, GateState.Ready, new Dictionary<string, string>(StringComparer.Ordinal), ""), by, at, simulated);
    }

    /// <summary>Proves a gate with the evidence a person entered and what the records say.</summary>
    /// <exception cref="RefusedException">A piece is missing or does not pass; the message lists every one.</exception>
    public Kept<GateRecord> Prove(int number, IReadOnlyDictionary<string, string> entered, string by, DateTimeOffset at, bool simulated)
    {
        var gate = GateTable.Numbered(number);
        RefuseWithoutGround(gate);
        var evidence = new Dictionary<string, string>(StringComparer.Ordinal);
        var faults = new List<string>();
        foreach (var need in gate.Needs)
        {
            var value = need.Kind == EvidenceKind.FromRecords ? null : entered.GetValueOrDefault(need.Name)?.Trim();
            if (FaultOf(need, value, by, out var kept) is { } fault) faults.Add(fault);
            else evidence[need.Name] = kept;
        }

        if (faults.Count == 0 && number == GateTable.ThirdModuleJoined && FaultOfJoinedVoltage(evidence) is { } joined) faults.Add(joined);
        var unknown = entered.Keys.FirstOrDefault(k => gate.Needs.All(n => n.Name != k));
        if (unknown is not null) faults.Add(T($"'{unknown}' is not asked for here{NearestName.Suggestion(unknown, gate.Needs.Select(n => n.Name))}"));
        RefusedException.Unless(faults.Count == 0, T($"Gate {number} ({gate.Title}) is not proven. Missing: {string.Join("; ", faults)}."));
        return Put(new GateRecord(number, GateState.Proven, evidence, ""), by, at, simulated);
    }

    /// <summary>Re-opens every proven gate that an event takes the ground from; returns them.</summary>
    public IReadOnlyList<Kept<GateRecord>> Reopen(GateEvent happened, string reason, string by, DateTimeOffset at, bool simulated)
    {
        var reopened = new List<Kept<GateRecord>>();
        foreach (var gate in GateTable.All.Where(g => g.ReopenedBy.Contains(happened)))
            if (shelf.Latest(Key(gate.Number)) is { Value.State: GateState.Proven } kept)
                reopened.Add(Put(kept.Value with { State = GateState.Reopened, Reason = reason }, by, at, simulated));
        return reopened;
    }

    private string? FaultOf(EvidenceNeed need, string? value, string by, out string kept)
    {
        kept = value ?? "";
        switch (need.Kind)
        {
            case EvidenceKind.FromRecords:
                var fact = facts.FactFor(need.Name);
                kept = fact.Sentence;
                return fact.Met ? null : fact.Sentence.TrimEnd('.');
            case EvidenceKind.Yes:
                return string.Equals(value, "yes", StringComparison.OrdinalIgnoreCase) || string.Equals(value, "true", StringComparison.OrdinalIgnoreCase) ? null : T($"{need.Ask} ({need.Name}: yes)");
            case EvidenceKind.SecondPerson:
                if (string.IsNullOrEmpty(value)) return $"{need.Ask} ({need.Name})";
                return string.Equals(value, by.Trim(), StringComparison.OrdinalIgnoreCase) ? T($"{need.Name} must be another person than {by}") : null;
            default:
                if (!double.TryParse(value, NumberStyles.Float, CultureInfo.InvariantCulture, out var figure)) return $"{need.Ask} ({need.Name})";
                return figure >= need.Low && figure <= need.High ? null : T($"{need.Name} = {figure:0.###} does not pass: {need.Rule}");
        }
    }

    private static string? FaultOfJoinedVoltage(Dictionary<string, string> evidence)
    {
        double expected = double.Parse(evidence["expectedV"], CultureInfo.InvariantCulture), measured = double.Parse(evidence["measuredV"], CultureInfo.InvariantCulture);
        return Math.Abs(measured - expected) <= 0.005 * expected
            ? null
            : T($"measuredV {measured:0.0} V is {100 * (measured - expected) / expected:+0.0;-0.0} % from the expected {expected:0.0} V (0.5 % allowed): open the last joint and measure each module");
    }

    private void RefuseWithoutGround(GateDefinition gate)
    {
        var missing = gate.StandsOn.Where(n => StateOf(n) != GateState.Proven).Select(n => $"{n} ({GateTable.Numbered(n).Title}{(StateOf(n) == GateState.Reopened ? T(", re-opened") : "")})").ToList();
        RefusedException.Unless(missing.Count == 0, T($"Gate {gate.Number} stands on gate {Figures.List(missing)}, which must be proven first."));
    }

    private Kept<GateRecord> Put(GateRecord gate, string by, DateTimeOffset at, bool simulated) =>
        shelf.Put(Key(gate.Number), gate, shelf.Latest(Key(gate.Number))?.Record.Revision ?? 0, by, at, simulated);

    private static string Key(int number) => number.ToString("00", CultureInfo.InvariantCulture);
}
