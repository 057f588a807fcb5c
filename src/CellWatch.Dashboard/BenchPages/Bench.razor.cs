using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Register;
using CellWatch.Core.Rules;
using CellWatch.Dashboard.Texts;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;

namespace CellWatch.Dashboard.BenchPages;

/// <summary>Test runs, whether their data are fit, and the grade they come to.</summary>
public sealed partial class Bench
{
    private static readonly TimeSpan FollowEvery = TimeSpan.FromSeconds(2);

    private BenchView? _view;
    private IReadOnlyList<BenchStep> _steps = [];
    private IReadOnlyList<FitnessPoint> _lastFitness = [];
    private IReadOnlyList<string> _certificates = [];
    private IReadOnlyList<Kept<ModuleFile>> _files = [];
    private GradeCard? _card;
    private RunProgress? _progress;
    private string _lastFitnessOf = "";
    private string _chosen = "";
    private string _reason = "";
    private string _rig = "";
    private RunMethod _method = RunMethod.Rest;
    private bool _graded;
    private bool _closing;
    private int _cells = 6;
    private double _expectedV = double.NaN;
    private long _followedAt;

    [Inject] private TimeProvider Time { get; set; } = null!;

    [Inject] private IServiceProvider Provider { get; set; } = null!;

    private IRunCloser? Closer => Provider.GetService<IRunCloser>();

    private IRunFollower? Follower => Provider.GetService<IRunFollower>();

    private OpenRun? Run => _view?.Open.FirstOrDefault(r => r.Run.Module == _chosen);

    private string Module => _chosen;

    private StateWord? Word => Run is not { } run ? null
        : run.Run.State == RunState.Interrupted || _progress is { IsFit: false } ? StateWord.Caution : null;

    private string Headline
    {
        get
        {
            if (Run is not { } run)
            {
                var others = _view!.Open.Count == 0 ? T("No run") : T($"No run with {Module}; {Figures.Count(_view.Open.Count, T("run"), T("runs"))} elsewhere");
                return $"{others}. {(_card is { Grade: not Grade.None } c ? T($"{Module} is grade {c.Grade}{(c.DecidedBy.Length > 0 ? T($", decided by {BenchWords.Criterion(c.DecidedBy)}") : "")}.") : T("Pick a module and a method."))}";
            }

            var what = $"{run.Run.Module} {BenchWords.Of(run.Run.Method)}";
            if (run.Run.State == RunState.Interrupted) return T($"{what} is interrupted: decide to go on, with a reason, or to end it.");
            if (run.Run.State == RunState.Held) return T($"{what} is held.");
            var now = Desk!.Now;
            if (_progress is { } p)
            {
                var fit = p.Fitness.Count == 0 ? "" : p.IsFit ? T(" Data fit so far.") : T($" Not fit: {(p.LongestHoleS > 0 ? T("a hole under current") : p.Fitness.First(f => !f.Fit).Name)}.");
                if (p.Ended) return T($"{what} has ended: {Figures.With(p.OwnAh, 1, "Ah")}. End, judge and keep it.{fit}");
                if (p.Forecast is { } f) return T($"{what} at {Figures.Current(p.CurrentA)}, {Figures.Duration(p.LoadS)}; ends about {BenchWords.Clock(now.AddSeconds(f.LeftS), now)}{(f.Cell > 0 ? T($", group {f.Cell} first") : T(", by its siblings"))}.{fit}");
                return $"{what}: {(p.LoadS > 0 ? T($"{Figures.Current(p.CurrentA)} for {Figures.Duration(p.LoadS)}") : T("no current yet"))}.{fit}";
            }

            var days = (now - run.StartedAt).TotalDays;
            return T($"{what}, {(days >= 1 ? T($"day {Math.Floor(days) + 1:0} of {(run.UsualEnd - run.StartedAt).TotalDays:0}") : Figures.Duration((now - run.StartedAt).TotalSeconds))}; ends about {BenchWords.Day(run.UsualEnd, now)}.");
        }
    }

    // The ladder answers it above the fold: the grade and the line that decided it, or the line that is still open.
    private static string GradeStep(GradeCard? card) => card switch
    {
        { Grade: not Grade.None, DecidedBy.Length: > 0 } => T($"{card.Grade}, by {BenchWords.Criterion(card.DecidedBy)}"),
        { Grade: not Grade.None } => T($"{card.Grade}, no limits found"),
        { DecidedBy.Length: > 0 } => T($"none yet: {BenchWords.Criterion(card.DecidedBy)} is open"),
        _ => T("to do"),
    };

    /// <inheritdoc/>
    protected override void Look(BenchProject project)
    {
        var view = BenchView.Of(project, Desk!.Now);
        if (view.Modules.Count == 0) return;
        _view = view;
        if (!view.Modules.Contains(_chosen)) _chosen = view.Open.FirstOrDefault()?.Run.Module ?? view.Next?.Module ?? view.Modules[0];
        _steps = BenchView.Steps(project, _chosen);
        var latest = project.Grades.Latest()?.Value.Cards.FirstOrDefault(c => c.Identity == _chosen);
        _graded = latest is { Grade: not Grade.None };
        _card = _graded ? latest : project.Grades.CardNow(_chosen);
        var capacity = project.Runs.CapacityOf(_chosen);
        _lastFitness = capacity?.Value.Outcome.Fitness ?? [];
        _lastFitnessOf = capacity is null ? "" : $"{capacity.Value.RunId}, {BenchWords.Day(capacity.Record.At, Desk.Now)}";
        _certificates = [.. project.Runs.Runs().Where(r => r.Value.Module == _chosen && r.Value.State == RunState.Ended).Select(r => r.Value.Id)];
        _files = project.Files.Of(new ModuleId(_chosen));
        _cells = ModuleTopology.TryParse(project.Modules.Get(new ModuleId(_chosen)).Value.Topology, out var topology) ? topology.Series : 6;
        _expectedV = project.Runs.InspectionOf(_chosen) is { } seen ? seen.Value.Entry.MeterCellV.Average() : double.NaN;
        _progress = Run is { } run ? Follower?.ProgressOf(run.Run.Id) : null;
        _followedAt = Time.GetTimestamp();
    }

    /// <inheritdoc/>
    protected override void LookWhenChanged()
    {
        // Set at every scan: the run's own figures are worked out every two seconds.
        if (_view is null || Run is not { } run || Time.GetElapsedTime(_followedAt) < FollowEvery) return;
        _followedAt = Time.GetTimestamp();
        _progress = Follower?.ProgressOf(run.Run.Id);
    }

    private void ShowRun(OpenRun run)
    {
        _chosen = run.Run.Module;
        LookAgain();
    }

    private static string Known(string text) => text == "-" ? "" : BenchWords.Set(text);

    private static string EndWords(RunProgress p) => p.Ended ? "" : p.Forecast is { Cell: > 0 } f ? T($"group {f.Cell} first, about {Figures.With(f.GroupAh, 0, "Ah")}") : p.Forecast is not null ? T("end as the siblings") : "";

    private string NoCurve(OpenRun run) => run.Run.Method == RunMethod.Rest
        ? T($"Resting since {BenchWords.Clock(run.StartedAt, Desk!.Now)}. Nothing on the main terminals; the first 48 h are relaxation and are dropped. The leak is worked out when the recording is closed{(Closer?.Records(run.Run.Module) ?? false ? "" : T($": {run.Run.Module} is not on this pack's instruments, so it is handed in as a file"))}.")
        : run.Run.Method == RunMethod.Pulse && (Closer?.Records(run.Run.Module) ?? false) ? T("Nothing was heard since the run began. Give the pulse; it is then closed from the log.")
        : T($"{run.Run.Module} is not on this pack's instruments, or nothing was heard since the run began: its recording is handed in as a file when it is over (bench enter runs/{run.Run.Id}/capacity).");

    private Task HoldAsync(Run run, bool hold) => StepAsync(run, (r, who) => RunCourse.Hold(r, hold, _reason.Trim(), who.By, who.At), hold ? T("is held") : T("goes on"));

    private Task DiscardAsync(Run run) => StepAsync(run, (r, who) => RunCourse.Discard(r, _reason.Trim(), who.By, who.At), T("is discarded; its record stays"));

    private async Task StepAsync(Run run, Func<Run, Stamp, Run> step, string said)
    {
        if (await EnterAsync((p, who) =>
            {
                p.Runs.Step(run.Id, r => step(r, who), who);
                return $"{run.Id} {said}.";
            })) _reason = "";
    }

    /// <summary>A rest or a pulse on the pack's own instruments is closed with what the log holds of it.</summary>
    private bool CanCloseFromLog(Run run) => run.Method != RunMethod.Capacity && run.State == RunState.Running && (Closer?.Records(run.Module) ?? false);

    private async Task CloseFromLogAsync(Run run)
    {
        if (Closer is not { } closer || _closing) return;
        _closing = true;
        StateHasChanged();
        await ActAsync(by => closer.CloseAsync(by, run.Id));
        _closing = false;
        LookAgain();
    }

    private async Task EndAsync(Run run)
    {
        if (Follower?.CsvOf(run.Id) is not { } csv) return;
        await EnterAsync((p, who) => p.Runs.CloseCapacity(run.Id, csv, p.Runs.CapacitySettings, who).Value.Outcome.Sentence);
    }

    private Task<bool> StartAsync() => EnterAsync((p, who) => T($"{p.Runs.Start(new ModuleId(Module), _method, _rig.Trim(), _method != RunMethod.Rest, who).Value.Id} has begun."));

    private async Task<(bool Kept, string Answer)> KeepFileAsync(ModuleFileEntry file)
    {
        var kept = await EnterAsync((p, who) => T($"Kept with {Module}: {p.Files.Add(new ModuleId(Module), file, who).Value.Caption}."));
        return (kept, Answer);
    }

    private async Task KeepReadingsAsync(HandReadings hand)
    {
        var kept = await EnterAsync((p, who) => hand.IsConnector
            ? p.Proofs.Stack(hand.Module, hand.Readings, who).Outcome.Sentence
            : $"{hand.Module}: {BenchWords.Of(p.Runs.Inspect(new ModuleId(hand.Module), hand.Inspection, who).Value.Outcome.Verdict)}. {p.Runs.InspectionOf(hand.Module)!.Value.Outcome.Words}.");
        if (kept) hand.Clear();
    }
}
