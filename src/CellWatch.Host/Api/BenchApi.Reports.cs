using System.Text;
using CellWatch.Core.Register;
using CellWatch.Host.Bench;
using CellWatch.Host.Reports;

namespace CellWatch.Host.Api;

public static partial class BenchApi
{
    private static void MapReports(RouteGroupBuilder reads)
    {
        reads.MapGet("/reports", (BenchDoor door) => BenchAnswers.Read(door, p => new BenchReports(p).List())).WithSummary("Reports that can be made now");
        reads.MapGet("/index.html", (BenchDoor door) => BenchAnswers.Read(door, p =>
            Results.Content(ReportIndex.Write(p.Site.Layout.SiteName, p.AnySimulated, new BenchReports(p).List()), "text/html; charset=utf-8"))).WithSummary("The reports as a page");
        reads.MapGet("/reports/{kind}", (string kind, string? about, string? format, BenchDoor door) => BenchAnswers.Read(door, p => Report(new BenchReports(p).Make(kind, about ?? ""), format ?? "html")))
            .WithSummary("One report: format html (print-ready), csv, json or pdf");
    }

    private static IResult Report(ReportDocument report, string format) => format switch
    {
        "html" => Results.Content(HtmlReport.Write(report), "text/html; charset=utf-8"),
        "csv" => Results.File(Encoding.UTF8.GetBytes(CsvReport.Write(report)), "text/csv; charset=utf-8", FileName(report, "csv")),
        "json" => Results.Json(report with { Sections = [.. report.Sections.Select(s => s with { Drawing = null })] }, RecordJson.Options),
        "pdf" => Results.File(PdfReport.Write(report), "application/pdf", FileName(report, "pdf")),
        _ => throw new RefusedException($"There is no format '{format}': html, csv, json or pdf."),
    };

    private static string FileName(ReportDocument report, string extension) =>
        string.Concat($"{report.Site}-{report.Kind}-{report.About}-{report.Date:yyyyMMdd}".Select(c => char.IsAsciiLetterOrDigit(c) || c == '-' ? c : '_')) + "." + extension;
}
