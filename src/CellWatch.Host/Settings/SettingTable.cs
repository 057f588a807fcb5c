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
    private static string Common => T("common practice, no source");
    private static string Own => T("own rule");
    private static string Yours => T("yours: no usual value");

    /// <summary>All rows in the order of the page.</summary>
    public static IReadOnlyList<SettingRow> Rows { get; } =
    [
        Choice("cellType", T("Cells and charge"), T("cell type"), T("What the cells are; its limits hold where none is written below."), Yours, ["", .. CellType.BuiltIn.Select(t => t.Name)]),
        Number("capacityAh", T("Cells and charge"), T("capacity of a cell group"), T("As labelled or measured; 0 while nobody knows it: then nothing is told in Ah."), Yours),
        Number("terminationA", T("Cells and charge"), T("charge ends at"), T("Current at which a charge is ended; 0 for a twentieth of the capacity."), Common),
        Text("handCutOff", T("Cells and charge"), T("hand cut-off"), T("As you would point at it. It stands in every stop sentence; try it before the first charge."), 80, Yours),
        Choice("currentSetBy", T("Cells and charge"), T("current is set by"), T("Words the advice: turn down, ask for, or only stop."), Own, [.. Enum.GetNames<CurrentSetBy>().Select(JsonNamingPolicy.CamelCase.ConvertName)]),
        Number("presenceMinutes", T("Cells and charge"), T("presence asked every"), T("After this time without I AM HERE a charge is no longer supervised."), Common),
        Choice("temperatureProfile", T("Cells and charge"), T("temperature cuts current"), T("ramp: none below 0 degC, all from 15 to 40, none from 45; jeita: the zones of that guideline."), T("ramp: own rule; jeita: guideline of 20 April 2007"), [.. ChargeTemperatureProfile.All.Select(p => p.Name)]),
        Number("chargerLimitA", T("Cells and charge"), T("charger and wiring carry"), T("Most current that may be asked for; 0 where nobody has said."), Yours),
        Number("bleedOhm", T("Cells and charge"), T("bleed resistor"), T("Tells how much charge an hour of bleeding takes out."), Common),
        Number("balanceAtPercent", T("Cells and charge"), T("cells kept in line at"), T("One charge level, and always the same: elsewhere cells of unlike capacity come apart."), Common),
        Text("packRevision", T("Names and scans"), T("revision of the pack"), T("Stands in the title block; count it up when a module or a lead changes."), 16, Own),
        Text("timeZone", T("Names and scans"), T("zone of the times shown"), T("IANA name such as Europe/Berlin; empty: the zone of this machine. The log keeps UTC."), 40, Own),
        Text("pedal.presenceKey", T("Names and scans"), T("pedal key for I am here"), T("Code name of the key a foot pedal sends, F13 or KeyB; a browser learns its own below."), 20, Own),
        Text("pedal.seenKey", T("Names and scans"), T("pedal key for seen"), T("As above, for the most pressing alarm nobody has seen."), 20, Own),
        Number("snapshotHz", T("Names and scans"), T("scans"), T("How often all cells are judged."), Own),
        Number("log.commitEveryS", T("Names and scans"), T("log is made safe every"), T("What a power cut may lose."), Own),
        YesNo("mqtt.enabled", T("Broker and pages"), T("send to a broker"), T("Whether anything is published."), Own),
        Text("mqtt.host", T("Broker and pages"), T("broker"), T("Host of another broker; empty: the one inside this program."), 120, Own),
        Number("mqtt.port", T("Broker and pages"), T("port of the broker"), T("1883 is registered for it."), T("IANA port list, from memory")),
        YesNo("mqtt.tls", T("Broker and pages"), T("encrypted"), T("Whether the link to the broker is encrypted."), Own),
        Number("web.port", T("Broker and pages"), T("port of these pages"), T("The address changes with it."), Own),
        .. LimitRange.All.Select(l => new SettingRow(T($"limits.{l.Name}"), T("Limits"), l.Label, l.Says, SettingKind.Number, l.Low, l.High, l.Unit, [], "")),
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

        return new SettingRow(name, group, label, says, SettingKind.Number, range!.Low, range.High, range.Unit == "scans a second" ? T("scans a second") : range.Unit, [], source);
    }
}
