using System.Globalization;
using System.Text;
using CellWatch.Core.Bench.Project;

namespace CellWatch.Host.Reports;

/// <summary>The list of reports as a plain page, so that they can be opened without any other page.</summary>
public static class ReportIndex
{
    /// <summary>The page.</summary>
    public static string Write(string site, bool simulated, IReadOnlyList<ReportEntry> reports)
    {
        var html = new StringBuilder($"<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\"><link rel=\"icon\" href=\"data:,\"><title>Reports {E(site)}</title>")
            .Append("<style>body{font:15px/1.4 system-ui,sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem;color:#111}td,th{padding:.25rem 1.2rem .25rem 0;text-align:left;border-bottom:1px solid #ccc}td:nth-child(3){white-space:nowrap}@media(max-width:40rem){td,th{padding-right:.6rem}td a{display:inline-block;min-height:32px;margin-right:.6rem}}</style>")
            .Append(CultureInfo.InvariantCulture, $"<h1>Reports, {E(site)}</h1>{(simulated ? $"<p><b>{ReportDocument.SimulatedWord}</b>: figures come from a model of a pack.</p>" : "")}<p>{E(ReportDocument.Statement)}</p><table><tr><th>kind<th>about<th>date<th>");
        foreach (var r in reports)
        {
            var address = $"/bench/reports/{r.Kind}?about={Uri.EscapeDataString(r.About)}";
            html.Append(CultureInfo.InvariantCulture, $"<tr><td>{E(r.Title)}<td>{E(r.About)}<td>{r.Date:yyyy-MM-dd}<td><a href=\"{address}\">print page</a> <a href=\"{address}&amp;format=pdf\">PDF</a> <a href=\"{address}&amp;format=csv\">CSV</a> <a href=\"{address}&amp;format=json\">JSON</a>");
        }

        if (reports.Count == 0) html.Append("<tr><td colspan=4>Nothing to report yet. The first report appears with the first module.");
        return html.Append("</table></html>").ToString();
    }

    private static string E(string text) => System.Net.WebUtility.HtmlEncode(text);
}
