using CellWatch.Core.Register;
using PdfSharp.Drawing;

namespace CellWatch.Host.Reports;

public static partial class PdfReport
{
    private sealed partial class Pages
    {
        private const double PictureGap = 12, HighestPicture = 190, CaptionSize = 8.5, DetailSize = 7;

        /// <summary>Photographs, two beside each other, each with its caption and when it was handed in.</summary>
        public void Pictures(IReadOnlyList<ReportPicture> pictures)
        {
            var width = (Width - PictureGap) / 2;
            for (var i = 0; i < pictures.Count; i += 2)
            {
                var row = pictures.Skip(i).Take(2).Select(p => Laid(p, width)).ToList();
                Need(row.Max(p => p.Height) + Gap);
                for (var c = 0; c < row.Count; c++) Draw(row[c], Left + c * (width + PictureGap));
                y += row.Max(p => p.Height) + Gap;
                foreach (var laid in row) laid.Image?.Dispose();
            }
        }

        private LaidPicture Laid(ReportPicture picture, double width)
        {
            var image = ImageOf(picture);
            var turn = picture.MediaType == "image/jpeg" ? PictureFile.TurnOf(picture.Content.Span) : 0;
            double across = image?.PixelWidth ?? 3, down = image?.PixelHeight ?? 1;
            if (turn is 90 or 270) (across, down) = (down, across);
            var scale = Math.Min(width / across, HighestPicture / down);
            List<string> caption = Wrap(picture.Caption, Font(CaptionSize, false), width), details = Wrap(image is null ? $"{picture.Details}; of a kind that is not drawn here, see the page form" : picture.Details, Font(DetailSize, false), width);
            return new LaidPicture(image, turn, image is null ? 0 : across * scale, image is null ? 0 : down * scale, caption, details);
        }

        private void Draw(LaidPicture p, double x)
        {
            if (p.Image is { } image)
            {
                var state = page.Save();
                // Turned about its middle: a camera held upright writes the picture lying, and says so.
                page.RotateAtTransform(p.Turn, new XPoint(x + p.Across / 2, y + p.Down / 2));
                var (w, h) = p.Turn is 90 or 270 ? (p.Down, p.Across) : (p.Across, p.Down);
                page.DrawImage(image, x + (p.Across - w) / 2, y + (p.Down - h) / 2, w, h);
                page.Restore(state);
            }

            var at = y + p.Down;
            foreach (var line in p.Caption) page.DrawString(line, Font(CaptionSize, false), XBrushes.Black, x, at += CaptionSize * 1.3);
            foreach (var line in p.Details) page.DrawString(line, Font(DetailSize, false), XBrushes.DimGray, x, at += DetailSize * 1.3);
        }

        /// <summary>The picture; null where the PDF writer does not read its kind (WebP, rare forms of the others).</summary>
        private static XImage? ImageOf(ReportPicture picture)
        {
            try
            {
                return XImage.FromStream(new MemoryStream(picture.Content.ToArray()));
            }
            catch (Exception fault) when (fault is not OutOfMemoryException)
            {
                // Said beside its caption.
                return null;
            }
        }

        private sealed record LaidPicture(XImage? Image, int Turn, double Across, double Down, List<string> Caption, List<string> Details)
        {
            public double Height => Down + 1.3 * (CaptionSize * Caption.Count + DetailSize * Details.Count) + 3;
        }
    }
}
