using System.Globalization;
using System.Net;
using System.Text;

namespace CellWatch.Host.Reports;

/// <summary>
/// Writes a report as one print-ready page without any outside file: A4, page foot with the statement on every page, SIMULATED across every page
/// when any input was.
/// </summary>
public static class HtmlReport
{
    /// <summary>A field up to this length, a date or a figure with unit, is never broken over two lines.</summary>
    internal const int LongestUnbroken = 14;

    private const string Style = """
        @page { size: A4; margin: 16mm 12mm 20mm 20mm; }
        html { font: 10.5pt/1.35 system-ui, "Segoe UI", "DejaVu Sans", sans-serif; color: #111; background: #fff; font-variant-numeric: tabular-nums; }
        body { margin: 0 auto; max-width: 180mm; padding: 8mm 0 16mm; }
        header { border-bottom: 1.2pt solid #111; padding-bottom: 3mm; margin-bottom: 4mm; }
        h1 { font-size: 17pt; margin: 0 0 1mm; font-weight: 650; }
        h2 { font-size: 11.5pt; margin: 5mm 0 1.5mm; font-weight: 650; break-after: avoid; }
        dl { display: grid; grid-template-columns: max-content 1fr max-content 1fr; gap: .5mm 4mm; margin: 2mm 0 0; font-size: 9.5pt; }
        dt { color: #555; } dd { margin: 0; }
        p { margin: 0 0 1.5mm; max-width: 165mm; } p.result { font-size: 14pt; }
        table { border-collapse: collapse; width: 100%; font-size: 10pt; line-height: 1.2; margin: 1mm 0 3mm; }
        th { text-align: left; border-bottom: .8pt solid #111; padding: 1mm 2mm 1mm 0; vertical-align: bottom; font-weight: 600; }
        td { border-bottom: .4pt solid #bbb; padding: .6mm 2mm .6mm 0; vertical-align: top; overflow-wrap: break-word; }
        td.n { white-space: nowrap; } th.f, td.f { text-align: right; }
        thead { display: table-header-group; } tr, svg { break-inside: avoid; }
        svg { display: block; width: 100%; height: auto; max-height: 195mm; margin: 1mm 0 3mm; }
        section.page { break-before: page; }
        .pictures { display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 4mm; margin: 1mm 0 3mm; }
        figure { margin: 0; break-inside: avoid; font-size: 9.5pt; } figure img { display: block; max-width: 100%; max-height: 80mm; } figcaption .d { color: #555; font-size: 8.5pt; display: block; overflow-wrap: anywhere; }
        footer { border-top: .6pt solid #111; padding-top: 1mm; font-size: 9pt; color: #333; display: flex; justify-content: space-between; gap: 4mm; }
        .simulated { position: fixed; inset: 0; display: flex; align-items: center; justify-content: center; font-size: 74pt; font-weight: 700; letter-spacing: .08em;
          color: rgba(0,0,0,.07); transform: rotate(-32deg); pointer-events: none; z-index: 1; }
        .banner { border: 1.2pt solid #111; padding: 1.2mm 3mm; font-weight: 700; margin-bottom: 3mm; }
        @media print { body { padding: 0; max-width: none; } footer { display: none; } }
        @media (max-width: 700px) { body { padding: 4mm; } dl { grid-template-columns: max-content 1fr; } table { display: block; overflow-x: auto; } .pictures { grid-template-columns: minmax(0, 1fr); } }
        """;

    /// <summary>The whole page.</summary>
    public static string Write(ReportDocument report)
    {
        report = report.Set(Core.Wording.Typeset.Narrow);
        var html = new StringBuilder();
        html.Append("<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\"><link rel=\"icon\" href=\"data:,\"><title>")
            .Append(E($"{report.Title} {report.About} {report.Site}")).Append("</title><style>").Append(Style).Append(PageFoot(report)).Append("</style></head><body>\n");
        if (report.Simulated) html.Append("<div class=\"simulated\" aria-hidden=\"true\">").Append(ReportDocument.SimulatedWord).Append("</div><div class=\"banner\">").Append(ReportDocument.SimulatedWord).Append(": figures come from a model of a pack, not from a measurement.</div>\n");
        html.Append("<header><h1>").Append(E(report.Title)).Append("</h1><dl>");
        foreach (var (name, value) in Facts(report)) html.Append("<dt>").Append(E(name)).Append("</dt><dd>").Append(E(value)).Append("</dd>");
        html.Append("</dl></header>\n");
        foreach (var (index, section) in report.Sections.Index()) Section(html, section, index);
        html.Append("<footer><span>").Append(E(ReportDocument.Statement)).Append("</span><span>").Append(E(Foot(report))).Append("</span></footer></body></html>\n");
        return html.ToString();
    }

    /// <summary>The facts in the head of every form of a report.</summary>
    internal static IReadOnlyList<(string Name, string Value)> Facts(ReportDocument report) =>
    [
        ("About", report.About), ("Site", report.Site), ("Date", report.Date.ToString(report.Date.Offset == TimeSpan.Zero ? "d MMM yyyy HH:mm 'UTC'" : "d MMM yyyy HH:mm 'UTC'zzz", CultureInfo.InvariantCulture)), ("Software", $"CellWatch {report.SoftwareVersion}"),
        ("Limits", report.SettingsFingerprint.Length > 0 ? $"fingerprint {report.SettingsFingerprint}" : "none applied"), .. report.Uncertainty.Length > 0 ? [("Uncertainty", report.Uncertainty)] : Array.Empty<(string, string)>(),
    ];

    /// <summary>The right half of the page foot.</summary>
    internal static string Foot(ReportDocument report) => $"{(report.Simulated ? ReportDocument.SimulatedWord + "   " : "")}{report.Title}, {report.About}";

    /// <summary>The foot of every printed page, in the page's margin (CSS Paged Media, margin boxes), where it covers no content.</summary>
    private static string PageFoot(ReportDocument report)
    {
        const string Font = "font: 9pt system-ui, \"DejaVu Sans\", sans-serif; vertical-align: top; padding-top: 2mm; border-top: .6pt solid #111;";
        return $"@page {{ @bottom-left {{ content: {Css(ReportDocument.Statement)} \"\\a \" {Css(Foot(report))}; white-space: pre; {Font} }} @bottom-right {{ content: \"page \" counter(page) \" of \" counter(pages); {Font} }} }}\n";
    }

    // Text inside a style sheet: everything but letters, digits, spaces and plain stops as a code point, so that no name can end the string or the sheet.
    private static string Css(string text) => $"\"{string.Concat(text.Select(c => char.IsAsciiLetterOrDigit(c) || c is ' ' or '.' or ',' or '-' ? c.ToString() : $"\\{(int)c:x} "))}\"";

    private static void Section(StringBuilder html, ReportSection section, int index)
    {
        html.Append(section.OnNewPage ? "<section class=\"page\">" : "<section>");
        if (section.Heading.Length > 0) html.Append("<h2>").Append(E(section.Heading)).Append("</h2>");
        foreach (var (k, line) in section.Lines.Index()) html.Append(section.IsResult(index, k) ? "<p class=\"result\">" : "<p>").Append(E(line)).Append("</p>");
        if (section.Drawing is { } drawing) html.Append(Svg(drawing));
        if (section.Table is { } table)
        {
            html.Append("<table><thead><tr>");
            var figures = table.FigureColumns();
            foreach (var (i, head) in table.Heads.Index()) html.Append(figures[i] ? "<th scope=\"col\" class=\"f\">" : "<th scope=\"col\">").Append(E(head)).Append("</th>");
            html.Append("</tr></thead><tbody>");
            foreach (var row in table.Rows)
            {
                html.Append("<tr>");
                foreach (var (i, field) in row.Index()) html.Append(figures[i] ? "<td class=\"n f\">" : field.Length <= LongestUnbroken ? "<td class=\"n\">" : "<td>").Append(E(field)).Append("</td>");
                html.Append("</tr>");
            }

            html.Append("</tbody></table>");
        }

        if (section.Pictures is { Count: > 0 } pictures)
        {
            html.Append("<div class=\"pictures\">");
            foreach (var p in pictures)
                html.Append("<figure><img alt=\"").Append(E(p.Caption)).Append("\" src=\"data:").Append(p.MediaType).Append(";base64,").Append(Convert.ToBase64String(p.Content.Span)).Append("\"><figcaption>")
                    .Append(E(p.Caption)).Append("<span class=\"d\">").Append(E(p.Details)).Append("</span></figcaption></figure>");
            html.Append("</div>");
        }

        html.Append("</section>\n");
    }

    /// <summary>A drawing as SVG.</summary>
    public static string Svg(Drawing d)
    {
        var svg = new StringBuilder();
        svg.Append(CultureInfo.InvariantCulture, $"<svg viewBox=\"0 0 {d.Width:0} {d.Height:0}\" role=\"img\" aria-label=\"{E(d.Description)}\" font-family=\"system-ui, DejaVu Sans, sans-serif\">");
        foreach (var mark in d.Marks)
        {
            var (stroke, dash) = mark.Ink switch { Ink.Strong => ("#111", ""), Ink.Faint => ("#8a8a8a", ""), Ink.DashedStrong => ("#111", " stroke-dasharray=\"4 3\""), _ => ("#bbb", " stroke-dasharray=\"2 2\"") };
            switch (mark)
            {
                case LineMark line:
                    svg.Append("<polyline fill=\"none\" stroke=\"").Append(stroke).Append('"').Append(dash).Append(" stroke-width=\"0.8\" points=\"");
                    foreach (var (x, y) in line.Points) svg.Append(CultureInfo.InvariantCulture, $"{x:0.#},{y:0.#} ");
                    svg.Append("\"/>");
                    break;
                case BoxMark box:
                    svg.Append(CultureInfo.InvariantCulture, $"<rect x=\"{box.X:0.#}\" y=\"{box.Y:0.#}\" width=\"{box.Width:0.#}\" height=\"{box.Height:0.#}\" fill=\"{(box.Filled ? stroke : "#fff")}\" stroke=\"{stroke}\" stroke-width=\"0.8\"/>");
                    break;
                case TextMark text:
                    var anchor = text.Anchor switch { < 0 => "start", 0 => "middle", _ => "end" };
                    svg.Append(CultureInfo.InvariantCulture, $"<text x=\"{text.X:0.#}\" y=\"{text.Y:0.#}\" font-size=\"{text.Size:0.#}\" text-anchor=\"{anchor}\" fill=\"{(text.Ink == Ink.Strong ? "#111" : "#666")}\"{(text.Bold ? " font-weight=\"600\"" : "")}>{E(text.Text)}</text>");
                    break;
            }
        }

        return svg.Append("</svg>").ToString();
    }

    private static string E(string text) => WebUtility.HtmlEncode(text);
}
