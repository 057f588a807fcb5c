using CellWatch.Core.Proofs;

namespace CellWatch.Core.Tests.Proofs;

public class RhythmProofTests
{
    private const double ScanS = 0.5;
    private static readonly LoadRhythm Rhythm = LoadRhythm.FiveTens;

    [Fact]
    public void A_dip_of_one_millivolt_in_one_millivolt_of_noise_is_named_with_its_dip_in_93_of_100_trials()
    {
        var right = 0;
        for (var trial = 0; trial < 100; trial++)
        {
            var cell = 17 * trial % 108;
            var outcome = RhythmProof.JudgeCell(Played(trial, [cell], 0.001, 0.001, Rhythm), SomePack.Map, cell, 200);
            if (outcome.Proven && outcome.Answered[0] == SomePack.Map.NameOf(cell) && Math.Abs(outcome.DipMv - 1.0) <= 0.3) right++;
        }

        Assert.True(right >= 93, $"{right} of 100");
    }

    [Fact]
    public void Without_a_load_no_channel_is_named_in_99_of_100_trials()
    {
        var blank = 0;
        for (var trial = 0; trial < 100; trial++)
            if (RhythmProof.JudgeCell(Played(1000 + trial, [], 0, 0.001, Rhythm), SomePack.Map, 40, 200).Answered.Count == 0) blank++;
        Assert.True(blank >= 99, $"{blank} of 100");
    }

    [Fact]
    public void The_chance_of_a_blank_naming_a_channel_is_below_one_in_a_thousand() =>
        Assert.InRange(RhythmRecorder.ChanceOfBlank(RhythmProof.FollowsAtScore, 200, 108), 1e-4, 1e-3);

    [Fact]
    public void The_deviation_of_the_dip_is_noise_over_the_root_of_half_the_samples()
    {
        // the-job section 9.5: 100 samples each way make 1 mV of noise 0.14 mV.
        var answer = Played(3, [], 0, 0.001, Rhythm).AnswerOf(0);
        Assert.Equal(200, answer.Samples);
        Assert.InRange(1000 * answer.SigmaV, 0.12, 0.16);
    }

    [Fact]
    public void A_steady_drift_is_not_taken_for_a_dip()
    {
        var recorder = new RhythmRecorder(Rhythm, 108);
        var v = new double[108];
        for (var t = 0.0; t < Rhythm.LengthS; t += ScanS)
        {
            v.AsSpan().Fill(3.9 - 0.00005 * t);
            recorder.Add(t, v);
        }

        Assert.True(Math.Abs(recorder.AnswerOf(5).DipV) < 1e-9);
    }

    [Fact]
    public void Exchanged_harnesses_are_found_within_two_cycles_and_both_modules_lose_their_proof()
    {
        // 5 ohm across B03 (23.4 V): 4.7 A through 1 mOhm a group; the harness of B03 sits on B11 and the other way round.
        var twoCycles = Rhythm with { Cycles = 2 };
        var outcome = RhythmProof.JudgeModule(Played(7, Cells("B11"), 0.0047, 0.001, twoCycles), SomePack.Map, Module("B03"), 80);
        Assert.False(outcome.Proven);
        Assert.Contains("the six channels labelled B11 answered", outcome.Sentence, StringComparison.Ordinal);
        Assert.Equal(["B03", "B11"], outcome.NotProvenModules);
        Assert.Equal(6, outcome.Answered.Count);
    }

    [Fact]
    public void A_module_whose_own_channels_answer_is_proven()
    {
        var outcome = RhythmProof.JudgeModule(Played(8, Cells("B03"), 0.0025, 0.001, Rhythm), SomePack.Map, Module("B03"), 200);
        Assert.True(outcome.Proven, outcome.Sentence);
        Assert.Empty(outcome.NotProvenModules);
    }

    [Fact]
    public void A_module_of_which_one_channel_does_not_answer_is_not_proven()
    {
        var outcome = RhythmProof.JudgeModule(Played(9, Cells("B03").Skip(1), 0.0025, 0.001, Rhythm), SomePack.Map, Module("B03"), 200);
        Assert.False(outcome.Proven);
        Assert.Contains("5 of its 6 channels answered", outcome.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Another_cell_that_answers_takes_the_proof_from_both_modules()
    {
        var outcome = RhythmProof.JudgeCell(Played(10, [20], 0.003, 0.001, Rhythm), SomePack.Map, 3, 200);
        Assert.False(outcome.Proven);
        Assert.Contains("B04.3 answered", outcome.Sentence, StringComparison.Ordinal);
        Assert.Equal(["B01", "B04"], outcome.NotProvenModules);
    }

    [Fact]
    public void A_channel_without_data_is_never_proven()
    {
        var recorder = new RhythmRecorder(Rhythm, 108);
        var v = new double[108];
        for (var t = 0.0; t < Rhythm.LengthS; t += ScanS)
        {
            v.AsSpan().Fill(3.9);
            v[3] = double.NaN;
            recorder.Add(t, v);
        }

        Assert.Contains("not seen often enough", RhythmProof.JudgeCell(recorder, SomePack.Map, 3, 200).Sentence, StringComparison.Ordinal);
    }

    private static int Module(string id) => SomePack.Layout.TryFindModule(new Core.Pack.ModuleId(id), out var m) ? m : throw new ArgumentException(id);

    private static IEnumerable<int> Cells(string id) => Enumerable.Range(SomePack.Layout.FirstCell(Module(id)), 6);

    private static RhythmRecorder Played(int seed, IEnumerable<int> loaded, double dipV, double noiseV, LoadRhythm rhythm)
    {
        var noise = new Noise(seed);
        var recorder = new RhythmRecorder(rhythm, 108);
        var on = loaded.ToHashSet();
        var v = new double[108];
        for (var i = 0; i * ScanS < rhythm.LengthS; i++)
        {
            var load = rhythm.LoadAt(i * ScanS) ?? 0;
            for (var c = 0; c < v.Length; c++) v[c] = 3.9 + 0.001 * (c % 5) + noiseV * noise.Next() - (on.Contains(c) ? dipV * load : 0);
            recorder.Add(i * ScanS, v);
        }

        return recorder;
    }
}
