using CellWatch.Core.FrontEnds;
using CellWatch.Core.Pack;
using CellWatch.FrontEnds.Options;
using CellWatch.Simulation.Stories;

namespace CellWatch.Simulation.Boards;

/// <summary>How a simulated board is wired, in the words of a site file.</summary>
public static class BoardWiring
{
    /// <summary>Options of the front end that reads a board; writes the board's signal database into a folder where it has one.</summary>
    /// <param name="plan">The board.</param>
    /// <param name="layout">The pack.</param>
    /// <param name="folder">An existing folder.</param>
    /// <param name="port">Name of the port.</param>
    public static FrontEndOptions WriteOptions(BoardPlan plan, PackLayout layout, string folder, string port)
    {
        PackModule[] modules = [.. layout.Modules.AsSpan(plan.FirstModule, plan.Modules)];
        var options = new FrontEndOptions
        {
            Name = plan.Name,
            Wire = plan.Wire == BoardWire.SerialCan ? WireKind.SerialCan : WireKind.TextLines,
            Port = port,
            Identity = plan.Serial,
            Modules = [.. modules.Select(m => m.Id.Text)],
            MeasuresPack = plan.MeasuresString,
            Auxiliaries = plan.CarriesAuxiliaries ? [.. layout.Auxiliaries.Select(a => a.Name)] : [],
            Isolated = Isolation.Yes,
        };
        if (plan.Wire != BoardWire.SerialCan) return options;

        var database = Path.Combine(folder, BoardDatabase.FileName);
        File.WriteAllText(database, BoardDatabase.Text(modules));
        return options with { Database = database, Signals = BoardDatabase.SignalMap };
    }
}
