using System.Text;
using CellWatch.Core.Wording;

namespace CellWatch.Host.Reports;

/// <summary>
/// Writes a report as CSV: the facts as lines beginning with <c>#</c>, then each table with its heading, heads and rows. Fields are quoted where
/// they hold a comma, a quote or a line end; one that a spreadsheet could take for a formula is led by an apostrophe.
/// </summary>
public static class CsvReport
{
    /// <summary>The whole file.</summary>
    public static string Write(ReportDocument report)
    {
        var csv = new StringBuilder();
        csv.Append("# ").Append(report.Title).Append('\n');
        if (report.Simulated) csv.Append("# ").Append(ReportDocument.SimulatedWord).Append(": figures come from a model of a pack\n");
        foreach (var (name, value) in HtmlReport.Facts(report)) csv.Append("# ").Append(name).Append(": ").Append(OneLine(value)).Append('\n');
        csv.Append("# ").Append(ReportDocument.Statement).Append('\n');
        foreach (var section in report.Sections)
        {
            if (section.Heading.Length > 0) csv.Append("\n# ").Append(OneLine(section.Heading)).Append('\n');
            foreach (var line in section.Lines) csv.Append("# ").Append(OneLine(line)).Append('\n');
            foreach (var picture in section.Pictures ?? []) csv.Append("# picture: ").Append(OneLine(picture.Caption)).Append("; ").Append(OneLine(picture.Details)).Append('\n');
            if (section.Table is not { } table) continue;
            csv.AppendJoin(',', table.Heads.Select(Field)).Append('\n');
            foreach (var row in table.Rows) csv.AppendJoin(',', row.Select(Field)).Append('\n');
        }

        return csv.ToString();
    }

    private static string Field(string text)
    {
        var isFormula = text.Length > 1 && text[0] is '=' or '@' || text.Length > 1 && text[0] is '+' or '-' && !char.IsAsciiDigit(text[1]) && text[1] != '.';
        var safe = isFormula && text.Length > 1 ? "'" + text : text;
        return CsvField.Of(safe);
    }

    private static string OneLine(string text) => text.ReplaceLineEndings(" ");
}
