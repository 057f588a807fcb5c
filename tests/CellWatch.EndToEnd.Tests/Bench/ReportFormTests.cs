using System.Globalization;
using CellWatch.Host.Reports;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>How a report is set, apart from what it says.</summary>
public sealed class ReportFormTests
{
    [Fact]
    public void Columns_of_figures_stand_flush_right_and_dates_ranges_and_names_do_not()
    {
        var table = new ReportTable(
            ["cell", "Ah", "leak", "when", "span", "words", "empty"],
            [["B07.1", "102.9\u00a0±0.6", "<0.6\u202fmA", "2026-02-11 16:00", "18 to 35", "not measured", ""], ["B07.2", "\u22120.4", "-", "2026-02-12 16:00", "3", "-", ""]]);
        Assert.Equal([false, true, true, false, false, false, false], table.FigureColumns());
    }

    [Fact]
    public void A_name_in_the_page_foot_cannot_end_the_style_sheet()
    {
        const string Name = "B07\"; } body { display: none } </style><script>";
        var html = HtmlReport.Write(Report(Name, [new("", ["Fit."])]));
        var sheet = html[html.IndexOf("<style>", StringComparison.Ordinal)..html.IndexOf("</style>", StringComparison.Ordinal)];
        Assert.Contains("counter(pages)", sheet, StringComparison.Ordinal);
        Assert.Contains("B07\\22 \\3b ", sheet, StringComparison.Ordinal);
        Assert.DoesNotContain("display: none }  ", sheet, StringComparison.Ordinal);
        Assert.DoesNotContain("<script>", html, StringComparison.Ordinal);
    }

    [Fact]
    public void The_result_is_the_first_line_without_a_heading_and_only_that()
    {
        var html = HtmlReport.Write(Report("B07", [new("", ["Grade B.", "More."]), new("", ["Later."])]));
        Assert.Contains("<p class=\"result\">Grade B.</p><p>More.</p>", html, StringComparison.Ordinal);
        Assert.Equal(1, html.Split("class=\"result\"").Length - 1);
        Assert.DoesNotContain("class=\"result\"", HtmlReport.Write(Report("B07", [new("Labels", ["Two for each module."])])), StringComparison.Ordinal);
    }

    [Fact]
    public void A_table_of_many_columns_takes_smaller_letters_and_as_many_pages_as_its_rows_need()
    {
        var rows = Enumerable.Range(1, 200).Select(i => (IReadOnlyList<string>)[$"B{i:000}", "102.9", "0.97", "0.6", "60", "accept", "capacity", "score", "some remark about this very module"]).ToList();
        var report = Report("all", [new("", ["Grades."]), new("Grades", [], new ReportTable(["module", "Ah", "R", "leak", "isolation", "verdict", "line", "setting", "remark"], rows))]);
        using var stream = new MemoryStream(PdfReport.Write(report));
        using var read = PdfSharp.Pdf.IO.PdfReader.Open(stream, PdfSharp.Pdf.IO.PdfDocumentOpenMode.Import);
        // One line a row: 200 rows of 8 to 10 points are three to five pages of 750 points; wrapped letter by letter they were many more.
        Assert.InRange(read.PageCount, 3, 8);
    }

    private static ReportDocument Report(string about, IReadOnlyList<ReportSection> sections) =>
        new("passport", "Module passport", about, "petrel", DateTimeOffset.Parse("2026-02-12T12:48:00Z", CultureInfo.InvariantCulture), "", "0.1.0", "", false, sections);
}
