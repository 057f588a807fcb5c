namespace CellWatch.Host.Reports;

/// <summary>One line of a chart; a value that is not finite breaks it, never bridges it.</summary>
public sealed record ChartSeries(string Name, IReadOnlyList<double> X, IReadOnlyList<double> Y, Ink Ink = Ink.Strong);

/// <summary>One value with an error bar.</summary>
public sealed record ChartBar(string Name, double Value, double HalfWidth, bool Strong);

/// <summary>Draws charts from values.</summary>
public static class ChartDrawing
{
    private const double Width = 500, Height = 190, Left = 46, Right = 62, Top = 10, Bottom = 32;

    /// <summary>Lines over a common x axis; the name of each stands at its end.</summary>
    public static Drawing Lines(string xName, string yName, IReadOnlyList<ChartSeries> series, string description, double height = Height)
    {
        var marks = new List<Mark>();
        var (x0, x1) = Range(series.SelectMany(s => s.X));
        var (y0, y1) = Range(series.SelectMany(s => s.Y));
        double X(double v) => Left + (v - x0) / (x1 - x0) * (Width - Left - Right);
        double Y(double v) => height - Bottom - (v - y0) / (y1 - y0) * (height - Top - Bottom);
        Axes(marks, xName, yName, x0, x1, y0, y1, X, Y, height);
        var ends = new List<(double Y, ChartSeries Series)>();
        foreach (var s in series)
        {
            var part = new List<(double, double)>();
            for (var i = 0; i < s.X.Count; i++)
            {
                if (double.IsFinite(s.Y[i]) && double.IsFinite(s.X[i])) part.Add((X(s.X[i]), Y(s.Y[i])));
                else Flush(marks, part, s.Ink);
            }

            if (part.Count > 0) ends.Add((part[^1].Item2, s));
            Flush(marks, part, s.Ink);
        }

        Names(marks, ends);
        return new Drawing(Width, height, marks, description);
    }

    /// <summary>Values side by side with error bars; strong ones stand out.</summary>
    /// <param name="yName">Unit.</param>
    /// <param name="bars">Values.</param>
    /// <param name="description">In words.</param>
    /// <param name="alsoCover">Values the scale covers too, so that two drawings compare.</param>
    /// <param name="height">Height, points.</param>
    public static Drawing Bars(string yName, IReadOnlyList<ChartBar> bars, string description, IEnumerable<double>? alsoCover = null, double height = Height)
    {
        var marks = new List<Mark>();
        var (y0, y1) = Range(bars.SelectMany(b => new[] { b.Value - b.HalfWidth, b.Value + b.HalfWidth }).Concat(alsoCover ?? []));
        double X(double v) => Left + (v + 0.5) / bars.Count * (Width - Left - 12);
        double Y(double v) => height - Bottom - (v - y0) / (y1 - y0) * (height - Top - Bottom);
        Axes(marks, "", yName, 0, 1, y0, y1, _ => Left, Y, height, xTicks: false);
        var every = Math.Max(1, (int)Math.Ceiling(bars.Count / 18.0));
        var lastStrongX = double.NegativeInfinity;
        var row = 0;
        for (var i = 0; i < bars.Count; i++)
        {
            var b = bars[i];
            var ink = b.Strong ? Ink.Strong : Ink.Faint;
            if (b.HalfWidth > 0) marks.Add(new LineMark([(X(i), Y(b.Value - b.HalfWidth)), (X(i), Y(b.Value + b.HalfWidth))], ink));
            marks.Add(new BoxMark(X(i) - 2, Y(b.Value) - 2, 4, 4, ink, Filled: true));
            if (b.Strong && every > 1)
            {
                // Names of what stands out go under those of the scale, and under each other where they would touch.
                row = X(i) - lastStrongX < 26 ? row % 2 + 1 : 1;
                lastStrongX = X(i);
            }

            // More than fourteen names fill the axis: small there, and bold only where they have a line of their own.
            if (i % every == 0 || b.Strong) marks.Add(new TextMark(X(i), height - Bottom + 11 + (b.Strong && every > 1 ? 9 * row : 0), b.Name, bars.Count > 14 ? 6.5 : 8, 0, ink, b.Strong && bars.Count <= 14 || b.Strong && every > 1));
        }

        return new Drawing(Width, height, marks, description);
    }

    private static void Axes(List<Mark> marks, string xName, string yName, double x0, double x1, double y0, double y1, Func<double, double> x, Func<double, double> y, double height, bool xTicks = true)
    {
        foreach (var v in Ticks(y0, y1))
        {
            marks.Add(new LineMark([(Left, y(v)), (Width - 12, y(v))], Ink.Dashed));
            marks.Add(new TextMark(Left - 4, y(v) + 3, Figure(v, y1 - y0), 8, 1, Ink.Strong));
        }

        if (xTicks)
            foreach (var v in Ticks(x0, x1)) marks.Add(new TextMark(x(v), height - Bottom + 12, Figure(v, x1 - x0), 8, 0, Ink.Strong));
        marks.Add(new LineMark([(Left, height - Bottom), (Width - 12, height - Bottom)], Ink.Strong));
        marks.Add(new TextMark(Left, Top - 1, yName, 8, -1, Ink.Strong, Bold: true));
        if (xName.Length > 0) marks.Add(new TextMark(Width - 12, height - 6, xName, 8, 1, Ink.Strong, Bold: true));
    }

    /// <summary>Names at the ends of lines are pushed apart where they would overlap.</summary>
    private static void Names(List<Mark> marks, List<(double Y, ChartSeries Series)> ends)
    {
        var at = double.NegativeInfinity;
        foreach (var (y, s) in ends.OrderBy(e => e.Y))
        {
            at = Math.Max(at + 9, y + 3);
            marks.Add(new TextMark(Width - Right + 4, at, s.Name, 8, -1, s.Ink));
        }
    }

    private static void Flush(List<Mark> marks, List<(double, double)> part, Ink ink)
    {
        if (part.Count > 1) marks.Add(new LineMark([.. part], ink));
        part.Clear();
    }

    private static (double, double) Range(IEnumerable<double> values)
    {
        double low = double.PositiveInfinity, high = double.NegativeInfinity;
        foreach (var v in values.Where(double.IsFinite)) (low, high) = (Math.Min(low, v), Math.Max(high, v));
        if (!double.IsFinite(low)) return (0, 1);
        var margin = high > low ? 0.06 * (high - low) : Math.Max(0.1, Math.Abs(low) * 0.05);
        return (low - margin, high + margin);
    }

    private static IEnumerable<double> Ticks(double low, double high)
    {
        var raw = (high - low) / 5;
        var power = Math.Pow(10, Math.Floor(Math.Log10(raw)));
        var step = (raw / power) switch { < 1.5 => 1, < 3.5 => 2, < 7.5 => 5, _ => 10 } * power;
        for (var v = Math.Ceiling(low / step) * step; v <= high + 1e-9 * step; v += step) yield return Math.Round(v, 12) + 0.0;
    }

    private static string Figure(double v, double span) => span switch { < 0.05 => $"{v:0.000}", < 0.8 => $"{v:0.00}", < 8 => $"{v:0.0}", _ => $"{v:0}" };
}
