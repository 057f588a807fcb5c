using System.Globalization;
using System.Text;

namespace CellWatch.Host.Site;

/// <summary>Says in a few lines what a site describes, so that a person can compare it with what stands on the bench.</summary>
public static class SiteSummary
{
    /// <summary>Most volts a person may touch, DC; above it a pack can kill (ISO 6469-4 extract).</summary>
    public const double TouchLimitV = 60;

    /// <summary>The lines.</summary>
    public static string Of(Site site)
    {
        var text = new StringBuilder();
        var layout = site.Layout;
        var c = CultureInfo.InvariantCulture;
        text.AppendLine(c, $"{layout.SiteName}: {layout.Modules.Length} modules, {layout.CellCount} measured cells, {layout.TemperatureCount} temperature sensors, {layout.Auxiliaries.Length} channels beside the pack.");
        text.AppendLine(c, $"Modules from the pack's negative end: {string.Join(", ", layout.Modules.Select(m => m.Id))}.");
        if (site.CellType is { } type)
        {
            var fullV = layout.CellCount * type.Limits.HighStopV;
            text.AppendLine(c, $"Cell type {type.Name}: charge target {type.Limits.ChargeTargetV:F3} V, stop at {type.Limits.HighStopV:F3} V. Limits: {type.Source}.");
            text.AppendLine(c, $"Full, the string has {fullV:F1} V{(fullV > TouchLimitV ? ": more than 60 V DC can kill." : ".")}");
        }
        else
        {
            text.AppendLine("No cell type is chosen: there are no limits, and no charge can be called supervised.");
        }

        foreach (var frontEnd in site.Document.FrontEnds)
            text.AppendLine(c, $"Instrument {SiteFrontEnds.Describe(frontEnd)}");
        foreach (var input in site.Document.Inputs)
            text.AppendLine(c, $"Switch {input.Name}: {SiteInputs.LineOf(input).Place}, {(input.Purpose == Core.Inputs.InputPurpose.Presence ? "I am here" : "seen")}. No safety device.");
        if (site.Document.FrontEnds.Count == 0) text.AppendLine("No instrument is named: nothing will be measured.");
        text.Append(c, $"Log: {site.LogFile}. Pages: http://localhost:{site.Document.Web.Port}. The site file is in order.");
        return text.ToString();
    }
}
