using System.Collections.Immutable;
using CellWatch.Core.Commands;
using CellWatch.Core.Engine;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Simulation;
using CellWatch.Simulation.Stories;
using CellWatch.Testing.Pages;

namespace CellWatch.Dashboard.Preview;

/// <summary>Plays a story of the simulated pack through the real engine, without boards and wires, so that the pages show its real sentences.</summary>
internal sealed class StoryPlayer : ICommandDoor
{
    private const int PastEveryS = 10;

    private readonly Lock _gate = new();
    private readonly SimulatedPack _pack;
    private readonly PackEngine _engine;
    private readonly ScriptedLiveView _live;
    private readonly SnapshotTime _opening;
    private readonly Story _story;
    private double _timeS;
    private SnapshotTime _last;

    public StoryPlayer(string name, ScriptedLiveView live)
    {
        _live = live;
        _story = AllStories.Named(name);
        _pack = new SimulatedPack(_story);
        _engine = new PackEngine(_pack.Map, _story.CellType, new EngineOptions { HandCutOff = _story.HandCutOff, CapacityAh = PetrelPack.NominalAh, TerminationA = _story.TerminationA, PresenceMinutes = 240 });
        var start = new DateTimeOffset(DateTimeOffset.UtcNow.UtcDateTime.Date, TimeSpan.Zero).AddHours(_story.OpensAtClockH);
        _opening = new SnapshotTime(1_000_000L * 864_000, start.ToUnixTimeMilliseconds());
        _pack.PlayPast(_opening, PastEveryS, Take);
    }

    public double Factor => _story.TimeFactor;

    /// <summary>Plays on by some seconds of the story.</summary>
    public void Play(double seconds)
    {
        _timeS += seconds;
        _pack.PlayUntil((_, _) => false, _timeS, _opening, 1, Take, _ => true);
    }

    public Task<CommandAnswer> SubmitAsync(PackCommand command, CancellationToken cancellation = default)
    {
        lock (_gate) return Task.FromResult(_engine.Apply(command, _last));
    }

    private void Take(SnapshotBuffer buffer)
    {
        lock (_gate)
        {
            buffer.Proven.Fill(true);
            _engine.Step(buffer);
            _last = buffer.View.Time;
            _live.Show(_engine.Publish(buffer, Boards(), new RecordingView(true, "recording", null, 61), new SendingView(true, "sending to the broker")));
        }
    }

    private static ImmutableArray<FrontEndHealth> Boards() =>
        [.. Petrel.At("normal").FrontEnds.Select(f => f with { RecentRaw = ["played without wires"], RecentBad = [], Garbage = [], BadPerMinute = 0 })];
}
