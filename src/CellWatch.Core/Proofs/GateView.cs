using CellWatch.Core.Bench.Project;

namespace CellWatch.Core.Proofs;

/// <summary>A gate with its definition and where it stands.</summary>
/// <param name="Number">1 to 20.</param>
/// <param name="Title">Short name.</param>
/// <param name="Caution">What can hurt.</param>
/// <param name="State">Where it stands.</param>
/// <param name="StandsOn">Gates that must be proven before.</param>
/// <param name="Needs">The evidence it asks for.</param>
/// <param name="Evidence">Evidence as kept, by name.</param>
/// <param name="EvidenceLine">The same in one line, figures first.</param>
/// <param name="Reason">Why it was re-opened; empty else.</param>
/// <param name="By">Who last changed it; empty when nobody has.</param>
/// <param name="At">When.</param>
/// <param name="WaitsFor">Gates it stands on that are not proven.</param>
/// <param name="VoltageSentence">The voltage it brings, in figures; only the third module's has one.</param>
public sealed record GateView(
    int Number, string Title, string Caution, GateState State, IReadOnlyList<int> StandsOn, IReadOnlyList<EvidenceNeed> Needs, IReadOnlyDictionary<string, string> Evidence,
    string EvidenceLine, string Reason, string By, DateTimeOffset? At, IReadOnlyList<int> WaitsFor, string VoltageSentence)
{
    /// <summary>All gates, in order.</summary>
    public static IReadOnlyList<GateView> All(BenchProject project)
    {
        var gates = project.Gates.All();
        var proven = gates.Where(g => g.Kept?.Value.State == GateState.Proven).Select(g => g.Gate.Number).ToHashSet();
        return [.. gates.Select(g => Of(project, g.Gate, g.Kept, proven))];
    }

    /// <summary>One gate.</summary>
    public static GateView Of(BenchProject project, int number)
    {
        GateTable.Numbered(number);
        return All(project)[number - 1];
    }

    /// <summary>The gate to work on: the first that is not proven and whose ground is; else the first not proven; null when all are.</summary>
    public static GateView? Next(IReadOnlyList<GateView> gates) =>
        gates.FirstOrDefault(g => g.State != GateState.Proven && g.WaitsFor.Count == 0) ?? gates.FirstOrDefault(g => g.State != GateState.Proven);

    private static GateView Of(BenchProject project, GateDefinition gate, Register.Kept<GateRecord>? kept, HashSet<int> proven)
    {
        var evidence = kept?.Value.Evidence ?? new Dictionary<string, string>(StringComparer.Ordinal);
        return new GateView(
            gate.Number, gate.Title, gate.Caution, kept?.Value.State ?? GateState.Open, gate.StandsOn, gate.Needs, evidence, Line(gate, evidence), kept?.Value.Reason ?? "",
            kept?.Record.By ?? "", kept?.Record.At, [.. gate.StandsOn.Where(n => !proven.Contains(n))], gate.Number == GateTable.ThirdModuleJoined ? JoinedVoltage(project) : "");
    }

    private static string Line(GateDefinition gate, IReadOnlyDictionary<string, string> evidence)
    {
        var parts = new List<string>();
        foreach (var need in gate.Needs.Where(n => evidence.ContainsKey(n.Name)).OrderBy(n => n.Kind switch { EvidenceKind.Figure => 0, EvidenceKind.FromRecords => 1, EvidenceKind.SecondPerson => 2, _ => 3 }))
        {
            var value = evidence[need.Name].TrimEnd('.');
            parts.Add(need.Kind switch
            {
                EvidenceKind.Figure => $"{need.ShortAsk} {value} {need.Unit}".TrimEnd(),
                EvidenceKind.SecondPerson => T($"with {value}"),
                EvidenceKind.Yes => LowerFirst(need.Ask),
                _ => value,
            });
        }

        return string.Join("; ", parts);
    }

    private static string LowerFirst(string text) => text.Length == 0 ? text : char.ToLowerInvariant(text[0]) + text[1..];

    /// <summary>The voltage that the third module brings, in figures.</summary>
    private static string JoinedVoltage(BenchProject p)
    {
        var first = p.Site.Layout.Modules.Take(3).ToList();
        var (highest, two) = (first.Sum(m => m.Topology.Series) * p.Site.Limits.HighStopV, first.Take(2).Sum(m => m.Topology.Series) * p.Site.Limits.HighStopV);
        var measured = p.Runs.Removals().Where(r => first.Any(m => m.Id.Text == r.Record.Key)).Sum(r => r.Value.ModuleV);
        return T($"Two modules are {two:0.0} V at most; the third makes it {highest:0.0} V full, over the 60 V DC limit.{(measured > 0 ? T($" As they came out: {measured:0.0} V.") : "")}");
    }
}
