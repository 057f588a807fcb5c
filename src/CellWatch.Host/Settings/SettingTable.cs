using System.Collections.Immutable;
using System.Reflection;
using System.Text.Json;
using CellWatch.Core.Engine;
using CellWatch.Core.Estimation;
using CellWatch.Core.Pack;
using CellWatch.Core.Settings;
using CellWatch.Host.Site;

namespace CellWatch.Host.Settings;

/// <summary>One row of the table: a setting without its values.</summary>
/// <param name="Name">Name with its part: <c>log.commitEveryS</c>.</param>
/// <param name="Group">Group on the page.</param>
/// <param name="Label">Name in words.</param>
/// <param name="Says">What it does.</param>
/// <param name="Kind">How it is typed.</param>
/// <param name="Low">Least, or fewest characters.</param>
/// <param name="High">Most, or most characters.</param>
/// <param name="Unit">Unit.</param>
/// <param name="Choices">Words of a choice.</param>
/// <param name="Source">Where the usual value comes from; empty for the cell type's own source.</param>
public sealed record SettingRow(
    string Name, string Group, string Label, string Says, SettingKind Kind, double Low, double High, string Unit, ImmutableArray<string> Choices, string Source)
{
    /// <summary>Whether it is one of the limits, whose usual value depends on the cell type.</summary>
    public bool IsLimit => Name.StartsWith("limits.", StringComparison.Ordinal);
}

/// <summary>
/// What of the site file may be changed from a page. Left to an editor: name of the site (topics and log carry it), modules, instruments,
/// passwords. Ranges are those the check of the site file uses.
/// </summary>
public static class SettingTable
{
    private const string Common = "common practice, no source";
    private const string Own = "own rule";
    private const string Yours = "yours: no usual value";

    /// <summary>All rows in the order of the page.</summary>
    public static IReadOnlyList<SettingRow> Rows { get; } =
    [
        Choice("cellType", "Cells and charge", "cell type", "What the cells are; its limits hold where none is written below.", Yours, ["", .. CellType.BuiltIn.Select(t => t.Name)]),
        Number("capacityAh", "Cells and charge", "capacity of a cell group", "As labelled or measured; 0 while nobody knows it: then nothing is told in Ah.", Yours),
        Number("terminationA", "Cells and charge", "charge ends at", "Current at which a charge is ended; 0 for a twentieth of the capacity.", Common),
        Text("handCutOff", "Cells and charge", "hand cut-off", "As you would point at it. It stands in every stop sentence; try it before the first charge.", 80, Yours),
        Choice("currentSetBy", "Cells and charge", "current is set by", "Words the advice: turn down, ask for, or only stop.", Own, [.. Enum.GetNames<CurrentSetBy>().Select(JsonNamingPolicy.CamelCase.ConvertName)]),
        Number("presenceMinutes", "Cells and charge", "presence asked every", "After this time without I AM HERE a charge is no longer supervised.", Common),
        Choice("temperatureProfile", "Cells and charge", "temperature cuts current", "ramp: none below 0 degC, all from 15 to 40, none from 45; jeita: the zones of that guideline.", "ramp: own rule; jeita: guideline of 20 April 2007", [.. ChargeTemperatureProfile.All.Select(p => p.Name)]),
        Number("chargerLimitA", "Cells and charge", "charger and wiring carry", "Most current that may be asked for; 0 where nobody has said.", Yours),
        Number("bleedOhm", "Cells and charge", "bleed resistor", "Tells how much charge an hour of bleeding takes out.", Common),
        Number("balanceAtPercent", "Cells and charge", "cells kept in line at", "One charge level, and always the same: elsewhere cells of unlike capacity come apart.", Common),
        Text("packRevision", "Names and scans", "revision of the pack", "Stands in the title block; count it up when a module or a lead changes.", 16, Own),
        Number("snapshotHz", "Names and scans", "scans", "How often all cells are judged.", Own),
        Number("log.commitEveryS", "Names and scans", "log is made safe every", "What a power cut may lose.", Own),
        YesNo("mqtt.enabled", "Broker and pages", "send to a broker", "Whether anything is published.", Own),
        Text("mqtt.host", "Broker and pages", "broker", "Host of another broker; empty: the one inside this program.", 120, Own),
        Number("mqtt.port", "Broker and pages", "port of the broker", "1883 is registered for it.", "IANA port list, from memory"),
        YesNo("mqtt.tls", "Broker and pages", "encrypted", "Whether the link to the broker is encrypted.", Own),
        Number("web.port", "Broker and pages", "port of these pages", "The address changes with it.", Own),
        .. LimitRange.All.Select(l => new SettingRow($"limits.{l.Name}", "Limits", l.Label, l.Says, SettingKind.Number, l.Low, l.High, l.Unit, [], "")),
    ];

    private static SettingRow Text(string name, string group, string label, string says, int most, string source) => new(name, group, label, says, SettingKind.Text, 0, most, "", [], source);

    private static SettingRow Choice(string name, string group, string label, string says, string source, ImmutableArray<string> choices) => new(name, group, label, says, SettingKind.Choice, 0, 0, "", choices, source);

    private static SettingRow YesNo(string name, string group, string label, string says, string source) => new(name, group, label, says, SettingKind.YesNo, 0, 0, "", [], source);

    // The range stands once, at the property that is read from the file.
    private static SettingRow Number(string name, string group, string label, string says, string source)
    {
        var type = typeof(SiteDocument);
        WithinAttribute? range = null;
        foreach (var part in name.Split('.'))
        {
            var property = type.GetProperties().Single(p => JsonNamingPolicy.CamelCase.ConvertName(p.Name) == part);
            (type, range) = (property.PropertyType, property.GetCustomAttribute<WithinAttribute>());
        }

        return new SettingRow(name, group, label, says, SettingKind.Number, range!.Low, range.High, range.Unit, [], source);
    }
}
