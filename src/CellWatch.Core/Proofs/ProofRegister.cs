using CellWatch.Core.Register;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Wording;

namespace CellWatch.Core.Proofs;

/// <summary>
/// All proofs of channels. A cell's channel is proven when, since its connector was last opened, either its own rhythm passed, or all
/// three of: the stack (the order of the leads), the sum against the terminals, and a load on the module's terminals (which module).
/// Unproven means: no supervised charge. Source of the sequence: common practice, no source; the combination is an own rule.
/// </summary>
/// <param name="store">Where attempts are kept; failed ones too.</param>
public sealed class ProofRegister(IRecordStore store)
{
    private static readonly ProofMethod[] Together = [ProofMethod.Stack, ProofMethod.Sum, ProofMethod.ModuleLoad];
    private readonly Shelf<ProofAttempt> attempts = new(store, "proof");
    private readonly Shelf<ProofVoided> voids = new(store, "proof-voided");

    /// <summary>All attempts on a subject by a method, oldest first.</summary>
    public IReadOnlyList<Kept<ProofAttempt>> History(string subject, ProofMethod method) => attempts.History(Key(subject, method));

    /// <summary>The latest attempt of each subject and method.</summary>
    public IReadOnlyList<Kept<ProofAttempt>> Latest() => attempts.Latest();

    /// <summary>The latest reason of each module why its proofs were voided.</summary>
    public IReadOnlyList<Kept<ProofVoided>> LatestVoids() => voids.Latest();

    /// <summary>Stores an attempt, and voids the modules that it showed to be wrong.</summary>
    public Kept<ProofAttempt> Add(ProofAttempt attempt, IEnumerable<string> notProvenModules, string by, DateTimeOffset at, bool simulated)
    {
        var key = Key(attempt.Subject, attempt.Method);
        var kept = attempts.Put(key, attempt, attempts.Latest(key)?.Record.Revision ?? 0, by, at, simulated);
        if (attempt.Passed) return kept;
        foreach (var module in notProvenModules) Void(module, attempt.Sentence, by, at, simulated);
        return kept;
    }

    /// <summary>Voids every proof of a module: its connector was opened, or something showed that it is not what it says.</summary>
    public Kept<ProofVoided> Void(string module, string reason, string by, DateTimeOffset at, bool simulated) =>
        voids.Put(module, new ProofVoided(module, reason), voids.Latest(module)?.Record.Revision ?? 0, by, at, simulated);

    /// <summary>The state of every cell, temperature, current and string-voltage channel of a pack, in channel order.</summary>
    public IReadOnlyList<ChannelProof> States(ChannelMap map)
    {
        var passed = attempts.Latest().Where(a => a.Value.Passed).ToDictionary(a => a.Record.Key, StringComparer.Ordinal);
        var voided = voids.Latest().ToDictionary(v => v.Value.Module, StringComparer.Ordinal);
        var states = new ChannelProof[map.FirstBleed];
        for (var channel = 0; channel < states.Length; channel++) states[channel] = StateOf(channel, map, passed, voided);
        return states;
    }

    /// <summary>Proven or not, by flat channel number, for <see cref="Assembler.SetProven"/>. Channels that need no proof are false.</summary>
    public bool[] Flags(ChannelMap map)
    {
        var flags = new bool[map.Count];
        var states = States(map);
        for (var channel = 0; channel < states.Count; channel++) flags[channel] = states[channel].Proven;
        return flags;
    }

    /// <summary>Whether a charge can be called supervised as far as proofs go, and the sentence: <c>Not supervised: 2 channels not proven (B12.1, B12.2).</c></summary>
    public (bool Supervised, string Sentence) Supervision(ChannelMap map)
    {
        var missing = States(map).Where(s => !s.Proven).Select(s => s.Channel).ToList();
        if (missing.Count == 0) return (true, T($"All {map.FirstBleed} channels are proven."));
        var few = missing.Count <= 6 ? Figures.List(missing) : T($"{string.Join(", ", missing.Take(5))} and {missing.Count - 5} more");
        return (false, T($"Not supervised: {missing.Count} channels not proven ({few})."));
    }

    /// <summary>Modules of which every cell channel is proven.</summary>
    public IReadOnlySet<string> ProvenModules(ChannelMap map)
    {
        var states = States(map);
        return map.Layout.Modules.Where((_, m) => Enumerable.Range(map.Layout.FirstCell(m), map.Layout.FirstCell(m + 1) - map.Layout.FirstCell(m)).All(c => states[c].Proven))
            .Select(m => m.Id.Text).ToHashSet(StringComparer.Ordinal);
    }

    private static ChannelProof StateOf(int channel, ChannelMap map, Dictionary<string, Kept<ProofAttempt>> passed, Dictionary<string, Kept<ProofVoided>> voided)
    {
        var name = map.NameOf(channel);
        switch (map.KindOf(channel))
        {
            case ChannelKind.PackCurrent: return ByOne(name, ProofMethod.KnownCurrent, null, passed, T("known load, then charger"));
            case ChannelKind.StringVoltage: return ByOne(name, ProofMethod.StringVoltage, null, passed, T("string voltage against hand meter and sum"));
            case ChannelKind.Temperature:
                var carrier = map.Layout.Modules[map.Layout.ModuleOfTemperature(channel - map.FirstTemperature)].Id.Text;
                return ByOne(name, ProofMethod.WarmHand, voided.GetValueOrDefault(carrier), passed, T("warm hand"));
            default:
                var module = map.Layout.Modules[map.Layout.ModuleOfCell(channel)].Id.Text;
                var opened = voided.GetValueOrDefault(module);
                var alone = ByOne(name, ProofMethod.CellRhythm, opened, passed, T("cell rhythm"));
                if (alone.Proven) return alone;
                var parts = Together.Select(m => ByOne(name, m, opened, passed, Words(m), module)).ToList();
                var missing = parts.Where(p => !p.Proven).Select(p => p.Why).ToList();
                return missing.Count == 0
                    ? new ChannelProof(name, true, string.Join("; ", parts.Select(p => p.Why)))
                    : new ChannelProof(name, false, opened is null ? T($"missing: {string.Join(", ", missing)}") : T($"{opened.Value.Reason} Missing: {string.Join(", ", missing)}"));
        }
    }

    private static ChannelProof ByOne(
        string name, ProofMethod method, Kept<ProofVoided>? opened, Dictionary<string, Kept<ProofAttempt>> passed, string words, string? subject = null)
    {
        var found = passed.GetValueOrDefault(Key(subject ?? name, method));
        var holds = found is not null && (opened is null || found.Record.Sequence > opened.Record.Sequence);
        return holds
            ? new ChannelProof(name, true, T($"{words} {found!.Record.At:yyyy-MM-dd} by {found.Record.By}"))
            : new ChannelProof(name, false, words);
    }

    private static string Words(ProofMethod method) => method switch
    {
        ProofMethod.Stack => T("connector by hand meter"),
        ProofMethod.Sum => T("sum against terminals"),
        ProofMethod.ModuleLoad => T("load on the module"),
        _ => method.ToString(),
    };

    private static string Key(string subject, ProofMethod method) => $"{subject}/{method}";
}
