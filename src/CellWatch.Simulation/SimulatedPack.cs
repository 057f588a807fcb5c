using CellWatch.Core.Snapshots;
using CellWatch.Simulation.Model;
using CellWatch.Simulation.Stories;

namespace CellWatch.Simulation;

/// <summary>
/// A story being played: model, scenes and instruments. It has no task of its own: whoever reads moves it on to the time asked for, in whole
/// ticks of a fixed length, so that what it shows does not depend on who reads when, as long as somebody reads once a minute. Safe for any
/// number of threads.
/// </summary>
public sealed class SimulatedPack
{
    /// <summary>Length of a tick, s.</summary>
    public const double TickS = 0.1;

    // Ticks of a step where nobody watches, the past and a leap: the charger's control wants one second, rest takes any step.
    private const int TicksOfLongStep = 10;
    private const int TicksOfQuietStep = 100;

    private const long TicksOfAbsence = 600;
    private readonly Lock _gate = new();
    private readonly Instruments _instruments;
    private readonly ScenePlayer _player;
    private readonly Surroundings _surroundings;
    private long _tick;

    /// <param name="story">What to play.</param>
    /// <param name="seed">Seed of the instruments' noise.</param>
    /// <param name="figures">How good the instruments are; null for the usual ones.</param>
    public SimulatedPack(Story story, ulong seed = 1, InstrumentFigures? figures = null)
    {
        Story = story;
        Map = new ChannelMap(story.Layout);
        _surroundings = new Surroundings(story.Layout, story.MeanAirDegC);
        Model = new PackModel(
            story.Layout, SimulatedCurve.Grid, story.Cells, story.Parameters, _surroundings.CoolantInDegC);
        _player = new ScenePlayer(story, Model);
        _instruments = new Instruments(Model, _player, _surroundings, Map, story.Parameters, figures ?? new InstrumentFigures(), seed);
        _tick = (long)Math.Round(-story.PastS / TickS);
    }

    /// <summary>What is played.</summary>
    public Story Story { get; }

    /// <summary>The pack's channels.</summary>
    public ChannelMap Map { get; }

    /// <summary>Time of the story reached so far, s: 0 when it opens, negative in its past.</summary>
    public double TimeS
    {
        get
        {
            lock (_gate) return _tick * TickS;
        }
    }

    /// <summary>What happens now, in words.</summary>
    public string SceneName
    {
        get
        {
            lock (_gate) return _player.Scene.Name;
        }
    }

    /// <summary>The physics. Not guarded: for tests, which have it to themselves.</summary>
    internal PackModel Model { get; }

    internal Charger Charger => _player.Charger;

    internal bool HandCutOffPressed
    {
        get
        {
            lock (_gate) return _player.HandCutOffPressed;
        }
    }

    /// <summary>Plays up to a time of the story; does nothing where that lies behind.</summary>
    public void AdvanceTo(double timeS)
    {
        lock (_gate) Advance(TickAt(timeS), quick: false);
    }

    /// <summary>Plays up to a time and reads channels.</summary>
    /// <param name="timeS">Time of the story, s.</param>
    /// <param name="channels">Flat channel numbers.</param>
    /// <param name="values">Receives what the instruments show.</param>
    public void Read(double timeS, ReadOnlySpan<int> channels, Span<double> values)
    {
        lock (_gate)
        {
            Advance(TickAt(timeS), quick: false);
            for (var i = 0; i < channels.Length; i++) values[i] = _instruments.Read(channels[i], _tick);
        }
    }

    /// <summary>Whether a board that tests its leads finds a cell's lead open.</summary>
    public bool IsOpen(int cell)
    {
        lock (_gate) return _instruments.IsOpen(cell);
    }

    /// <summary>
    /// Plays the past quickly, in steps of one second (ten at rest), and shows it as snapshots of origin simulated. Call it once, before
    /// anybody reads.
    /// </summary>
    /// <param name="opening">The instant at which the story opens, on the clocks of the live scans; the past counts back from it.</param>
    /// <param name="everyS">Distance between two snapshots, whole seconds from 1.</param>
    /// <param name="take">Takes each; the buffer is reused, so copy what is kept.</param>
    /// <returns>How many there were.</returns>
    public int PlayPast(SnapshotTime opening, int everyS, Action<SnapshotBuffer> take) =>
        PlayUntil(static (_, timeS) => timeS >= 0, 0, opening, everyS, take, static _ => true);

    /// <summary>Plays quickly until something is so, and shows what passes; see <see cref="PlayPast"/>.</summary>
    /// <param name="isThere">Asked after each snapshot, with the scene and the time of the story.</param>
    /// <param name="atMostUntilS">Time of the story at which it stops in any case.</param>
    /// <param name="opening">The instant at which the story opened.</param>
    /// <param name="everyS">Distance between two snapshots, whole seconds from 1.</param>
    /// <param name="take">Takes each.</param>
    /// <param name="isSeen">Whether a channel's board is there at all; others stay missing.</param>
    /// <returns>How many there were.</returns>
    public int PlayUntil(
        Func<Scene, double, bool> isThere, double atMostUntilS, SnapshotTime opening, int everyS, Action<SnapshotBuffer> take, Func<int, bool> isSeen)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(everyS, 1);
        lock (_gate)
        {
            var buffer = new SnapshotBuffer(Map);
            var seen = new bool[Map.Count];
            for (var channel = 0; channel < seen.Length; channel++) seen[channel] = isSeen(channel);
            var last = TickAt(atMostUntilS);
            var ticks = everyS * (long)Math.Round(1 / TickS);
            var count = 0;
            while (_tick + ticks <= last && !isThere(_player.Scene, _tick * TickS))
            {
                Advance(_tick + ticks, quick: true);
                Fill(buffer, ++count, opening, seen);
                take(buffer);
            }

            return count;
        }
    }

    /// <summary>Plays up to a time and shows it as one snapshot, as if every board had spoken at that instant.</summary>
    internal void ScanInto(SnapshotBuffer buffer, double timeS, long sequence, SnapshotTime opening)
    {
        lock (_gate)
        {
            Advance(TickAt(timeS), quick: false);
            Fill(buffer, sequence, opening, null);
        }
    }

    /// <summary>Applies something between two steps.</summary>
    internal void Apply(Action<PackModel, ScenePlayer, PackFaults, long> change)
    {
        lock (_gate) change(Model, _player, _instruments.Faults, _tick);
    }

    private static long TickAt(double timeS) => (long)Math.Floor(timeS / TickS + 1e-6);

    private void Advance(long until, bool quick)
    {
        // Long steps where nobody watches. A reader that was away for more than a minute has not watched either.
        quick |= _tick < 0 || until - _tick > TicksOfAbsence;
        while (_tick < until) Step(quick ? LongStep(until) : 1);
    }

    private int LongStep(long until)
    {
        var ticks = Math.Min(until - _tick, _player.IsQuiet ? TicksOfQuietStep : TicksOfLongStep);
        var toSceneEnd = (long)Math.Ceiling(_player.SceneEndsS / TickS - 1e-6) - _tick;
        return (int)Math.Clamp(toSceneEnd, 1, ticks);
    }

    private void Step(int ticks)
    {
        var (timeS, dtS) = (_tick * TickS, ticks * TickS);
        var packCurrentA = _player.Step(timeS, dtS);
        var meanDegC = 0.0;
        foreach (var degC in Model.ModuleDegC) meanDegC += degC;
        _surroundings.Update(
            Story.ClockHAt(timeS), meanDegC / Model.ModuleDegC.Length, _player.ContactorClosed, _player.Charger.CurrentA > 0);
        Model.CoolantDegC = _surroundings.CoolantInDegC;
        Model.Step(packCurrentA, dtS);
        _tick += ticks;
    }

    private void Fill(SnapshotBuffer buffer, long sequence, SnapshotTime opening, bool[]? seen)
    {
        var afterUs = (long)Math.Round(_tick * TickS * 1e6);
        buffer.Begin(sequence, new SnapshotTime(opening.ElapsedUs + afterUs, opening.WallUnixMs + afterUs / 1000));
        for (var channel = 0; channel < Map.Count; channel++)
        {
            if (seen is not null && !seen[channel]) continue;
            buffer.Values[channel] = _instruments.Read(channel, _tick);
            buffer.Qualities[channel] = channel < Map.CellCount && _instruments.IsOpen(channel) ? Quality.Open : Quality.Good;
            buffer.Origins[channel] = Origin.Simulated;
            buffer.Proven[channel] = true;
            buffer.AgesUs[channel] = 0;
        }
    }
}
