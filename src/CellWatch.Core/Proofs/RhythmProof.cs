using CellWatch.Core.Snapshots;
using CellWatch.Core.Wording;

namespace CellWatch.Core.Proofs;

/// <summary>What came of a proof by rhythm.</summary>
/// <param name="Proven">True only when exactly what was named answered.</param>
/// <param name="Sentence">What to say.</param>
/// <param name="Answered">Names of the channels, or modules, that followed.</param>
/// <param name="DipMv">Dip of the one that followed most surely, mV; NaN when none did.</param>
/// <param name="DipSigmaMv">Its standard deviation, mV.</param>
/// <param name="ConfidencePercent">100 minus the chance that noise alone did it; 0 when none followed.</param>
/// <param name="NotProvenModules">Modules that lose their proof by what was found.</param>
public sealed record RhythmOutcome(
    bool Proven, string Sentence, IReadOnlyList<string> Answered, double DipMv, double DipSigmaMv, double ConfidencePercent, IReadOnlyList<string> NotProvenModules);

/// <summary>
/// Which module, or which cell, a load sits on: told by the channels that follow its rhythm. Static readings cannot tell two whole
/// harnesses apart; this can.
/// </summary>
public static class RhythmProof
{
    /// <summary>A channel follows from this score on, standard deviations: so high because 108 channels are tried at once (chance of a blank
    /// naming one: about 4 in 10,000).</summary>
    public const double FollowsAtScore = 4.5;

    /// <summary>Share of the expected samples a channel needs to be judged (own rule).</summary>
    public const double LeastShareOfSamples = 0.8;

    /// <summary>Judges a load put across the cell named <paramref name="cell"/>.</summary>
    /// <param name="recorder">Took the cell voltages, in string order.</param>
    /// <param name="map">The pack's channels.</param>
    /// <param name="cell">Cell index the load was put on.</param>
    /// <param name="expectedSamples">Samples a channel should have had.</param>
    public static RhythmOutcome JudgeCell(RhythmRecorder recorder, ChannelMap map, int cell, int expectedSamples)
    {
        var followers = Followers(recorder, map, expectedSamples, out var unseen);
        var named = map.NameOf(cell);
        var module = map.Layout.Modules[map.Layout.ModuleOfCell(cell)].Id.Text;
        if (unseen.Contains(cell))
            return Nothing(T($"{named} was not seen often enough to be judged: look at its data first, then play the rhythm again."));
        if (followers.Count == 0)
            return Nothing(T($"No channel followed the rhythm. {named} stays unproven: is the load connected, and is its dip above the noise?"));
        if (followers is [var only] && only == cell)
            return Found(true, recorder, map, cell, followers, [], a => T($"{named} followed the rhythm: dip {Dip(a)}."));
        if (followers.Count == 1)
        {
            var other = followers[0];
            var otherModule = map.Layout.Modules[map.Layout.ModuleOfCell(other)].Id.Text;
            return Found(false, recorder, map, other, followers, [.. new[] { module, otherModule }.Distinct(StringComparer.Ordinal)],
                a => T($"The load is on {named}, but {map.NameOf(other)} answered: dip {Dip(a)}. Both are NOT PROVEN; check the leads of {module}."));
        }

        var names = followers.ConvertAll(map.NameOf);
        return Found(false, recorder, map, followers[0], followers, ModulesOf(map, followers, module),
            a => T($"{names.Count} channels followed the load on {named}: {Figures.List(names)}. One was expected; take the load off and check where it sits."));
    }

    /// <summary>Judges a load put across the main terminals of the module named: all its channels must follow and no other.</summary>
    /// <param name="recorder">Took the cell voltages, in string order.</param>
    /// <param name="map">The pack's channels.</param>
    /// <param name="module">Module index the load was put on.</param>
    /// <param name="expectedSamples">Samples a channel should have had.</param>
    public static RhythmOutcome JudgeModule(RhythmRecorder recorder, ChannelMap map, int module, int expectedSamples)
    {
        var layout = map.Layout;
        var named = layout.Modules[module].Id.Text;
        var first = layout.FirstCell(module);
        var count = layout.FirstCell(module + 1) - first;
        var followers = Followers(recorder, map, expectedSamples, out var unseen);
        var ownUnseen = unseen.Where(c => layout.ModuleOfCell(c) == module).Select(map.NameOf).ToList();
        if (ownUnseen.Count > 0)
            return Nothing(T($"{Figures.List(ownUnseen)} were not seen often enough to be judged: look at their data first, then play the rhythm again."));
        if (followers.Count == 0)
            return Nothing(T($"No channel followed the load on {named}: is the load connected and getting warm? {named} stays unproven."));

        var inside = followers.Count(c => layout.ModuleOfCell(c) == module);
        var best = followers[0];
        if (inside == count && followers.Count == count)
            return Found(true, recorder, map, best, followers, [], a => T($"All {count} channels of {named} followed the load and {Others(map.CellCount - count, unseen.Count)}: mean dip {MeanDipMv(recorder, followers):0.0} mV."));

        var answeredModules = ModulesOf(map, followers, null);
        var lost = ModulesOf(map, followers, named);
        if (inside == 0 && answeredModules.Count == 1)
        {
            var other = answeredModules[0];
            layout.TryFindModule(new Pack.ModuleId(other), out var otherIndex);
            var otherCount = layout.FirstCell(otherIndex + 1) - layout.FirstCell(otherIndex);
            var how = followers.Count == otherCount ? T($"the {Count(followers.Count)} channels labelled {other} answered") : T($"{followers.Count} of the {otherCount} channels labelled {other} answered");
            return Found(false, recorder, map, best, followers, lost,
                a => T($"The load is on {named}, but {how}: dip {Dip(a)} on {map.NameOf(best)}. {named} and {other} are NOT PROVEN: their harnesses look exchanged. Unplug both, correct, and prove both again."));
        }

        return Found(false, recorder, map, best, followers, lost,
            a => T($"The load is on {named}; {inside} of its {count} channels answered, and {followers.Count - inside} others ({Figures.List([.. followers.Where(c => layout.ModuleOfCell(c) != module).Select(map.NameOf)])}). {Figures.List(lost)} are NOT PROVEN."));
    }

    private static List<int> Followers(RhythmRecorder recorder, ChannelMap map, int expectedSamples, out List<int> unseen)
    {
        unseen = [];
        var followers = new List<int>();
        for (var c = 0; c < map.CellCount; c++)
        {
            var answer = recorder.AnswerOf(c);
            if (answer.Samples < LeastShareOfSamples * expectedSamples || !double.IsFinite(answer.DipV)) unseen.Add(c);
            else if (answer.Score >= FollowsAtScore || (answer.SigmaV == 0 && answer.DipV > 0)) followers.Add(c);
        }

        followers.Sort((a, b) => recorder.AnswerOf(b).DipV.CompareTo(recorder.AnswerOf(a).DipV));
        return followers;
    }

    /// <summary>Nothing followed: that proves nothing, and contradicts no proof there is.</summary>
    private static RhythmOutcome Nothing(string sentence) => new(false, sentence, [], double.NaN, double.NaN, 0, []);

    private static RhythmOutcome Found(
        bool proven, RhythmRecorder recorder, ChannelMap map, int best, List<int> followers, IReadOnlyList<string> lost, Func<RhythmAnswer, string> sentence)
    {
        var answer = recorder.AnswerOf(best);
        var confidence = 100 * (1 - RhythmRecorder.ChanceOfBlank(answer.Score, answer.Samples, map.CellCount));
        var surely = confidence > 99.99 ? T("more than 99.99") : $"{confidence:0.00}";
        return new RhythmOutcome(
            proven, T($"{sentence(answer)} Confidence {surely} %."), followers.ConvertAll(map.NameOf), 1000 * answer.DipV, 1000 * answer.SigmaV, confidence, lost);
    }

    private static IReadOnlyList<string> ModulesOf(ChannelMap map, IEnumerable<int> cells, string? first)
    {
        var ids = cells.Select(c => map.Layout.Modules[map.Layout.ModuleOfCell(c)].Id.Text);
        return [.. (first is null ? ids : ids.Prepend(first)).Distinct(StringComparer.Ordinal)];
    }

    private static double MeanDipMv(RhythmRecorder recorder, List<int> cells) => 1000 * cells.Average(c => recorder.AnswerOf(c).DipV);

    /// <summary>What can be said of the other channels: on the bench one module alone is connected.</summary>
    private static string Others(int others, int unseen) =>
        unseen == 0 ? T("no other did") : unseen < others ? T($"none of the {others - unseen} others that were seen did") : T("no other module was seen");

    private static string Dip(RhythmAnswer a) => $"{1000 * a.DipV:0.00} +-{1000 * a.SigmaV:0.00} mV";

    private static string Count(int n) => n switch { 6 => T("six"), 12 => T("twelve"), _ => $"{n}" };
}
