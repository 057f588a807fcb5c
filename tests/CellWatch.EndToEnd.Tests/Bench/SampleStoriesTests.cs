using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Host.Bench;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>The records a demo's bench begins with fit the story it plays, and end when it opens.</summary>
public sealed class SampleStoriesTests
{
    private static readonly DateTimeOffset Opening = new(2026, 6, 3, 9, 40, 0, TimeSpan.Zero);

    [Fact]
    public async Task Before_the_first_charge_gate_15_is_the_next_and_a_spare_rests_on_the_shelf()
    {
        var project = await Entered("first-charge");
        var next = GateView.Next(GateView.All(project))!;
        Assert.Equal((15, GateState.Ready), (next.Number, next.State));
        Assert.True(project.ProofStates.Supervision(project.Site.Map).Supervised);
        var open = Assert.Single(BenchView.Of(project, Opening).Open);
        Assert.Equal(("B21", RunMethod.Rest), (open.Run.Module, open.Run.Method));
        Assert.Null(BenchView.Of(project, Opening).Next);
        Assert.All(project.Records(), r => Assert.True(r.Simulated && r.At <= Opening, $"{r.Kind} {r.Key} {r.At}"));
    }

    [Fact]
    public async Task On_the_bench_the_capacity_run_of_B07_began_ten_minutes_ago()
    {
        var project = await Entered("bench");
        var open = Assert.Single(BenchView.Of(project, Opening).Open);
        Assert.Equal(("B07-capacity-1", RunState.Running), (open.Run.Id, open.Run.State));
        Assert.Equal(Opening.AddMinutes(-10), open.StartedAt, TimeSpan.FromSeconds(1));
        Assert.InRange(BenchView.SiblingAh(project, "B07")!.Value, 105, 112);
        Assert.Equal(["inspection"], BenchView.Steps(project, "B07").Where(s => s.Done).Select(s => s.Name));
        Assert.Equal("B08", BenchView.Of(project, Opening).Next!.Module);
    }

    [Fact]
    public async Task Before_the_night_the_first_dc_charge_is_proven() =>
        Assert.Equal(16, GateView.Next(GateView.All(await Entered("night")))!.Number);

    private static async Task<BenchProject> Entered(string story)
    {
        var site = PetrelProject.Site("test");
        var store = new MemoryRecordStore();
        await SampleProject.EnterAsync(site, PetrelProject.Until(story, Opening), () => store, CancellationToken.None);
        return new BenchProject(store, site);
    }
}
