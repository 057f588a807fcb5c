using CellWatch.Core.Register;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Bench.Project;

/// <summary>One step of a module's way over the bench.</summary>
/// <param name="Name">In words.</param>
/// <param name="Done">Done, with a result that can be used.</param>
/// <param name="Running">Being done now.</param>
/// <param name="Result">Its result in short; what is wrong where it cannot be used; empty before.</param>
/// <param name="At">When that result was kept; null before.</param>
public sealed record BenchStep(string Name, bool Done, bool Running, string Result, DateTimeOffset? At);

/// <summary>A run that is not over, with what the records say about when it ends.</summary>
/// <param name="Run">The run.</param>
/// <param name="StartedAt">When it began.</param>
/// <param name="UsualEnd">When it ends by the usual hours of its method.</param>
public sealed record OpenRun(Run Run, DateTimeOffset StartedAt, DateTimeOffset UsualEnd);

/// <summary>The bench at one look.</summary>
/// <param name="Open">Runs that are not over, those with current first.</param>
/// <param name="Modules">Modules that may be tested, by identity.</param>
/// <param name="Queue">What is still to be done, by the rigs of a small workshop.</param>
public sealed record BenchView(IReadOnlyList<OpenRun> Open, IReadOnlyList<string> Modules, BenchQueue Queue)
{
    /// <summary>The first planned run whose module is in none now; null when every such module is busy.</summary>
    public QueuedRun? Next => Queue.Runs.FirstOrDefault(q => Open.All(o => o.Run.Module != q.Module));

    /// <summary>When everything is done: the queue, and no run now open ends later.</summary>
    public DateTimeOffset AllDoneAt => Open.Select(o => o.UsualEnd).Append(Queue.AllDoneAt).Max();

    /// <summary>Looks at the bench.</summary>
    public static BenchView Of(BenchProject project, DateTimeOffset now)
    {
        var hours = new StepHours();
        var open = project.Runs.Runs().Select(r => r.Value).Where(r => r.State is RunState.Running or RunState.Held or RunState.Interrupted)
            .Select(r => new OpenRun(r, r.Events[0].At, r.Events[0].At.AddHours(hours.Of(r.Method)))).OrderBy(r => r.Run.Method == RunMethod.Rest).ThenBy(r => r.Run.Module, StringComparer.Ordinal).ToList();
        var modules = project.Modules.All().Where(m => m.Value.Status != ModuleStatus.Rejected).Select(m => m.Value.Identity).ToList();
        var running = open.Select(r => (r.Run.Module, r.Run.Method)).ToHashSet();
        return new BenchView(open, modules, BenchQueue.Plan([.. project.Runs.Open().Where(o => !running.Contains(o))], BenchQueue.UsualRigs, hours, now));
    }

    /// <summary>A module's way over the bench.</summary>
    public static IReadOnlyList<BenchStep> Steps(BenchProject project, string module)
    {
        var running = project.Runs.Runs().Select(r => r.Value).Where(r => r.Module == module && r.State is RunState.Running or RunState.Held or RunState.Interrupted).Select(r => r.Method).ToHashSet();
        var (inspection, capacity, rest, pulse) = (project.Runs.InspectionOf(module), project.Runs.CapacityOf(module), project.Runs.RestOf(module), project.Runs.PulseOf(module));
        return
        [
            new(T("inspection"), inspection is not null, false, inspection?.Value.Outcome.Words ?? "", inspection?.Record.At),
            new(T("rest test"), rest is { Value.Outcome.Refused.Count: 0 }, running.Contains(RunMethod.Rest), rest is null ? "" : rest.Value.Outcome.Refused.Count == 0 ? T($"found {rest.Value.Outcome.SmallestLeakFoundMilliampere:0.0} mA and up") : T("no leak stated"), rest?.Record.At),
            new(T("capacity"), capacity?.Value.Outcome.IsFit ?? false, running.Contains(RunMethod.Capacity), capacity is null ? "" : capacity.Value.Outcome.IsFit ? $"{capacity.Value.Outcome.ModuleAh.Value:0.0} Ah" : T("not fit: repeat it"), capacity?.Record.At),
            new(T("pulse"), pulse?.Value.Outcome.Comparable ?? false, running.Contains(RunMethod.Pulse), pulse is null ? "" : pulse.Value.Outcome.Comparable ? $"{pulse.Value.Outcome.Groups.Max(g => g.TenSecondMilliohm):0.00} mOhm" : T("not comparable"), pulse?.Record.At),
        ];
    }

    /// <summary>Median of the siblings' smallest groups, Ah; null before the first is known.</summary>
    public static double? SiblingAh(BenchProject project, string module)
    {
        var known = project.Modules.All().Select(m => m.Value.Identity).Where(m => m != module).Select(project.Grades.CapacityOf).OfType<Planning.ModuleCapacity>().Select(c => c.LowestAh).ToArray();
        return known.Length == 0 ? null : Robust.Median(known);
    }
}
