using CellWatch.Core.Bench.Project;

namespace CellWatch.Dashboard.BenchPages;

/// <summary>What is known of a module before there is a plan.</summary>
/// <param name="Identity">Its identity.</param>
/// <param name="MassKg">Mass, kg; null before it is weighed.</param>
/// <param name="Grade">Its grade; empty before.</param>
/// <param name="LowestAh">Its smallest group, Ah; null before its capacity is measured.</param>
public sealed record PlanModule(string Identity, double? MassKg, string Grade, double? LowestAh)
{
    /// <summary>All modules of a project, in the order of their identities.</summary>
    public static IReadOnlyList<PlanModule> Of(BenchProject project)
    {
        var grades = (project.Grades.Latest()?.Value.Cards ?? []).ToDictionary(c => c.Identity, c => c.Grade.ToString(), StringComparer.Ordinal);
        return
        [
            .. project.Modules.All().Select(m => m.Value).OrderBy(m => m.Identity, StringComparer.Ordinal)
                .Select(m => new PlanModule(m.Identity, m.MassKg, grades.GetValueOrDefault(m.Identity, ""), project.Grades.CapacityOf(m.Identity)?.LowestAh)),
        ];
    }
}
