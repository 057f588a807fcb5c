using CellWatch.Core.Pack;

namespace CellWatch.Dashboard.Rule;

/// <summary>One module's column on the rule.</summary>
/// <param name="Id">The module's identity as written under it.</param>
/// <param name="Box">Its box in words; empty where there is only one.</param>
/// <param name="Slot">Its slot.</param>
/// <param name="Module">Index into the layout's modules.</param>
/// <param name="First">Channel of its first mark.</param>
/// <param name="Count">Marks in it.</param>
public sealed record RuleColumn(string Id, string Box, int Slot, int Module, int First, int Count);

/// <summary>The columns of a rule in physical order (by slot), which need not be the electrical one.</summary>
public static class RuleColumns
{
    /// <summary>Columns of cells.</summary>
    public static RuleColumn[] OfCells(PackLayout layout) => Order(layout, layout.FirstCell, m => m.Topology.Series);

    /// <summary>Columns of temperature sensors.</summary>
    public static RuleColumn[] OfTemperatures(PackLayout layout) => Order(layout, layout.FirstTemperature, m => m.TemperatureSensors);

    private static RuleColumn[] Order(PackLayout layout, Func<int, int> first, Func<PackModule, int> count) =>
        [.. Enumerable.Range(0, layout.Modules.Length)
            .OrderBy(m => layout.Modules[m].Slot)
            .Select(m => new RuleColumn(layout.Modules[m].Id.Text, layout.Modules[m].Box, layout.Modules[m].Slot, m, first(m), count(layout.Modules[m])))];
}
