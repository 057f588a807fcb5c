namespace CellWatch.Host.Reports;

/// <summary>How a mark is drawn.</summary>
public enum Ink
{
    /// <summary>Full black.</summary>
    Strong,

    /// <summary>Grey, for what is in the background.</summary>
    Faint,

    /// <summary>Dashed grey.</summary>
    Dashed,

    /// <summary>Dashed black, for a limit.</summary>
    DashedStrong,
}

/// <summary>One mark of a drawing, in points from the upper left corner.</summary>
public abstract record Mark(Ink Ink);

/// <summary>A line through points.</summary>
public sealed record LineMark(IReadOnlyList<(double X, double Y)> Points, Ink Ink) : Mark(Ink);

/// <summary>A rectangle; filled with white.</summary>
public sealed record BoxMark(double X, double Y, double Width, double Height, Ink Ink, bool Filled = false) : Mark(Ink);

/// <summary>A word. Anchor -1 starts at x, 0 is centred, 1 ends at x; y is the base line.</summary>
public sealed record TextMark(double X, double Y, string Text, double Size, int Anchor, Ink Ink, bool Bold = false) : Mark(Ink);

/// <summary>A vector drawing that the print page and the PDF draw alike.</summary>
/// <param name="Width">Points.</param>
/// <param name="Height">Points.</param>
/// <param name="Marks">In drawing order.</param>
/// <param name="Description">In words, for those who cannot see it.</param>
public sealed record Drawing(double Width, double Height, IReadOnlyList<Mark> Marks, string Description);
