namespace CellWatch.Core.Bench;

/// <summary>A rig and what it can do.</summary>
/// <param name="Name">Its name.</param>
/// <param name="Methods">What it can do.</param>
/// <param name="ModulesAtOnce">Modules at the same time: 18 for a shelf of rest tests, 1 for a load.</param>
/// <param name="AttendedHoursPerDay">Hours a day someone is there; 24 for what runs alone.</param>
public sealed record Rig(string Name, IReadOnlyList<RunMethod> Methods, int ModulesAtOnce, double AttendedHoursPerDay);

/// <summary>Hours a step takes, charge, rest and preparation included.</summary>
public sealed record StepHours(double Rest = 240, double Capacity = 12, double Pulse = 3)
{
    /// <summary>Hours of a method.</summary>
    public double Of(RunMethod method) => method switch { RunMethod.Rest => Rest, RunMethod.Capacity => Capacity, _ => Pulse };
}

/// <summary>A planned run.</summary>
public sealed record QueuedRun(string Module, RunMethod Method, string Rig, DateTimeOffset From, DateTimeOffset To);

/// <summary>The queue: what runs when, when all is done, what to connect next.</summary>
/// <param name="Runs">In order of their start.</param>
/// <param name="AllDoneAt">End of the last.</param>
/// <param name="Next">The first to be connected; null when nothing is left.</param>
/// <param name="Unserved">Methods no rig can do, in words.</param>
public sealed record BenchQueue(IReadOnlyList<QueuedRun> Runs, DateTimeOffset AllDoneAt, QueuedRun? Next, IReadOnlyList<string> Unserved)
{
    /// <summary>Rigs of a small workshop: a shelf for every rest test at once, and one load, ten hours a day with someone there (common practice, no source).</summary>
    public static IReadOnlyList<Rig> UsualRigs { get; } = [new(T("shelf"), [RunMethod.Rest], 18, 24), new(T("load"), [RunMethod.Capacity, RunMethod.Pulse], 1, 10)];

    /// <summary>
    /// Plans what is still to be done: each method at the rig that is free first; a module is at one rig at a time. Capacity before rest before
    /// pulse, because a rest at a known level follows a charge (own order).
    /// </summary>
    public static BenchQueue Plan(IReadOnlyList<(string Module, RunMethod Method)> open, IReadOnlyList<Rig> rigs, StepHours hours, DateTimeOffset now)
    {
        var places = rigs.SelectMany(r => Enumerable.Repeat(r, r.ModulesAtOnce)).Select(r => (Rig: r, Free: now)).ToArray();
        var moduleFree = open.Select(o => o.Module).Distinct(StringComparer.Ordinal).ToDictionary(m => m, _ => now, StringComparer.Ordinal);
        var runs = new List<QueuedRun>();
        var unserved = open.Select(o => o.Method).Distinct().Where(m => !rigs.Any(r => r.Methods.Contains(m))).ToList();
        var waiting = open.Where(o => !unserved.Contains(o.Method)).OrderBy(o => Order(o.Method)).ThenBy(o => o.Module, StringComparer.Ordinal).ToList();
        while (waiting.Count > 0)
        {
            // The run that can start first is taken; ties go by order, so a shelf of rest tests fills while the load is busy.
            var best = (Start: DateTimeOffset.MaxValue, Place: -1, Index: -1);
            for (var i = 0; i < waiting.Count; i++)
                for (var p = 0; p < places.Length; p++)
                {
                    if (!places[p].Rig.Methods.Contains(waiting[i].Method)) continue;
                    var start = places[p].Free > moduleFree[waiting[i].Module] ? places[p].Free : moduleFree[waiting[i].Module];
                    if (start < best.Start) best = (start, p, i);
                }

            var (module, method) = waiting[best.Index];
            var rig = places[best.Place].Rig;
            var end = best.Start.AddHours(hours.Of(method) * 24 / rig.AttendedHoursPerDay);
            places[best.Place].Free = moduleFree[module] = end;
            runs.Add(new QueuedRun(module, method, rig.Name, best.Start, end));
            waiting.RemoveAt(best.Index);
        }

        var ordered = runs.OrderBy(r => r.From).ThenBy(r => Order(r.Method)).ToList();
        return new BenchQueue(ordered, runs.Count == 0 ? now : runs.Max(r => r.To), ordered.FirstOrDefault(), [.. unserved.Select(m => T($"No rig can do a {m.ToString().ToLowerInvariant()} run: add one."))]);
    }

    private static int Order(RunMethod method) => method switch { RunMethod.Capacity => 0, RunMethod.Rest => 1, _ => 2 };
}
