using System.Globalization;
using System.Text.RegularExpressions;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Exchange;

/// <summary>
/// What the columns of a table are, by their headings: the labels and machine names of the Battery Data Format (1.3.0), or names with the
/// unit at the end (<c>cell3_V</c>, <c>current_A</c>, <c>temp1_degC</c>). Whatever is not recognised is kept as a channel beside the pack, so
/// nothing is lost; the time column is kept twice, as the clock and as it came.
/// </summary>
internal sealed partial class TableColumns
{
    private static readonly string[] Times = ["time_s", "time_s_nominal", "Test Time / s", "test_time_second", "elapsed_s", "elapsed / s"];
    private static readonly string[] Walls = ["Unix Time / s", "unix_time_second"];
    private static readonly string[] Currents = ["current_A", "Current / A", "current_ampere"];
    private static readonly string[] Voltages = ["voltage_V", "Voltage / V", "voltage_volt"];

    /// <summary>Channel of each column; -1 for a column that is a clock only.</summary>
    public int[] Channel { get; }

    /// <summary>Column of elapsed time; -1 where there is none.</summary>
    public int Time { get; }

    /// <summary>Column of wall time; -1 where there is none.</summary>
    public int Wall { get; }

    public string[] Headings { get; }

    /// <summary>The channels they become.</summary>
    public ChannelMap Map { get; }

    public TableColumns(IReadOnlyList<string> headings, TableImportOptions options)
    {
        Headings = [.. headings];
        Time = Array.FindIndex(Headings, Times.Contains);
        Wall = Array.FindIndex(Headings, Walls.Contains);
        var cells = Numbered(CellName());
        if (cells.Count == 0 && Array.FindIndex(Headings, Voltages.Contains) is >= 0 and var voltage) cells[options.Cell] = voltage;
        var temperatures = Enumerable.Range(0, Headings.Length).Where(c => TemperatureName().IsMatch(Headings[c])).Take(PackModule.MaxTemperatureSensors).ToArray();
        var current = Array.FindIndex(Headings, Currents.Contains);
        var stringVoltage = Array.IndexOf(Headings, "string_voltage_V");
        var others = Enumerable.Range(0, Headings.Length)
            .Where(c => !cells.ContainsValue(c) && !temperatures.Contains(c) && c != current && c != stringVoltage && c != Wall)
            .ToArray();

        var series = Math.Clamp(cells.Count == 0 ? 1 : cells.Keys.Max(), 1, ModuleTopology.MaxSeries);
        var names = Unique(others.Select(c => Headings[c]));
        Map = new ChannelMap(new PackLayout(
            options.Site,
            [new PackModule(options.Module, new ModuleTopology(series, 1), temperatures.Length, 1)],
            others.Select((c, i) => new AuxiliaryChannel(names[i], AuxiliaryKind.Other, UnitOf(Headings[c])))));

        Channel = new int[Headings.Length];
        Channel.AsSpan().Fill(-1);
        foreach (var (number, column) in cells)
            if (number <= series) Channel[column] = number - 1;
        for (var t = 0; t < temperatures.Length; t++) Channel[temperatures[t]] = Map.FirstTemperature + t;
        if (current >= 0) Channel[current] = Map.PackCurrent;
        if (stringVoltage >= 0) Channel[stringVoltage] = Map.StringVoltage;
        for (var i = 0; i < others.Length; i++) Channel[others[i]] = Map.FirstAuxiliary + i;
    }

    private Dictionary<int, int> Numbered(Regex name)
    {
        var found = new Dictionary<int, int>();
        for (var c = 0; c < Headings.Length; c++)
            if (name.Match(Headings[c]) is { Success: true } m) found.TryAdd(int.Parse(m.Groups[1].ValueSpan, NumberStyles.None, CultureInfo.InvariantCulture), c);
        return found;
    }

    private static string[] Unique(IEnumerable<string> names)
    {
        var used = new HashSet<string>(StringComparer.OrdinalIgnoreCase);
        return [.. names.Select(name =>
        {
            var unique = name;
            for (var n = 2; !used.Add(unique); n++) unique = string.Create(CultureInfo.InvariantCulture, $"{name} ({n})");
            return unique;
        })];
    }

    private static string UnitOf(string heading)
    {
        var slash = heading.LastIndexOf(" / ", StringComparison.Ordinal);
        if (slash >= 0) return heading[(slash + 3)..] is { } unit and not "1" ? unit : "";
        var last = heading[(heading.LastIndexOf('_') + 1)..];
        return last is "V" or "A" or "Ah" or "Wh" or "s" or "degC" ? last : last == "percent" ? "%" : "";
    }

    [GeneratedRegex("^cell(?<n>[0-9]{1,2})_V$", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex CellName();

    [GeneratedRegex("^((temp|tc).*_degC|(Surface Temperature|Temperature T[1-5]) / degC|surface_temperature_celsius|temperature_t[1-5]_celsius)$", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex TemperatureName();
}
