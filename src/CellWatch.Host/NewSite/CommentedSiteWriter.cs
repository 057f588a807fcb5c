using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using CellWatch.Host.Site;

namespace CellWatch.Host.NewSite;

/// <summary>Writes a site document as JSON with a comment above each part, leaving out what is as usual.</summary>
public static class CommentedSiteWriter
{
    private static readonly JsonSerializerOptions Plain = new(SiteFile.Json) { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    private static readonly Dictionary<string, string> Comments = new(StringComparer.Ordinal)
    {
        ["site"] = "Name of the site; also the root of the MQTT topics.",
        ["packRevision"] = "Revision of the pack's wiring, printed in the title block. Count it up when a module or a lead changes.",
        ["cellType"] = "Cell type: nmc-4.20 or lfp-3.65. Empty: no limits, and no charge can be called supervised.",
        ["limits"] = "Limits that differ from the cell type's. The cell maker's data sheet overrides every one of them.",
        ["capacityAh"] = "Capacity of one cell group, Ah; 0 while nobody knows it: then nothing is told in Ah.",
        ["handCutOff"] = "The hand cut-off, as you would point at it. It is read out in every stop sentence. Try it before the first charge.",
        ["currentSetBy"] = "Who sets the charge current: person, chargeController or nobody. It words the advice.",
        ["temperatureProfile"] = "How temperature cuts the charge current back: ramp or jeita.",
        ["chargerLimitA"] = "Most current the charger and the wiring may carry, A.",
        ["bleedOhm"] = "Resistor of a bleed switch, ohm.",
        ["balanceAtPercent"] = "Charge level at which the cells are kept in line: one, and always the same.",
        ["modules"] = "Modules in electrical order from the pack's negative end. A range stands for modules alike; slots count up.",
        ["auxiliaries"] = "Channels beside the pack: coolant loops, 12 V supply, contactor and service-plug inputs.",
        ["frontEnds"] = "The boards that measure. 'identity' makes sure that data are taken from the right one after re-plugging.",
        ["snapshotHz"] = "Scans a second, 0.5 to 10.",
        ["log"] = "The cell log. 'commitEveryS' is what a power cut may lose; a card bears about 28 MB an hour at 1 s, 6 MB at 10 s, 2 MB at 60 s.",
        ["mqtt"] = "MQTT: without 'host' a broker inside this service, on this machine only. A password stands in an environment variable.",
        ["web"] = "The pages, on this machine only.",
    };

    /// <summary>The text.</summary>
    public static string Write(SiteDocument document)
    {
        var usual = JsonSerializer.SerializeToNode(new SiteDocument(), Plain)!.AsObject();
        var tree = JsonSerializer.SerializeToNode(document, Plain)!.AsObject();
        string[] always = ["$schema", "site", "cellType", "capacityAh", "handCutOff", "currentSetBy", "modules", "frontEnds", "snapshotHz"];
        var text = new StringBuilder("{\n");
        var first = true;
        foreach (var (name, value) in tree)
        {
            var same = usual.TryGetPropertyValue(name, out var usualValue) && JsonNode.DeepEquals(value, usualValue);
            if (value is null || (same && !always.Contains(name))) continue;
            if (!first) text.Append(",\n");
            first = false;
            if (Comments.TryGetValue(name, out var comment)) text.Append("  // ").Append(comment).Append('\n');
            var written = (name == "frontEnds" ? Lean(value.AsArray()) : value).ToJsonString(Plain).Replace("\n", "\n  ", StringComparison.Ordinal);
            text.Append("  \"").Append(name).Append("\": ").Append(written);
        }

        return text.Append("\n}\n").ToString();
    }

    private static JsonArray Lean(JsonArray frontEnds)
    {
        var usual = JsonSerializer.SerializeToNode(new CellWatch.FrontEnds.Options.FrontEndOptions(), Plain)!.AsObject();
        var lean = new JsonArray();
        foreach (var frontEnd in frontEnds) lean.Add(Lean(frontEnd!.AsObject(), usual, ["name", "wire", "port", "modules", "isolated"]));
        return lean;
    }

    private static JsonObject Lean(JsonObject value, JsonObject usual, string[] always)
    {
        var lean = new JsonObject();
        foreach (var (name, member) in value)
        {
            usual.TryGetPropertyValue(name, out var usualMember);
            if (!always.Contains(name) && JsonNode.DeepEquals(member, usualMember)) continue;
            lean[name] = member is JsonObject inner && usualMember is JsonObject usualInner ? Lean(inner, usualInner, []) : member?.DeepClone();
        }

        return lean;
    }
}
