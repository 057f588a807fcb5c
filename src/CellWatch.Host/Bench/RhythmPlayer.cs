using CellWatch.Core.Bench.Project;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Core.Snapshots;

namespace CellWatch.Host.Bench;

/// <summary>
/// Plays a rhythm on the live scans. Scans are taken on the pack's own task; a verdict is worked out and kept beside it. Two complete cycles that
/// name something else are enough to end it: the wrong channels answered, and more cycles make that no better.
/// </summary>
public sealed partial class RhythmPlayer : IRhythmDesk, IDisposable
{
    /// <summary>Complete cycles after which another answer than the one named ends the rhythm.</summary>
    public const int CyclesToContradict = 2;

    private readonly BenchDoor door;
    private readonly ILiveView live;
    private readonly IRecorder? recorder;
    private readonly ISimulatedLoad? load;
    private readonly ILogger<RhythmPlayer> log;
    private readonly Lock gate = new();
    private Game? game;

    /// <param name="door">Where the proof is kept.</param>
    /// <param name="live">The scans.</param>
    /// <param name="log">The service log.</param>
    /// <param name="recorder">Keeps the stretch at full rate; null where nothing is recorded.</param>
    /// <param name="load">The load of a simulated pack; null with real instruments.</param>
    public RhythmPlayer(BenchDoor door, ILiveView live, ILogger<RhythmPlayer> log, IRecorder? recorder = null, ISimulatedLoad? load = null)
    {
        (this.door, this.live, this.log, this.recorder, this.load) = (door, live, log, recorder, load);
        live.Changed += OnScan;
    }

    /// <inheritdoc/>
    public event Action? Changed;

    /// <inheritdoc/>
    public bool CanSimulateLoad => load is not null;

    /// <inheritdoc/>
    public RhythmResult? Last { get; private set; }

    /// <inheritdoc/>
    public RhythmView? Playing
    {
        get
        {
            lock (gate) return game is { } g ? new RhythmView(g.Order, g.By, g.Play.Count, g.Play.Rhythm, g.Play.ElapsedS, g.Play.Scans, g.SoFar) : null;
        }
    }

    /// <inheritdoc/>
    public RhythmView Begin(string by, RhythmOrder order)
    {
        RefusedException.Unless(!string.IsNullOrWhiteSpace(by), T("Say who you are: every record carries a name."));
        RefusedException.Unless(door.Preparing is null, T($"Not yet: {door.Preparing}"));
        RefusedException.Unless(!order.SimulatedLoad || load is not null, T("These are real instruments: there is no simulated load. Switch the load by hand after the count."));
        var now = live.Latest?.Snapshot;
        var (name, site, atRestBelowA) = door.Read(p => (p.Proofs.AdmitRhythm(order, now), p.Site.Layout, p.Proofs.AtRestBelowA));
        lock (gate)
        {
            RefusedException.Unless(game is null, T($"A rhythm is being played on {game?.Order.Subject} already: let it end, or stop it."));
            game = new Game(order with { Subject = name }, by.Trim(), new RhythmPlay(LoadRhythm.ByHand, now!.Map, site, atRestBelowA));
        }

        Changed?.Invoke();
        return Playing!;
    }

    /// <inheritdoc/>
    public void Stop(string by)
    {
        RefusedException.Unless(!string.IsNullOrWhiteSpace(by), T("Say who you are: every record carries a name."));
        Game? stopped;
        lock (gate) (stopped, game) = (game, null);
        RefusedException.Unless(stopped is not null, T("No rhythm is being played."));
        End(stopped!, null, T($"Stopped by {by.Trim()}: nothing was judged."));
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        live.Changed -= OnScan;
        TakeLoadOff();
    }

    private void OnScan()
    {
        if (live.Latest is not { } state) return;
        Game? playing;
        int? due = null;
        bool? on = null;
        string? spoiled = null;
        lock (gate)
        {
            playing = game;
            if (playing is null) return;
            playing.Play.Add(state.Snapshot);
            spoiled = playing.Play.SpoiledBecause;
            var isOn = playing.Play.Count.Phase == RhythmPhase.On;
            if (isOn != playing.IsOn) on = playing.IsOn = isOn;
            var cycles = playing.Play.CyclesDone;
            if (spoiled is not null) game = null;
            else if (cycles > playing.Judged && !playing.Judging) (due, playing.Judged, playing.Judging) = (cycles, cycles, true);
        }

        if (on is { } switched) Switch(playing.Order, switched);
        if (spoiled is not null) End(playing, null, spoiled);
        else if (due is { } done) _ = Task.Run(() => JudgeAsync(playing, done));
        Changed?.Invoke();
    }

    /// <summary>The load of the model follows the count, where it was asked to.</summary>
    private void Switch(RhythmOrder order, bool on)
    {
        if (load is null || !order.SimulatedLoad) return;
        if (!on) TakeLoadOff();
        else if (order.Method == ProofMethod.ModuleLoad) load.LoadModule(new ModuleId(order.Subject));
        else if (CellId.TryParse(order.Subject, out var cell)) load.LoadCell(cell);
    }

    private void TakeLoadOff() => load?.LoadModule(null);

    private async Task JudgeAsync(Game playing, int cycles)
    {
        try
        {
            RhythmSamples samples;
            lock (gate) samples = playing.Play.Samples(cycles);
            var outcome = door.Read(p => p.Proofs.TryRhythm(playing.Order.Subject, playing.Order.Method, samples));
            var contradicted = cycles >= CyclesToContradict && !outcome.Proven && outcome.Answered.Count > 0;
            var over = contradicted || cycles == playing.Play.Rhythm.Cycles;
            lock (gate)
            {
                playing.SoFar = outcome;
                playing.Judging = over;
                if (game != playing) return;
                if (over) game = null;
            }

            if (over)
            {
                var kept = door.Enter(playing.By, playing.Play.AnySimulated, (p, who) => p.Proofs.Rhythm(playing.Order.Subject, playing.Order.Method, samples, EvidenceOf(playing, cycles), who));
                End(playing, kept.Outcome, kept.Outcome.Sentence);
                await KeepAsync(playing);
            }

            Changed?.Invoke();
        }
#pragma warning disable CA1031 // The border of a task nobody waits for: whatever went wrong, the person at the load is told and the rhythm is not left playing.
        catch (Exception fault)
#pragma warning restore CA1031
        {
            LogNotJudged(playing.Order.Subject, fault);
            lock (gate)
                if (game == playing) game = null;
            End(playing, null, T($"Nothing was kept: {(fault is RefusedException ? fault.Message : T("the program failed, see its log. Play it again."))}"));
        }
    }

    private static string EvidenceOf(Game playing, int cycles)
    {
        var (from, to) = playing.Play.WallUnixMs;
        var how = playing.Order.SimulatedLoad ? T("SIMULATED load following the count") : T("load switched by hand after the count");
        return T($"Live: {playing.Play.Scans} scans, {At(from):yyyy-MM-dd HH:mm:ss} to {At(to):HH:mm:ss} UTC in the cell log; {cycles} of {playing.Play.Rhythm.Cycles} cycles of {playing.Play.Rhythm.OnS:0} s on, {playing.Play.Rhythm.OffS:0} s off; {how}.");
    }

    private static DateTimeOffset At(long unixMs) => DateTimeOffset.FromUnixTimeMilliseconds(unixMs);

    /// <summary>The stretch stays at full rate however old it grows: it is what the proof rests on.</summary>
    private async Task KeepAsync(Game playing)
    {
        if (recorder is null) return;
        var (from, to) = playing.Play.WallUnixMs;
        try
        {
            await recorder.FreezeAsync(new FrozenWindow(new TimeRange(from, to + 1), T($"proof by rhythm of {playing.Order.Subject}")));
        }
        catch (Exception fault) when (fault is IOException or InvalidOperationException)
        {
            LogNotFrozen(playing.Order.Subject, fault);
        }
    }

    private void End(Game playing, RhythmOutcome? outcome, string sentence)
    {
        TakeLoadOff();
        Last = new RhythmResult(playing.Order, outcome, sentence, door.Now);
        Changed?.Invoke();
    }

    [LoggerMessage(Level = LogLevel.Error, Message = "The rhythm on {Subject} could not be judged")]
    private partial void LogNotJudged(string subject, Exception fault);

    [LoggerMessage(Level = LogLevel.Warning, Message = "The stretch of the rhythm on {Subject} is not kept at full rate")]
    private partial void LogNotFrozen(string subject, Exception fault);

    private sealed class Game(RhythmOrder order, string by, RhythmPlay play)
    {
        public RhythmOrder Order => order;

        public string By => by;

        public RhythmPlay Play => play;

        public RhythmOutcome? SoFar { get; set; }

        /// <summary>Cycles judged, or being judged.</summary>
        public int Judged { get; set; }

        public bool Judging { get; set; }

        public bool IsOn { get; set; }
    }
}
