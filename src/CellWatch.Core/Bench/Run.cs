using System.Collections.Immutable;

namespace CellWatch.Core.Bench;

/// <summary>The methods of bench runs.</summary>
public enum RunMethod
{
    /// <summary>Rest and self-discharge.</summary>
    Rest,

    /// <summary>Capacity.</summary>
    Capacity,

    /// <summary>Pulse resistance.</summary>
    Pulse,
}

/// <summary>Where a run stands.</summary>
public enum RunState
{
    /// <summary>Going on.</summary>
    Running,

    /// <summary>Stopped for a while by a person.</summary>
    Held,

    /// <summary>Data stopped without anyone ending it; a person decides.</summary>
    Interrupted,

    /// <summary>Ended and kept.</summary>
    Ended,

    /// <summary>Ended and discarded, with the reason; its data stay.</summary>
    Discarded,
}

/// <summary>Something that happened in a run.</summary>
/// <param name="At">When.</param>
/// <param name="By">Who.</param>
/// <param name="What">What, in words.</param>
public sealed record RunEvent(DateTimeOffset At, string By, string What);

/// <summary>A stretch of data without a hole, as it lies in the log. Its digest freezes it: a changed byte is noticed.</summary>
/// <param name="Reference">Where the raw data lie: run of the cell log, or name of the imported file.</param>
/// <param name="Rows">Rows.</param>
/// <param name="Sha256">Digest of the raw rows.</param>
public sealed record RawReference(string Reference, int Rows, string Sha256);

/// <summary>A bench run: one module, one method. Several run at the same time, one a module.</summary>
public sealed record Run
{
    /// <summary>Its name: module, method and number, for example <c>B07-capacity-1</c>.</summary>
    public required string Id { get; init; }

    /// <summary>The module.</summary>
    public required string Module { get; init; }

    /// <summary>The method.</summary>
    public required RunMethod Method { get; init; }

    /// <summary>Rig it runs on, in words.</summary>
    public string Rig { get; init; } = "";

    /// <summary>Where it stands.</summary>
    public RunState State { get; init; } = RunState.Running;

    /// <summary>A person stays with it. A capacity run is attended unless its cut was tried in this run.</summary>
    public bool Attended { get; init; } = true;

    /// <summary>When the automatic cut of this run was tried and the current seen to fall to zero; null when not.</summary>
    public DateTimeOffset? CutTriedAt { get; init; }

    /// <summary>Whether an instrument may end the run by itself.</summary>
    public bool CutArmed { get; init; }

    /// <summary>What happened.</summary>
    public ImmutableArray<RunEvent> Events { get; init; } = [];

    /// <summary>Stretches of data; more than one when it was interrupted and gone on with by decision.</summary>
    public ImmutableArray<RawReference> Raw { get; init; } = [];

    /// <summary>The finding; empty until judged.</summary>
    public string Finding { get; init; } = "";

    /// <summary>Why it was discarded; empty else.</summary>
    public string DiscardedBecause { get; init; } = "";

    /// <summary>True when it was interrupted at any time: a capacity is then not stated, because the charge in the hole is not known.</summary>
    public bool HasHole => Raw.Length > 1;
}

/// <summary>Something that can end a run's current: an instrument driver. Armed by a person for one run; drivers come later.</summary>
public interface IRunCut
{
    /// <summary>Its name, as a person knows it.</summary>
    string Name { get; }

    /// <summary>Opens the current path. True when the command was given; whether the current fell is seen in the data.</summary>
    bool TryCut(string reason);
}

/// <summary>The steps a run may take, each checked.</summary>
public static class RunCourse
{
    /// <summary>Cautions and connections of a method, said before anything is connected.</summary>
    public static (string Caution, string Connect, IReadOnlyList<string> Fitness) Guide(RunMethod method) => method switch
    {
        RunMethod.Rest => (
            T("Unattended cells: do it where a fire harms nobody. No charger connected."),
            T("Sense connector only. Nothing on the main terminals; the front end draws little and equally from all groups."),
            [T("charge level on a steep part of the curve"), T("room steady within 3 K"), T("every channel moves (none stuck)"), T("no current")]),
        RunMethod.Capacity => (
            T("2.4 kWh is pushed both ways; the load gets hot. Stay with it, unless the cut was tried in this run and the current was seen to fall to zero."),
            T("Charger or load on the main terminals, bolted; sense leads on their own points, never through the power clips. Fuse in the lead."),
            [T("current flat within 2 %"), T("time forward"), T("temperature steady"), T("no voltage jump at the start that no cell can make")]),
        _ => (
            T("60 to 200 A: bolted connections only, hot load, sparks when a clip comes off."),
            T("Load on the main terminals with short thick leads; sense connector plugged; 50 % charge after 1 h of rest."),
            [T("current flat within 2 %"), T("temperature steady within 2 K"), T("no limit reached"), T("10 readings a second at the edges")]),
    };

    /// <summary>Starts a run.</summary>
    /// <exception cref="Register.RefusedException">The module runs elsewhere, or a capacity run is to be unattended without a tried cut.</exception>
    public static Run Start(string module, RunMethod method, string rig, bool attended, IReadOnlyList<Run> others, string by, DateTimeOffset at)
    {
        var busy = others.FirstOrDefault(r => r.Module == module && r.State is (RunState.Running or RunState.Held or RunState.Interrupted));
        Register.RefusedException.Unless(busy is null, T($"{module} is in run {busy?.Id} ({busy?.State.ToString().ToLowerInvariant()}): end that one first."));
        RefuseUnattended(method, attended, null);
        var number = others.Count(r => r.Module == module && r.Method == method) + 1;
        return new Run
        {
            Id = $"{module}-{method.ToString().ToLowerInvariant()}-{number}",
            Module = module,
            Method = method,
            Rig = rig,
            Attended = attended,
            Events = [new RunEvent(at, by, attended ? T("started, attended") : T("started, unattended"))],
        };
    }

    /// <summary>The cut was tried in this run: the current must be seen to fall to zero.</summary>
    /// <exception cref="Register.RefusedException">It did not fall.</exception>
    public static Run CutTried(Run run, double currentBeforeA, double currentAfterA, double zeroA, string by, DateTimeOffset at)
    {
        RefuseOver(run);
        Register.RefusedException.Unless(Math.Abs(currentBeforeA) > 10 * zeroA, T($"Only {currentBeforeA:0.00} A flowed before the cut was tried: try it under load."));
        Register.RefusedException.Unless(Math.Abs(currentAfterA) <= zeroA, T($"The current was {currentAfterA:0.00} A after the cut, not zero: it does not cut. Stay with the run."));
        return run with { CutTriedAt = at, Events = run.Events.Add(new RunEvent(at, by, T($"cut tried: {currentBeforeA:0.0} A fell to {currentAfterA:0.00} A"))) };
    }

    /// <summary>The person leaves, or comes back.</summary>
    public static Run SetAttended(Run run, bool attended, string by, DateTimeOffset at)
    {
        RefuseOver(run);
        RefuseUnattended(run.Method, attended, run.CutTriedAt);
        return run with { Attended = attended, CutArmed = !attended && run.CutTriedAt is not null, Events = run.Events.Add(new RunEvent(at, by, attended ? "attended" : T("left unattended, cut armed"))) };
    }

    /// <summary>Holds a run, or goes on with one that was held. A run that was interrupted needs the reason why it may go on.</summary>
    public static Run Hold(Run run, bool hold, string reason, string by, DateTimeOffset at)
    {
        RefuseOver(run);
        Register.RefusedException.Unless(hold || run.State != RunState.Interrupted || reason.Trim().Length > 0, T($"{run.Id} was interrupted: say why it may go on. The hole stays in its record."));
        return run with { State = hold ? RunState.Held : RunState.Running, Events = run.Events.Add(new RunEvent(at, by, (hold ? "held" : T("gone on with")) + (reason.Length > 0 ? $": {reason}" : ""))) };
    }

    /// <summary>Data stopped coming: the run waits for a decision and is never gone on with silently.</summary>
    public static Run Interrupt(Run run, string what, DateTimeOffset at)
    {
        RefuseOver(run);
        return run with { State = RunState.Interrupted, Events = run.Events.Add(new RunEvent(at, "program", T($"interrupted: {what}"))) };
    }

    /// <summary>Adds a stretch of data. A second one is only taken after a decision to go on; it is never joined to the first.</summary>
    public static Run AddRaw(Run run, RawReference raw, string by, DateTimeOffset at)
    {
        RefuseOver(run);
        Register.RefusedException.Unless(run.State != RunState.Interrupted, T($"{run.Id} was interrupted: decide to go on or to end it before more data are added."));
        return run with { Raw = run.Raw.Add(raw), Events = run.Events.Add(new RunEvent(at, by, T($"data: {raw.Reference}, {raw.Rows} rows"))) };
    }

    /// <summary>Ends a run and keeps it, with its finding.</summary>
    public static Run End(Run run, string finding, string by, DateTimeOffset at)
    {
        RefuseOver(run);
        return run with { State = RunState.Ended, Finding = finding, Events = run.Events.Add(new RunEvent(at, by, T("ended and kept"))) };
    }

    /// <summary>Ends a run and discards it; the reason is required and its data stay.</summary>
    public static Run Discard(Run run, string reason, string by, DateTimeOffset at)
    {
        RefuseOver(run);
        Register.RefusedException.Unless(reason.Trim().Length > 0, T("Say why the run is discarded: the record stays, with the reason."));
        return run with { State = RunState.Discarded, DiscardedBecause = reason, Events = run.Events.Add(new RunEvent(at, by, T($"discarded: {reason}"))) };
    }

    private static void RefuseOver(Run run) =>
        Register.RefusedException.Unless(run.State is not (RunState.Ended or RunState.Discarded), T($"{run.Id} is over ({run.State.ToString().ToLowerInvariant()}): start another run."));

    private static void RefuseUnattended(RunMethod method, bool attended, DateTimeOffset? cutTriedAt) => Register.RefusedException.Unless(
        attended || method == RunMethod.Rest || cutTriedAt is not null,
        T("A run with current is attended unless its cut was tried in this run and the current was seen to fall to zero. Start it attended, try the cut, then leave."));
}
