using System.Collections.Immutable;

namespace CellWatch.Core.Pack;

/// <summary>
/// What is wired to what: the modules of one string in electrical order from the pack's negative end, and the channels beside it.
/// Cells are numbered through the string from 0 (<em>cell index</em>); a person reads <see cref="CellId"/>. Immutable.
/// </summary>
public sealed class PackLayout
{
    private readonly int[] _firstCell;
    private readonly int[] _firstTemperature;
    private readonly int[] _moduleOfCell;
    private readonly int[] _moduleOfTemperature;

    /// <exception cref="ArgumentException">No module, a module twice, a slot twice, or a count out of range; the message names it.</exception>
    public PackLayout(string siteName, IEnumerable<PackModule> modules, IEnumerable<AuxiliaryChannel>? auxiliaries = null)
    {
        SiteName = siteName;
        Modules = [.. modules];
        Auxiliaries = [.. auxiliaries ?? []];
        Validate();

        _firstCell = new int[Modules.Length + 1];
        _firstTemperature = new int[Modules.Length + 1];
        for (var m = 0; m < Modules.Length; m++)
        {
            _firstCell[m + 1] = _firstCell[m] + Modules[m].Topology.Series;
            _firstTemperature[m + 1] = _firstTemperature[m] + Modules[m].TemperatureSensors;
        }

        _moduleOfCell = Owners(_firstCell);
        _moduleOfTemperature = Owners(_firstTemperature);
    }

    /// <summary>The site's name; also the root of its MQTT topics.</summary>
    public string SiteName { get; }

    /// <summary>Modules in electrical order from the pack's negative end.</summary>
    public ImmutableArray<PackModule> Modules { get; }

    /// <summary>Channels beside the pack.</summary>
    public ImmutableArray<AuxiliaryChannel> Auxiliaries { get; }

    /// <summary>Measured cells in the whole string.</summary>
    public int CellCount => _firstCell[^1];

    /// <summary>Temperature sensors in the whole string.</summary>
    public int TemperatureCount => _firstTemperature[^1];

    /// <summary>Cell index of a module's first (most negative) cell; with <c>Modules.Length</c> the count of all cells.</summary>
    public int FirstCell(int module) => _firstCell[module];

    /// <summary>Temperature index of a module's first sensor.</summary>
    public int FirstTemperature(int module) => _firstTemperature[module];

    /// <summary>Index into <see cref="Modules"/> of the module that holds a cell.</summary>
    public int ModuleOfCell(int cell) => _moduleOfCell[cell];

    /// <summary>Index into <see cref="Modules"/> of the module that carries a temperature sensor.</summary>
    public int ModuleOfTemperature(int temperature) => _moduleOfTemperature[temperature];

    /// <summary>Number of a temperature sensor within its module, from 1.</summary>
    public int SensorNumber(int temperature) => temperature - _firstTemperature[_moduleOfTemperature[temperature]] + 1;

    /// <summary>A cell's name as a person reads it.</summary>
    public CellId CellAt(int cell)
    {
        var module = _moduleOfCell[cell];
        return new CellId(Modules[module].Id, cell - _firstCell[module] + 1);
    }

    /// <summary>A cell's index from its name; false when the pack has no such cell.</summary>
    public bool TryFindCell(CellId id, out int cell)
    {
        cell = -1;
        if (!TryFindModule(id.Module, out var module)) return false;
        if (id.Number < 1 || id.Number > Modules[module].Topology.Series) return false;
        cell = _firstCell[module] + id.Number - 1;
        return true;
    }

    /// <summary>A module's index from its identity; false when it is not in this pack.</summary>
    public bool TryFindModule(ModuleId id, out int module)
    {
        for (module = 0; module < Modules.Length; module++)
            if (Modules[module].Id == id) return true;
        module = -1;
        return false;
    }

    private static int[] Owners(int[] first)
    {
        var owners = new int[first[^1]];
        for (var m = 0; m < first.Length - 1; m++)
            owners.AsSpan(first[m], first[m + 1] - first[m]).Fill(m);
        return owners;
    }

    private void Validate()
    {
        if (Modules.IsEmpty) throw new ArgumentException("A pack needs at least one module.");
        var ids = new HashSet<ModuleId>();
        var slots = new HashSet<int>();
        foreach (var module in Modules)
        {
            if (!ids.Add(module.Id)) throw new ArgumentException($"Module {module.Id} is named twice.");
            if (!slots.Add(module.Slot)) throw new ArgumentException($"Slot {module.Slot} is given to two modules; the second is {module.Id}.");
            if (module.TemperatureSensors is < 0 or > PackModule.MaxTemperatureSensors)
                throw new ArgumentException($"Module {module.Id} has {module.TemperatureSensors} temperature sensors; allowed are 0 to {PackModule.MaxTemperatureSensors}.");
            if (module.Topology.Series is < 1 or > ModuleTopology.MaxSeries || module.Topology.Parallel is < 1 or > ModuleTopology.MaxParallel)
                throw new ArgumentException($"Module {module.Id} is {module.Topology}; allowed are 1 to {ModuleTopology.MaxSeries} in series and 1 to {ModuleTopology.MaxParallel} in parallel.");
        }

        var names = new HashSet<string>(StringComparer.OrdinalIgnoreCase);
        foreach (var auxiliary in Auxiliaries)
            if (!names.Add(auxiliary.Name)) throw new ArgumentException($"The channel '{auxiliary.Name}' beside the pack is named twice.");
    }
}
