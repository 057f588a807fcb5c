namespace CellWatch.Core.Bench;

/// <summary>
/// The course of a charge made small enough to keep: stretches of equal length, each with its true greatest and least, so that no peak is lost; a gap
/// breaks the lines and is never bridged.
/// </summary>
internal sealed class ChargeCourse
{
    /// <summary>Points kept, at most about so many: more than a printed page can show.</summary>
    public const int Points = 400;

    private readonly List<(double TimeS, double A, double TopV, double LowV)> rows = [];

    /// <summary>Takes a scan.</summary>
    public void Add(double timeS, double currentA, double highestV, double lowestV) => rows.Add((timeS, currentA, highestV, lowestV));

    /// <summary>Data were missing here.</summary>
    public void Break() => rows.Add((double.NaN, double.NaN, double.NaN, double.NaN));

    /// <summary>The course.</summary>
    public ChargeCurve Curve()
    {
        var (time, most, least, top, low) = (new List<double>(), new List<double>(), new List<double>(), new List<double>(), new List<double>());
        void Put(double t, double a1, double a0, double v1, double v0)
        {
            time.Add(t);
            most.Add(a1);
            least.Add(a0);
            top.Add(v1);
            low.Add(v0);
        }

        var spanS = rows.Count == 0 ? 0 : rows[^1].TimeS - rows[0].TimeS;
        var widthS = spanS / Points;
        for (var i = 0; i < rows.Count;)
        {
            if (double.IsNaN(rows[i].TimeS))
            {
                // A point without values, where the line broke off.
                Put(time[^1], double.NaN, double.NaN, double.NaN, double.NaN);
                i++;
                continue;
            }

            var from = i;
            for (i++; i < rows.Count && !double.IsNaN(rows[i].TimeS) && rows[i].TimeS - rows[from].TimeS < widthS; i++)
            {
            }

            var part = rows[from..i];
            Put(Math.Round((part[0].TimeS + part[^1].TimeS) / 2, 2), Most(part.Select(r => r.A)), -Most(part.Select(r => -r.A)), Most(part.Select(r => r.TopV)), -Most(part.Select(r => -r.LowV)));
        }

        return new ChargeCurve([.. time], [.. most], [.. top], [.. low], [.. least]);
    }

    private static double Most(IEnumerable<double> values) => values.Where(double.IsFinite).DefaultIfEmpty(double.NaN).Max();
}
