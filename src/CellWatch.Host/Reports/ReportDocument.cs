namespace CellWatch.Host.Reports;

/// <summary>
/// A report as content, apart from its form: the print page, the CSV, the JSON and the PDF are all made from this, so they cannot differ.
/// </summary>
/// <param name="Kind">Kind, as in the address.</param>
/// <param name="Title">Title.</param>
/// <param name="About">What it is about: a module, a run, a gate.</param>
/// <param name="Site">Name of the site.</param>
/// <param name="Date">Date of what it shows, not of printing.</param>
/// <param name="SettingsFingerprint">Of the limits that applied; empty where none did.</param>
/// <param name="SoftwareVersion">Version of the program.</param>
/// <param name="Uncertainty">How sure the figures are.</param>
/// <param name="Simulated">Whether any input was simulated.</param>
/// <param name="Sections">Content.</param>
public sealed record ReportDocument(
    string Kind, string Title, string About, string Site, DateTimeOffset Date, string SettingsFingerprint, string SoftwareVersion, string Uncertainty, bool Simulated,
    IReadOnlyList<ReportSection> Sections)
{
    /// <summary>The line on every page of every report.</summary>
    public const string Statement = "Supervision record. Not a certificate of conformity.";

    /// <summary>The same with every sentence set for a page; see <see cref="Core.Wording.Typeset"/>.</summary>
    internal ReportDocument Set(string space)
    {
        string Set(string text) => Core.Wording.Typeset.Of(text, space);
        return this with
        {
            About = Set(About),
            Uncertainty = Set(Uncertainty),
            Sections =
            [
                .. Sections.Select(s => s with
                {
                    Heading = Set(s.Heading),
                    Lines = [.. s.Lines.Select(Set)],
                    Table = s.Table is not { } table ? null : new ReportTable([.. table.Heads.Select(Set)], [.. table.Rows.Select(r => (IReadOnlyList<string>)[.. r.Select(Set)])]),
                    Pictures = s.Pictures is not { } pictures ? null : [.. pictures.Select(p => p with { Caption = Set(p.Caption), Details = Set(p.Details) })],
                    Drawing = s.Drawing is not { } drawing ? null : drawing with { Marks = [.. drawing.Marks.Select(m => m is TextMark text ? text with { Text = Set(text.Text) } : m)] },
                }),
            ],
        };
    }

    /// <summary>The word on every page when any input was simulated.</summary>
    public const string SimulatedWord = "SIMULATED";
}

/// <summary>A part of a report.</summary>
/// <param name="Heading">Its heading; empty for none.</param>
/// <param name="Lines">Sentences.</param>
/// <param name="Table">A table; null for none.</param>
/// <param name="Drawing">A drawing; null for none.</param>
/// <param name="OnNewPage">Whether it begins a page.</param>
/// <param name="Pictures">Photographs; null for none.</param>
public sealed record ReportSection(
    string Heading, IReadOnlyList<string> Lines, ReportTable? Table = null, Drawing? Drawing = null, bool OnNewPage = false, IReadOnlyList<ReportPicture>? Pictures = null)
{
    /// <summary>Whether a line of this part, the <paramref name="section"/>th of its report, is the report's result: the first line, without a heading. It is set largest on paper.</summary>
    internal bool IsResult(int section, int line) => section == 0 && line == 0 && Heading.Length == 0;
}

/// <summary>A photograph in a report.</summary>
/// <param name="Caption">What it shows.</param>
/// <param name="Details">When, who, what it belongs to, and its digest.</param>
/// <param name="MediaType">Its kind.</param>
/// <param name="Content">The file; not in the JSON form, which has its digest.</param>
public sealed record ReportPicture(string Caption, string Details, string MediaType, [property: System.Text.Json.Serialization.JsonIgnore] ReadOnlyMemory<byte> Content);

/// <summary>A table; every row has as many fields as there are heads.</summary>
/// <param name="Heads">Column heads with units.</param>
/// <param name="Rows">Rows.</param>
public sealed partial record ReportTable(IReadOnlyList<string> Heads, IReadOnlyList<IReadOnlyList<string>> Rows)
{
    /// <summary>Which columns hold figures only, with sign, bound, uncertainty or unit; they stand flush right, so that digits compare.</summary>
    public bool[] FigureColumns() =>
        [.. Heads.Select((_, i) => Rows.Any(r => Figure().IsMatch(r[i])) && Rows.All(r => r[i].Length == 0 || r[i] is "-" or "not known" or "not measured" || Figure().IsMatch(r[i])))];

    // A number, perhaps with its uncertainty and one unit behind: no date, no time, no range, no name.
    [System.Text.RegularExpressions.GeneratedRegex(@"^[<>≤≥]?\s?[−+-]?\d+([.,]\d+)?(\s?±\s?\d+(\.\d+)?)?(\s?[A-Za-zΩµ%°/]{1,7})?$", System.Text.RegularExpressions.RegexOptions.NonBacktracking | System.Text.RegularExpressions.RegexOptions.ExplicitCapture)]
    private static partial System.Text.RegularExpressions.Regex Figure();
}
