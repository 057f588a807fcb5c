using CellWatch.Core.Bench.Project;
using CellWatch.Core.Estimation;
using CellWatch.Core.Live;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;

namespace CellWatch.Dashboard.BenchPages;

/// <summary>The twenty gates, with the next one opened out.</summary>
public sealed partial class Proofs
{
    private const string Yes = "yes";
    private readonly Dictionary<string, string> _entered = new(StringComparer.Ordinal);
    private IReadOnlyList<GateView> _gates = [];
    private IReadOnlyDictionary<string, GateFact> _facts = new Dictionary<string, GateFact>(StringComparer.Ordinal);
    private IReadOnlyList<string> _modules = [];
    private string _supervision = "";
    private IReadOnlySet<string> _provenModules = new HashSet<string>();
    private string _connector = "";
    private string _why = "";
    private readonly IsolationEntry _isolation = new();
    private IReadOnlyList<Kept<IsolationKept>> _isolationTests = [];
    private double _highestV;
    private double _suitableOhm;
    private int? _open;
    private int _cells = 6;

    [Inject] private IServiceProvider Provider { get; set; } = null!;

    private IRhythmDesk? Rhythms => Provider.GetService<IRhythmDesk>();

    /// <summary>Gate to open out; without one the next.</summary>
    [SupplyParameterFromQuery]
    public int? Gate { get; set; }

    private GateView? Next => GateView.Next(_gates);

    private GateView? Opened => _gates.FirstOrDefault(g => g.Number == (_open ?? Gate)) ?? Next ?? _gates.LastOrDefault();

    private List<GateView> Reopened => [.. _gates.Where(g => g.State == GateState.Reopened)];

    private string Headline
    {
        get
        {
            var proven = _gates.Count(g => g.State == GateState.Proven);
            var where = T($"{proven} of {_gates.Count} gates proven.");
            if (Reopened is [var first, .. var more])
                return T($"{where} Gate {first.Number} re-opened: {BenchWords.Set(FirstSentence(first.Reason))}") + (more.Count > 0 ? T($" Also: {string.Join(", ", more.Select(g => g.Number))}.") : "");
            return Next is { } next ? T($"{where} Next: {next.Number}, {next.Title}. Re-opened: none.") : T($"{where} The whole way is proven. Re-opened: none.");
        }
    }

    /// <inheritdoc/>
    protected override void Look(BenchProject project)
    {
        _gates = GateView.All(project);
        _facts = Opened is { State: not GateState.Proven } gate ? project.Gates.FactsFor(gate.Number) : new Dictionary<string, GateFact>(StringComparer.Ordinal);
        _modules = [.. project.Site.Layout.Modules.Select(m => m.Id.Text)];
        _cells = project.Site.Layout.Modules.Max(m => m.Topology.Series);
        _isolationTests = project.Safety.IsolationHistory();
        (_highestV, _suitableOhm) = (project.Site.HighestV, IsolationTest.SuitableKnownOhm(IsolationJudgement.ProceedOhmPerV, project.Site.NominalV));
        _supervision = project.ProofStates.Supervision(project.Site.Map).Sentence;
        _provenModules = project.ProofStates.ProvenModules(project.Site.Map);
    }

    /// <summary>Cells that the scans take for proven though no record proves their module: a simulated site states its own channels as proven.</summary>
    private int Stated
    {
        get
        {
            if (Picture.State is not { } state) return 0;
            var layout = state.Layout;
            return Enumerable.Range(0, layout.CellCount).Count(c => state.Snapshot.Proven[c] && !_provenModules.Contains(layout.Modules[layout.ModuleOfCell(c)].Id.Text));
        }
    }

    private bool ChargeRuns(EvidenceNeed need) => need.Name is "acCharge" or "dcCharge" && Picture.State?.Summary.Mode == PackMode.Charging;

    private static string Upper(string text) => char.ToUpperInvariant(text[0]) + text[1..];

    private static string Ask(EvidenceNeed need) => need.Kind == EvidenceKind.FromRecords ? T("From the records") : need.Ask;

    private static string Line(GateView g) => g.State switch
    {
        GateState.Reopened => BenchWords.Set(g.Reason),
        GateState.Proven => BenchWords.Set(g.EvidenceLine),
        _ => g.WaitsFor.Count > 0 ? T($"needs {string.Join(", ", g.WaitsFor)}") : "",
    };

    /// <summary>The whole reason stands in the opened gate; the line above all has room for its beginning.</summary>
    private static string FirstSentence(string text) => text.IndexOf(". ", StringComparison.Ordinal) is > 0 and var end ? text[..(end + 1)] : text;

    /// <summary>How many of a gate's needs are still open: what is to be typed or ticked, what the records do not show, gates below it.</summary>
    private int Missing(GateView gate) =>
        gate.WaitsFor.Count + gate.Needs.Count(n => n.Kind == EvidenceKind.FromRecords ? !Fact(n).Met : Entered(n).Trim().Length == 0);

    private GateFact Fact(EvidenceNeed need) => _facts.GetValueOrDefault(need.Name) ?? new GateFact(false, need.Rule);

    private string Entered(EvidenceNeed need) => _entered.GetValueOrDefault(need.Name, "");

    private void Set(EvidenceNeed need, string? value) => _entered[need.Name] = value ?? "";

    private void Open(int number)
    {
        _open = number;
        _entered.Clear();
        LookAgain();
    }

    private Task<bool> ReadyAsync(GateView gate) => EnterAsync((p, who) =>
    {
        p.Gates.Ready(gate.Number, who.By, who.At, who.Simulated);
        return T($"Gate {gate.Number} is the one being worked on.");
    });

    private async Task ProveAsync(GateView gate)
    {
        var given = _entered.Where(e => e.Value.Trim().Length > 0).ToDictionary(e => e.Key, e => e.Value.Replace(',', '.'), StringComparer.Ordinal);
        if (!await EnterAsync((p, who) =>
            {
                p.Gates.Prove(gate.Number, given, who.By, who.At, who.Simulated);
                return T($"Gate {gate.Number} proven: {gate.Title}. Signed {who.By}.");
            })) return;
        _open = gate.Number;
        _entered.Clear();
        LookAgain();
    }

    private Task<bool> BeginRhythmAsync(RhythmOrder order) => ActAsync(by =>
    {
        Rhythms!.Begin(by, order);
        return "";
    });

    private Task<bool> StopRhythmAsync() => ActAsync(by =>
    {
        Rhythms!.Stop(by);
        return "";
    });

    private static bool AsksForIsolation(GateView gate) => gate.Needs.Any(n => n.Name == "isolation");

    private async Task<(string Said, bool Taken, string? Field)> KeepIsolationAsync(IsolationReadings readings, double meterOhm, double? humidityPercent, string connected)
    {
        await EnterAsync((p, who) =>
        {
            p.Safety.Isolation(readings, meterOhm, humidityPercent, connected, who);
            return T($"Kept, signed {who.By}: the result stands above.");
        });
        return HandAnswerOver();
    }

    private async Task DisconnectedAsync()
    {
        if (!await EnterAsync((p, who) =>
            {
                var reopened = p.Proofs.Disconnected(_connector, _why, who);
                return T($"{_connector}: proofs void.{(reopened.Count > 0 ? T($" Re-opened: gate {string.Join(", ", reopened.Select(g => g.Value.Number))}.") : "")}");
            })) return;
        (_connector, _why, _open) = ("", "", null);
    }
}
