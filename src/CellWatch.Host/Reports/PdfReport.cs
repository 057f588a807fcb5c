using PdfSharp.Drawing;
using PdfSharp.Pdf;

namespace CellWatch.Host.Reports;

/// <summary>Writes a report as PDF: A4, statement and page number on every page, SIMULATED across every page when any input was.</summary>
public static partial class PdfReport
{
    /// <summary>A word longer than this, a digest say, may be cut.</summary>
    private const int LongestWord = 24;

    // 20 mm to the left for the holes of a binder; sizes for paper on a bench: 10 points, the result 14.
    private const double Left = 57, Right = 36, Top = 42, Foot = 46, Gap = 6, Body = 10, Result = 14, Small = 9;

    /// <summary>The whole file.</summary>
    /// <exception cref="Core.Register.RefusedException">No font is installed.</exception>
    public static byte[] Write(ReportDocument report)
    {
        InstalledFonts.Use();
        report = report.Set("\u00a0");
        using var pdf = new PdfDocument();
        pdf.Info.Title = $"{report.Title} {report.About}";
        pdf.Info.Creator = $"CellWatch {report.SoftwareVersion}";
        using (var pages = new Pages(pdf, report))
        {
            pages.Text(report.Title, 17, bold: true);
            pages.Facts(HtmlReport.Facts(report));
            pages.Rule();
            foreach (var (index, section) in report.Sections.Index())
            {
                if (section.OnNewPage) pages.Next();
                if (section.Heading.Length > 0) pages.Heading(section);
                foreach (var (k, line) in section.Lines.Where(l => l.Length > 0).Index()) pages.Text(line, section.IsResult(index, k) ? Result : Body);
                if (section.Drawing is { } drawing) pages.Draw(drawing);
                if (section.Table is { } table) pages.Table(table);
                if (section.Pictures is { } pictures) pages.Pictures(pictures);
            }
        }

        Finish(pdf, report);
        using var stream = new MemoryStream();
        pdf.Save(stream, closeStream: false);
        return stream.ToArray();
    }

    /// <summary>Foot and mark of every page, when their number is known.</summary>
    private static void Finish(PdfDocument pdf, ReportDocument report)
    {
        var font = new XFont(InstalledFonts.Family, Small);
        for (var i = 0; i < pdf.PageCount; i++)
        {
            using var page = XGraphics.FromPdfPage(pdf.Pages[i]);
            double width = pdf.Pages[i].Width.Point, height = pdf.Pages[i].Height.Point;
            page.DrawLine(new XPen(XColors.Black, 0.6), Left, height - 34, width - Right, height - 34);
            page.DrawString(ReportDocument.Statement, font, XBrushes.Black, Left, height - 23);
            page.DrawString($"page {i + 1} of {pdf.PageCount}", font, XBrushes.Black, width - Right, height - 23, XStringFormats.BaseLineRight);
            page.DrawString(HtmlReport.Foot(report), font, XBrushes.Black, Left, height - 12);
            if (!report.Simulated) continue;
            page.RotateAtTransform(-52, new XPoint(width / 2, height / 2));
            page.DrawString(ReportDocument.SimulatedWord, new XFont(InstalledFonts.Family, 92, XFontStyleEx.Bold), new XSolidBrush(XColor.FromArgb(22, 0, 0, 0)), new XPoint(width / 2, height / 2 + 30), XStringFormats.BaseLineCenter);
        }
    }

    /// <summary>Pages that follow each other as they fill.</summary>
    private sealed partial class Pages : IDisposable
    {
        private readonly PdfDocument pdf;
        private XGraphics page = null!;
        private double y;

        public Pages(PdfDocument pdf, ReportDocument report)
        {
            this.pdf = pdf;
            Next();
            if (report.Simulated) Text($"{ReportDocument.SimulatedWord}: figures come from a model of a pack, not from a measurement.", Body, bold: true);
        }

        private double Width => pdf.Pages[^1].Width.Point - Left - Right;

        private double Bottom => pdf.Pages[^1].Height.Point - Foot;

        public void Next()
        {
            page?.Dispose();
            var added = pdf.AddPage();
            added.Size = PdfSharp.PageSize.A4;
            page = XGraphics.FromPdfPage(added);
            y = Top;
        }

        public void Heading(ReportSection section)
        {
            // A heading stays with what follows: its drawing, the first row of its table, its first pictures, or three lines.
            var lines = section.Lines.Count * 2 * Body;
            Need(24 + (section.Drawing is { } drawing ? lines + drawing.Height * Scale(drawing) + 2 * Gap : section.Table is { Rows.Count: > 0 } table ? lines + new Layout(this, table).HeadAndFirst : section.Pictures is { Count: > 0 } ? HighestPicture + 40 : 30));
            y += Gap;
            Text(section.Heading, 12, bold: true);
        }

        public void Text(string text, double size, bool bold = false)
        {
            var font = Font(size, bold);
            foreach (var line in Wrap(text, font, Width))
            {
                Need(size * 1.35);
                y += size * 1.35;
                page.DrawString(line, font, XBrushes.Black, Left, y);
            }

            y += 2;
        }

        /// <summary>Names and values, two beside each other.</summary>
        public void Facts(IReadOnlyList<(string Name, string Value)> facts)
        {
            const double Size = Small, Name = 62;
            var (font, half) = (Font(Size, false), Width / 2);
            for (var i = 0; i < facts.Count; i += 2)
            {
                var columns = facts.Skip(i).Take(2).Select(f => (f.Name, Lines: Wrap(f.Value, font, half - Name - 12))).ToList();
                for (var c = 0; c < columns.Count; c++)
                {
                    page.DrawString(columns[c].Name, font, XBrushes.DimGray, Left + c * half, y + Size * 1.35);
                    for (var k = 0; k < columns[c].Lines.Count; k++) page.DrawString(columns[c].Lines[k], font, XBrushes.Black, Left + c * half + Name, y + Size * 1.35 * (k + 1));
                }

                y += Size * 1.35 * Math.Max(1, columns.Max(c => c.Lines.Count)) + 1.5;
            }
        }

        public void Rule()
        {
            y += 3;
            page.DrawLine(new XPen(XColors.Black, 1.2), Left, y, Left + Width, y);
            y += 4;
        }

        public void Draw(Drawing drawing)
        {
            var scale = Scale(drawing);
            Need(drawing.Height * scale + Gap);
            y += Gap;
            foreach (var mark in drawing.Marks) Mark(mark, scale);
            y += drawing.Height * scale + Gap;
        }

        public void Table(ReportTable table)
        {
            var layout = new Layout(this, table);
            void Row(IReadOnlyList<string> fields, XFont font, double line)
            {
                var wrapped = layout.Wrapped(fields, font);
                var height = layout.Height(wrapped);
                if (y + height > Bottom)
                {
                    Next();
                    if (!ReferenceEquals(font, layout.Strong)) Row(table.Heads, layout.Strong, 0.8);
                }

                var x = Left;
                for (var i = 0; i < wrapped.Count; i++)
                {
                    for (var k = 0; k < wrapped[i].Count; k++)
                    {
                        page.DrawString(wrapped[i][k], font, XBrushes.Black, layout.Figures[i] ? x + layout.Widths[i] - layout.Pad : x, y + layout.Size * 1.2 * (k + 1), layout.Figures[i] ? XStringFormats.BaseLineRight : XStringFormats.BaseLineLeft);
                    }

                    x += layout.Widths[i];
                }

                y += height;
                page.DrawLine(new XPen(line > 0.5 ? XColors.Black : XColors.LightGray, line), Left, y, Left + Width, y);
            }

            if (table.Heads.Any(h => h.Length > 0))
            {
                // Heads never stand alone at the foot of a page.
                if (table.Rows.Count > 0) Need(layout.HeadAndFirst);
                Row(table.Heads, layout.Strong, 0.8);
            }

            foreach (var row in table.Rows) Row(row, layout.Plain, 0.4);
            y += Gap;
        }

        public void Dispose() => page.Dispose();

        private void Need(double height)
        {
            if (y + height > Bottom) Next();
        }

        private double Scale(Drawing drawing) => Math.Min(Width / drawing.Width, (Bottom - Top) / drawing.Height);

        private void Mark(Mark mark, double scale)
        {
            var color = mark.Ink switch { Ink.Strong or Ink.DashedStrong => XColors.Black, Ink.Faint => XColors.Gray, _ => XColors.LightGray };
            var pen = new XPen(color, 0.7);
            if (mark.Ink is Ink.Dashed or Ink.DashedStrong) pen.DashStyle = XDashStyle.Dash;
            switch (mark)
            {
                case LineMark line:
                    page.DrawLines(pen, [.. line.Points.Select(p => new XPoint(Left + p.X * scale, y + p.Y * scale))]);
                    break;
                case BoxMark { Filled: true } box:
                    page.DrawRectangle(new XSolidBrush(color), Left + box.X * scale, y + box.Y * scale, box.Width * scale, box.Height * scale);
                    break;
                case BoxMark box:
                    page.DrawRectangle(pen, XBrushes.White, Left + box.X * scale, y + box.Y * scale, box.Width * scale, box.Height * scale);
                    break;
                case TextMark text:
                    var format = text.Anchor switch { < 0 => XStringFormats.BaseLineLeft, 0 => XStringFormats.BaseLineCenter, _ => XStringFormats.BaseLineRight };
                    page.DrawString(text.Text, Font(text.Size * scale, text.Bold), mark.Ink == Ink.Strong ? XBrushes.Black : XBrushes.DimGray, new XPoint(Left + text.X * scale, y + text.Y * scale), format);
                    break;
            }
        }

        private List<string> Wrap(string text, XFont font, double width)
        {
            var lines = new List<string>();
            var line = "";
            foreach (var word in text.Split(' '))
            {
                var next = line.Length == 0 ? word : $"{line} {word}";
                if (page.MeasureString(next, font).Width <= width || line.Length == 0 && next.Length < 4)
                {
                    line = next;
                    continue;
                }

                if (line.Length > 0) lines.Add(line);
                line = word;
                // A word longer than the column, a digest say, is cut where it must be.
                while (page.MeasureString(line, font).Width > width && line.Length > 4)
                {
                    var cut = line.Length - 1;
                    while (cut > 4 && page.MeasureString(line[..cut], font).Width > width) cut--;
                    lines.Add(line[..cut]);
                    line = line[cut..];
                }
            }

            if (line.Length > 0) lines.Add(line);
            return lines;
        }

        private static XFont Font(double size, bool bold) => new(InstalledFonts.Family, size, bold ? XFontStyleEx.Bold : XFontStyleEx.Regular);

        /// <summary>How a table stands on a page: 10 points where it fits, down to 8 where many columns share a row.</summary>
        private sealed class Layout
        {
            private readonly Pages pages;
            private readonly ReportTable table;

            public Layout(Pages pages, ReportTable table)
            {
                (this.pages, this.table) = (pages, table);
                Figures = table.FigureColumns();
                for (Size = Body; ; Size--)
                {
                    (Plain, Strong) = (Font(Size, false), Font(Size, true));
                    (Widths, var roomy) = Columns();
                    if (roomy || Size <= 8) break;
                }
            }

            public double Size { get; }

            public double Pad => Size;

            public XFont Plain { get; }

            public XFont Strong { get; }

            public double[] Widths { get; }

            public bool[] Figures { get; }

            public double HeadAndFirst => Height(Wrapped(table.Heads, Strong)) + Height(Wrapped(table.Rows[0], Plain));

            public List<List<string>> Wrapped(IReadOnlyList<string> fields, XFont font) => [.. fields.Select((f, i) => pages.Wrap(f, font, Widths[i] - Pad))];

            public double Height(List<List<string>> wrapped) => Math.Max(1, wrapped.Max(w => w.Count)) * Size * 1.2 + 2.5;

            /// <summary>Each column gets what it needs where there is room; else long ones share what the short ones leave: roomy where that is a third of the page or little is missing.</summary>
            private (double[] Widths, bool Roomy) Columns()
            {
                double Measure(string text, XFont font) => pages.page.MeasureString(text, font).Width;
                var wanted = table.Heads.Select((h, i) => Pad + Math.Max(Measure(h, Strong), table.Rows.Select(r => Measure(r[i], Plain)).DefaultIfEmpty(0).Max())).ToArray();
                var total = wanted.Sum();
                if (total <= pages.Width) return ([.. wanted.Select(w => w * pages.Width / total)], true);
                // No date, figure or word is broken: every column has at least its longest such piece, and what is left goes to the long ones.
                var least = table.Heads.Select((h, i) => Math.Min(wanted[i], Pad + Math.Max(Pieces(h).Max(p => Measure(p, Strong)), table.Rows.SelectMany(r => Pieces(r[i])).Select(p => Measure(p, Plain)).DefaultIfEmpty(0).Max()))).ToArray();
                var spare = pages.Width - least.Sum();
                if (spare <= 0) return ([.. least.Select(l => l * pages.Width / least.Sum())], false);
                var more = wanted.Zip(least, (w, l) => w - l).Sum();
                return ([.. wanted.Zip(least, (w, l) => l + (w - l) / more * spare)], spare > pages.Width / 3 || spare > 0 && total < 1.2 * pages.Width);
            }

            private static IEnumerable<string> Pieces(string field) => field.Length <= HtmlReport.LongestUnbroken ? [field] : field.Split(' ').Select(w => w.Length > LongestWord ? w[..LongestWord] : w);
        }
    }
}
