using CellWatch.Core.Pack;

namespace CellWatch.Core.Live;

/// <summary>
/// A load that can be put across a module or a cell of a simulated pack. Not registered when real instruments are read. Safe to call from any thread.
/// </summary>
public interface ISimulatedLoad
{
    /// <summary>Puts a load across the terminals of a module, or takes every load off.</summary>
    /// <param name="module">The module whose terminals it is really on, whatever its harness says; null takes it off.</param>
    void LoadModule(ModuleId? module);

    /// <summary>Puts a load across the bus bars of one cell, or takes every load off.</summary>
    /// <param name="cell">The cell it is really on; null takes it off.</param>
    void LoadCell(CellId? cell);
}
