using PdfSharp.Drawing;
using PdfSharp.Pdf;

namespace CellWatch.Host.Reports;

/// <summary>Writes a report as PDF: A4, statement and page number on every page, SIMULATED across every page when any input was.</summary>
public static class PdfReport
{
    /// <summary>A word longer than this, a digest say, may be cut.</summary>
    private const int LongestWord = 24;

    private const double Left = 45, Right = 40, Top = 42, Foot = 46, Gap = 6;

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
            foreach (var section in report.Sections)
            {
                if (section.OnNewPage) pages.Next();
                if (section.Heading.Length > 0) pages.Heading(section.Heading);
                foreach (var line in section.Lines.Where(l => l.Length > 0)) pages.Text(line, 9.5);
                if (section.Drawing is { } drawing) pages.Draw(drawing);
                if (section.Table is { } table) pages.Table(table);
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
        var font = new XFont(InstalledFonts.Family, 8);
        for (var i = 0; i < pdf.PageCount; i++)
        {
            using var page = XGraphics.FromPdfPage(pdf.Pages[i]);
            double width = pdf.Pages[i].Width.Point, height = pdf.Pages[i].Height.Point;
            page.DrawLine(new XPen(XColors.Black, 0.6), Left, height - 34, width - Right, height - 34);
            page.DrawString(ReportDocument.Statement, font, XBrushes.Black, Left, height - 23);
            page.DrawString($"{HtmlReport.Foot(report)}   page {i + 1} of {pdf.PageCount}", font, XBrushes.Black, new XRect(Left, height - 31, width - Left - Right, 10), XStringFormats.TopRight);
            if (!report.Simulated) continue;
            page.RotateAtTransform(-52, new XPoint(width / 2, height / 2));
            page.DrawString(ReportDocument.SimulatedWord, new XFont(InstalledFonts.Family, 92, XFontStyleEx.Bold), new XSolidBrush(XColor.FromArgb(22, 0, 0, 0)), new XPoint(width / 2, height / 2 + 30), XStringFormats.BaseLineCenter);
        }
    }

    /// <summary>Pages that follow each other as they fill.</summary>
    private sealed class Pages : IDisposable
    {
        private readonly PdfDocument pdf;
        private XGraphics page = null!;
        private double y;

        public Pages(PdfDocument pdf, ReportDocument report)
        {
            this.pdf = pdf;
            Next();
            if (report.Simulated) Text($"{ReportDocument.SimulatedWord}: figures come from a model of a pack, not from a measurement.", 9.5, bold: true);
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

        public void Heading(string text)
        {
            // A heading stays with at least three lines of what follows.
            Need(54);
            y += Gap;
            Text(text, 11.5, bold: true);
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
            const double Size = 8.5, Name = 58;
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
            var scale = Math.Min(Width / drawing.Width, (Bottom - Top) / drawing.Height);
            Need(drawing.Height * scale + Gap);
            y += Gap;
            foreach (var mark in drawing.Marks) Mark(mark, scale);
            y += drawing.Height * scale + Gap;
        }

        public void Table(ReportTable table)
        {
            const double Size = 8, Pad = 5;
            var (plain, strong) = (Font(Size, false), Font(Size, true));
            var widths = Widths(table, plain, strong, Pad);
            void Row(IReadOnlyList<string> fields, XFont font, double line)
            {
                var wrapped = fields.Select((f, i) => Wrap(f, font, widths[i] - Pad)).ToList();
                var height = Math.Max(1, wrapped.Max(w => w.Count)) * Size * 1.25 + 3;
                if (y + height > Bottom)
                {
                    Next();
                    if (!ReferenceEquals(font, strong)) Row(table.Heads, strong, 0.8);
                }

                var x = Left;
                for (var i = 0; i < wrapped.Count; i++)
                {
                    for (var k = 0; k < wrapped[i].Count; k++) page.DrawString(wrapped[i][k], font, XBrushes.Black, x, y + Size * 1.25 * (k + 1));
                    x += widths[i];
                }

                y += height;
                page.DrawLine(new XPen(line > 0.5 ? XColors.Black : XColors.LightGray, line), Left, y, Left + Width, y);
            }

            if (table.Heads.Any(h => h.Length > 0)) Row(table.Heads, strong, 0.8);
            foreach (var row in table.Rows) Row(row, plain, 0.4);
            y += Gap;
        }

        public void Dispose() => page.Dispose();

        private void Need(double height)
        {
            if (y + height > Bottom) Next();
        }

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

        /// <summary>Each column gets what it needs where there is room; else long ones share what the short ones leave.</summary>
        private double[] Widths(ReportTable table, XFont plain, XFont strong, double pad)
        {
            var wanted = table.Heads.Select((h, i) => pad + Math.Max(page.MeasureString(h, strong).Width, table.Rows.Select(r => page.MeasureString(r[i], plain).Width).DefaultIfEmpty(0).Max())).ToArray();
            var total = wanted.Sum();
            if (total <= Width) return [.. wanted.Select(w => w * Width / total)];
            // No date, figure or word is broken: every column has at least its longest such piece, and what is left goes to the long ones.
            var least = table.Heads.Select((h, i) => Math.Min(wanted[i], pad + Math.Max(Pieces(h).Max(p => page.MeasureString(p, strong).Width), table.Rows.SelectMany(r => Pieces(r[i])).Select(p => page.MeasureString(p, plain).Width).DefaultIfEmpty(0).Max()))).ToArray();
            var spare = Width - least.Sum();
            if (spare <= 0) return [.. least.Select(l => l * Width / least.Sum())];
            var more = wanted.Zip(least, (w, l) => w - l).Sum();
            return [.. wanted.Zip(least, (w, l) => l + (w - l) / more * spare)];
        }

        private static IEnumerable<string> Pieces(string field) => field.Length <= HtmlReport.LongestUnbroken ? [field] : field.Split(' ').Select(w => w.Length > LongestWord ? w[..LongestWord] : w);

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
    }
}
