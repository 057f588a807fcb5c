using System.Collections.Immutable;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Transport;
using CellWatch.Simulation.Boards;
using CellWatch.Simulation.Controls;
using CellWatch.Simulation.Stories;
using CellWatch.Simulation.Time;

namespace CellWatch.Simulation;

/// <summary>One channel of a simulated pack and how it is proven: the model knows what hangs on it.</summary>
/// <param name="Channel">Flat channel number.</param>
/// <param name="Method">How, in words; says that it is simulated.</param>
public readonly record struct SimulatedProof(int Channel, string Method);

/// <summary>
/// A whole simulated site, ready for a host: pack, boards on ports inside this process, clock, controls. Play the past first, then start
/// <see cref="RunAsync"/> and the front ends.
/// </summary>
public sealed class SimulatedSite
{
    /// <param name="story">What to play.</param>
    /// <param name="clock">The clock that everything of this site runs by; see <see cref="CreateClock"/>. The story opens now.</param>
    /// <param name="seed">Seed of the instruments' noise.</param>
    public SimulatedSite(Story story, ScaledTimeProvider clock, ulong seed = 1)
    {
        (Story, Clock) = (story, clock);
        Pack = new SimulatedPack(story, seed);
        StoryClock = new StoryClock(clock);
        Boards = [.. story.Boards.Select(plan => new BoardRunner(BoardOf(plan, Pack), new PipePort($"emulated {plan.Name}"), StoryClock, clock))];
        Controls = new SimulationControls(Pack, Boards, clock, StoryClock);
    }

    /// <summary>What is played.</summary>
    public Story Story { get; }

    /// <summary>The clock that everything runs by.</summary>
    public ScaledTimeProvider Clock { get; }

    /// <summary>Time of the story.</summary>
    public StoryClock StoryClock { get; }

    /// <summary>The simulated pack.</summary>
    public SimulatedPack Pack { get; }

    /// <summary>The emulated boards with their ports, in the order of the story's plans.</summary>
    public ImmutableArray<BoardRunner> Boards { get; }

    /// <summary>What a person can do to the pack.</summary>
    public SimulationControls Controls { get; }

    /// <summary>The pack's layout.</summary>
    public PackLayout Layout => Story.Layout;

    /// <summary>The chemistry profile with this site's limits.</summary>
    public CellType CellType => Story.CellType;

    /// <summary>What is really wrong with the pack.</summary>
    public ImmutableArray<StatedFault> Truth => Story.Truth;

    /// <summary>Every channel, proven by simulation. Such a proof never counts for a real output: its origin is simulated.</summary>
    public ImmutableArray<SimulatedProof> Proofs => [.. Enumerable.Range(0, Pack.Map.Count).Select(channel => new SimulatedProof(channel, "by simulation: the model knows what hangs on it"))];

    /// <summary>A clock for a story: its own pace, and a wall clock that shows today at the hour at which the story opens.</summary>
    /// <param name="story">The story.</param>
    /// <param name="factor">Pace; null for the story's own.</param>
    /// <param name="inner">The real clock; null for the system's.</param>
    public static ScaledTimeProvider CreateClock(Story story, double? factor = null, TimeProvider? inner = null)
    {
        var today = (inner ?? TimeProvider.System).GetUtcNow().UtcDateTime.Date;
        var start = new DateTimeOffset(today, TimeSpan.Zero).AddHours(story.OpensAtClockH);
        return new ScaledTimeProvider(factor ?? story.TimeFactor, start, inner);
    }

    /// <summary>An emulated board for a plan.</summary>
    public static EmulatedBoard BoardOf(BoardPlan plan, SimulatedPack pack) => plan.Wire switch
    {
        BoardWire.SerialCan => new CanBoard(plan, pack),
        _ => new TextBoard(plan, pack),
    };

    /// <summary>Plays the past quickly and shows it as snapshots; see <see cref="SimulatedPack.PlayPast"/>. Also tells the controls when the story opened.</summary>
    /// <param name="opening">Both clocks of the live scans at the moment the story opened.</param>
    /// <param name="everyS">Distance between two snapshots, whole seconds from 1.</param>
    /// <param name="take">Takes each; the buffer is reused.</param>
    /// <returns>How many there were.</returns>
    public int PlayPast(SnapshotTime opening, int everyS, Action<SnapshotBuffer> take)
    {
        Controls.Opening = opening;
        return Pack.PlayPast(opening, everyS, take);
    }

    /// <summary>Runs all boards until cancelled.</summary>
    public Task RunAsync(CancellationToken cancellation) => Task.WhenAll(Boards.Select(board => Task.Run(() => board.RunAsync(cancellation), CancellationToken.None)));
}
