using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using CellWatch.Core.Estimation;
using CellWatch.Core.Pack;
using CellWatch.Core.Wording;

namespace CellWatch.Host.Site;

/// <summary>What must hold beyond names and types: ranges, references, nothing twice.</summary>
internal static class SiteCheck
{
    public static Site? Run(SiteDocument document, string folder, Action<string, string> refuse)
    {
        if (document.Site.Length is < 1 or > 32 || !document.Site.All(c => char.IsAsciiLetterOrDigit(c) || c == '-'))
            refuse("$.site", $"'{document.Site}' is no site name: use 1 to 32 letters, digits or hyphens; it is also the root of the MQTT topics");
        WithinAttribute.Check(document, "$", refuse);
        try
        {
            SiteLanguage.Read(document.Language, folder);
        }
        catch (ArgumentException fault)
        {
            refuse("$.language", fault.Message);
        }

        var profiles = ChargeTemperatureProfile.All.Select(p => p.Name).ToList();
        if (!profiles.Contains(document.TemperatureProfile))
            refuse("$.temperatureProfile", $"'{document.TemperatureProfile}' is not one of {string.Join(", ", profiles)}{NearestName.Suggestion(document.TemperatureProfile, profiles)}");
        SiteInputs.Check(document, refuse);
        if (document.TimeZone.Length > 0 && !TimeZoneInfo.TryFindSystemTimeZoneById(document.TimeZone, out _))
            refuse("$.timeZone", $"'{document.TimeZone}' is no zone this machine knows: write its IANA name, for example Europe/Berlin{NearestName.Suggestion(document.TimeZone, TimeZoneInfo.GetSystemTimeZones().Select(z => z.Id))}");
        var cellType = CellTypeOf(document, refuse);
        var layout = LayoutOf(document, refuse);
        if (layout is null) return null;
        SiteFrontEnds.Check(document, layout, folder, refuse);
        return new Site(document, folder, layout, cellType);
    }

    private static PackLayout? LayoutOf(SiteDocument document, Action<string, string> refuse)
    {
        if (document.Modules.Count == 0)
        {
            refuse("$.modules", "no modules: list at least one, for example { \"id\": \"B01-B18\", \"topology\": \"6S2P\" }");
            return null;
        }

        var modules = new List<PackModule>();
        var seen = new Dictionary<ModuleId, int>();
        var whole = true;
        for (var i = 0; i < document.Modules.Count; i++)
        {
            var entry = document.Modules[i];
            var path = string.Create(CultureInfo.InvariantCulture, $"$.modules[{i}]");
            if (ModuleRange.Expand(entry.Id, out var why) is not { } ids)
            {
                refuse($"{path}.id", why);
                whole = false;
                continue;
            }

            if (!ModuleTopology.TryParse(entry.Topology, out var topology))
            {
                refuse($"{path}.topology", $"'{entry.Topology}' is no topology: write series and parallel count, for example 6S2P (1 to {ModuleTopology.MaxSeries} in series)");
                whole = false;
            }

            whole &= entry.Temperatures is >= 0 and <= PackModule.MaxTemperatureSensors;
            if (entry.Slot is not null && ids.Count > 1)
            {
                refuse($"{path}.slot", "a slot can be given for a single module only; in a range slots count up");
                whole = false;
            }

            foreach (var id in ids)
            {
                if (!seen.TryAdd(id, i))
                {
                    refuse($"{path}.id", $"module {id} stands in this list twice (first in entry {seen[id] + 1})");
                    whole = false;
                }

                modules.Add(new PackModule(id, topology, entry.Temperatures, entry.Slot ?? modules.Count + 1, entry.Box));
            }
        }

        if (!whole) return null;
        try
        {
            return new PackLayout(document.Site, modules, document.Auxiliaries);
        }
        catch (ArgumentException fault)
        {
            refuse(fault.Message.Contains("beside the pack", StringComparison.Ordinal) ? "$.auxiliaries" : "$.modules", fault.Message);
            return null;
        }
    }

    private static CellType? CellTypeOf(SiteDocument document, Action<string, string> refuse)
    {
        if (document.CellType.Length == 0)
        {
            if (document.Limits is not null) refuse("$.limits", "limits need a cell type: set cellType first");
            return null;
        }

        var names = CellType.BuiltIn.Select(t => t.Name);
        if (CellType.BuiltIn.FirstOrDefault(t => t.Name == document.CellType) is not { } cellType)
        {
            refuse("$.cellType", $"'{document.CellType}' is not one of {string.Join(", ", names)}{NearestName.Suggestion(document.CellType, names)}");
            return null;
        }

        return document.Limits is { } own ? WithLimits(cellType, own, refuse) : cellType;
    }

    private static CellType WithLimits(CellType cellType, JsonElement own, Action<string, string> refuse)
    {
        var limits = JsonSerializer.SerializeToNode(cellType.Limits, SiteFile.Json)!.AsObject();
        if (own.ValueKind != JsonValueKind.Object)
        {
            refuse("$.limits", "limits are written by name, for example { \"chargeTargetV\": 4.10 }");
            return cellType;
        }

        foreach (var limit in own.EnumerateObject())
        {
            if (!limits.ContainsKey(limit.Name))
                refuse($"$.limits.{limit.Name}", $"'{limit.Name}' is no limit{NearestName.Suggestion(limit.Name, limits.Select(l => l.Key))}");
            else if (limit.Value.ValueKind != JsonValueKind.Number)
                refuse($"$.limits.{limit.Name}", "a limit is a number");
            else if (LimitRange.All.FirstOrDefault(r => r.Name == limit.Name) is { } range && !(limit.Value.GetDouble() >= range.Low && limit.Value.GetDouble() <= range.High))
                refuse($"$.limits.{limit.Name}", string.Create(CultureInfo.InvariantCulture, $"{limit.Value.GetDouble()} is outside {range.InWords}"));
            else
                limits[limit.Name] = JsonNode.Parse(limit.Value.GetRawText());
        }

        var result = limits.Deserialize<CellLimits>(SiteFile.Json)!;
        Order("chargeTargetV", result.ChargeTargetV, "highWarnV", result.HighWarnV);
        Order("highWarnV", result.HighWarnV, "highStopV", result.HighStopV);
        Order("highStopV", result.HighStopV, "highAbsoluteV", result.HighAbsoluteV);
        Order("lowLoadStopV", result.LowLoadStopV, "lowLoadWarnV", result.LowLoadWarnV);
        Order("lowRestStopV", result.LowRestStopV, "lowRestWarnV", result.LowRestWarnV);
        Order("chargeColdStopDegC", result.ChargeColdStopDegC, "chargeColdWarnDegC", result.ChargeColdWarnDegC);
        Order("chargeHotWarnDegC", result.ChargeHotWarnDegC, "chargeHotStopDegC", result.ChargeHotStopDegC);
        return cellType with { Limits = result, Source = cellType.Source + "; changed by the site file" };

        void Order(string lower, double low, string upper, double high)
        {
            if (low > high || (low == high && lower != "chargeTargetV"))
                refuse($"$.limits.{lower}", string.Create(CultureInfo.InvariantCulture, $"{lower} {low} must be below {upper} {high}"));
        }
    }
}
