using System.Globalization;
using System.Text;
using CellWatch.Core.Pack;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.SignalDatabase;

namespace CellWatch.Simulation.Boards;

/// <summary>
/// The signal database of the simulated CAN board, as DBC text. Modules count on the board from 1, cells in the module from its negative end:
/// <code>
/// Status          one     serial, board temperature, supply, bleed time-out, isolated, simulated
/// String          one     current (A, positive charging), string voltage, sequence
/// M01_CellsA ..   two a module of six: four cells each, 16 bits big-endian, 0.1 mV; raw FFFF: the lead is open
/// Temperatures01  one for two modules: 16 bits signed little-endian, 0.1 K
/// Bleeds          one: a mask a module, bit 0 is cell 1
/// </code>
/// Both byte orders are used, as on real buses.
/// </summary>
public static class BoardDatabase
{
    /// <summary>How it is named in messages.</summary>
    public const string FileName = "petrel-board.dbc";

    /// <summary>Name of the message with the board's own state.</summary>
    public const string Status = "Status";

    /// <summary>Name of the message with current and string voltage.</summary>
    public const string String = "String";

    /// <summary>Name of the message of bleed masks.</summary>
    public const string Bleeds = "Bleeds";

    /// <summary>How names of messages with temperatures begin.</summary>
    public const string Temperatures = "Temperatures";

    /// <summary>Which of its signals feed which channels.</summary>
    public static SignalMapOptions SignalMap { get; } = new()
    {
        Cells = "M{module:00}_C{cell:00}_V",
        Temperatures = "M{module:00}_T{sensor}_degC",
        BleedMask = "M{module:00}_Bleed",
        PackCurrent = "PackCurrent",
        StringVoltage = "StringVoltage",
        Identity = "Serial",
        Sequence = "Sequence",
        BoardTemperature = "BoardTemperature",
        Supply = "Supply",
        BleedTimeout = "BleedTimeout",
        Isolated = "Isolated",
        Simulated = "Simulated",
    };

    /// <summary>Raw value of a cell whose lead is open.</summary>
    public const ulong OpenCode = 0xFFFF;

    private const int PerMessage = 4;
    private const uint StatusId = 0x1F0, StringId = 0x1F1, BleedId = 0x1F2, FirstCellId = 0x200, FirstTemperatureId = 0x280;

    /// <summary>Writes the text for a board; at most 8 modules of at most 8 cells, so that one frame holds all masks.</summary>
    public static string Text(IReadOnlyList<PackModule> modules)
    {
        if (modules.Count > 8 || modules.Any(m => m.Topology.Series > 8)) throw new ArgumentException("The simulated CAN board takes at most 8 modules of at most 8 cells.");
        var text = new StringBuilder();
        text.Append("VERSION \"1\"\n\nNS_ :\n\nBS_:\n\nBU_: Board Host\n");
        Message(text, StatusId, Status, 8);
        Signal(text, "Serial", 0, 16, "1+", "1,0", "0|65535", "");
        Signal(text, "BoardTemperature", 16, 16, "1-", "0.1,0", "-40|125", "degC");
        Signal(text, "Supply", 32, 12, "1+", "0.01,0", "0|40", "V");
        Signal(text, "BleedTimeout", 48, 8, "1+", "1,0", "0|250", "s");
        Signal(text, "Isolated", 56, 2, "1+", "1,0", "0|3", "");
        Signal(text, "Simulated", 58, 1, "1+", "1,0", "0|1", "");
        Message(text, StringId, String, 8);
        Signal(text, "PackCurrent", 0, 32, "1-", "0.01,0", "-1000|1000", "A");
        Signal(text, "StringVoltage", 32, 16, "1+", "0.01,0", "0|600", "V");
        Signal(text, "Sequence", 48, 16, "1+", "1,0", "0|65535", "");
        AppendCells(text, modules);
        AppendTemperatures(text, modules);
        Message(text, BleedId, Bleeds, modules.Count);
        for (var m = 0; m < modules.Count; m++) Signal(text, Invariant($"M{m + 1:00}_Bleed"), 8 * m, 8, "1+", "1,0", "0|255", "");
        text.Append("\nCM_ \"Board of the simulated launch Petrel; all data simulated.\";\n");
        return text.ToString();
    }

    /// <summary>The database of a board, ready to use.</summary>
    public static CanDatabase Parse(IReadOnlyList<PackModule> modules) => CanDatabase.Parse(Text(modules), FileName);

    private static void AppendCells(StringBuilder text, IReadOnlyList<PackModule> modules)
    {
        var id = FirstCellId;
        for (var m = 0; m < modules.Count; m++)
            for (var first = 0; first < modules[m].Topology.Series; first += PerMessage)
            {
                var count = Math.Min(PerMessage, modules[m].Topology.Series - first);
                Message(text, id++, Invariant($"M{m + 1:00}_Cells{(char)('A' + first / PerMessage)}"), 2 * count);
                // Big-endian: the start bit is the most significant one, bit 7 of the signal's first byte.
                for (var i = 0; i < count; i++) Signal(text, Invariant($"M{m + 1:00}_C{first + i + 1:00}_V"), 16 * i + 7, 16, "0+", "0.0001,0", "0|6.5534", "V");
            }
    }

    private static void AppendTemperatures(StringBuilder text, IReadOnlyList<PackModule> modules)
    {
        var names = modules.SelectMany((module, m) => Enumerable.Range(1, module.TemperatureSensors).Select(t => Invariant($"M{m + 1:00}_T{t}_degC"))).ToArray();
        for (var first = 0; first < names.Length; first += PerMessage)
        {
            var count = Math.Min(PerMessage, names.Length - first);
            Message(text, FirstTemperatureId + (uint)(first / PerMessage), Invariant($"{Temperatures}{first / PerMessage + 1:00}"), 2 * count);
            for (var i = 0; i < count; i++) Signal(text, names[first + i], 16 * i, 16, "1-", "0.1,0", "-40|125", "degC");
        }
    }

    private static void Message(StringBuilder text, uint id, string name, int bytes) =>
        text.Append(CultureInfo.InvariantCulture, $"\nBO_ {id} {name}: {bytes} Board\n");

    private static void Signal(StringBuilder text, string name, int start, int bits, string order, string scale, string range, string unit) =>
        text.Append(CultureInfo.InvariantCulture, $" SG_ {name} : {start}|{bits}@{order} ({scale}) [{range}] \"{unit}\" Host\n");

    private static string Invariant(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
