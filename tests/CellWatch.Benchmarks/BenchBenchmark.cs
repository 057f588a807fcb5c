using BenchmarkDotNet.Attributes;
using CellWatch.Core.Bench;
using CellWatch.Core.Planning;

namespace CellWatch.Benchmarks;

/// <summary>Marks of the bench: a grade table with 10,000 draws in 300 ms, a plan of 18 from 24 modules in 2 s.</summary>
[MemoryDiagnoser]
public class BenchBenchmark
{
    private readonly List<ModuleEvidence> modules = [];
    private PlanTask task = null!;

    [GlobalSetup]
    public void Setup()
    {
        var draw = new SeededDraws(5);
        var link = new EvidenceLink("run", DateTimeOffset.UnixEpoch);
        for (var i = 1; i <= 18; i++)
            modules.Add(new ModuleEvidence(
                $"B{i:00}", "", new InspectionEvidence(Verdict.Accept, "", link), new RestEvidence(1, 0, 0.4, 0.8, false, false, link),
                new CapacityEvidence([.. Enumerable.Range(0, 6).Select(_ => new Uncertain(103 + 0.3 * draw.Normal(), 0.6))], 24, true, link),
                new ResistanceEvidence([.. Enumerable.Repeat(1.07, 6)], [.. Enumerable.Repeat(0.75, 6)], 24, 50, link), new IsolationEvidence(50, link)));
        var slots = Enumerable.Range(0, 18).Select(i => new Slot(i + 1, i < 12 ? "fore" : "aft", (i < 12 ? 1.0 : 4.0) + 0.3 * (i % 12 / 3), 0.35 * (i % 3 - 1), 0.2, i * 7 % 18 + 1, i * 7 % 18 * 0.4, i % 3 != 1 || i < 3));
        var candidates = Enumerable.Range(1, 24).Select(i => new Candidate(
            $"B{i:00}", i % 11 == 0 ? Grade.R : i % 4 == 0 ? Grade.B : Grade.A, 103 + 1.5 * draw.Normal() - (i == 8 ? 5 : 0), 6.4 + 0.15 * draw.Normal(), 12.5 + 0.2 * draw.Normal(), i is 8 or 16));
        task = new PlanTask([.. slots], [.. candidates], new PlanWeights());
    }

    [Benchmark]
    public GradeSheet GradeTableWithTenThousandDraws() => Grading.Judge(modules, new GradeLimits(), "0.1.0");

    [Benchmark]
    public Suggestion EighteenFromTwentyFour() => FittingSolver.Suggest(task);
}
