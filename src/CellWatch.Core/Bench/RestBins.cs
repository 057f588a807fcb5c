using CellWatch.Core.Statistics;

namespace CellWatch.Core.Bench;

/// <summary>Samples of a rest averaged over equal stretches; a stretch without samples of every group is left out, never filled.</summary>
internal sealed class RestBins
{
    /// <summary>Days since the first sample, middle of each stretch.</summary>
    public double[] Days { get; private init; } = [];

    /// <summary>Mean of each group, mV.</summary>
    public double[][] CellMv { get; private init; } = [];

    /// <summary>Line through the module's median, mV a day, temperature taken out where it was recorded; null with too few stretches.</summary>
    public LineFit? MedianFit { get; private init; }

    public static RestBins Of(RestRecording r, RestTestSettings s)
    {
        var days = new List<double>();
        var cells = r.CellV.Select(_ => new List<double>()).ToArray();
        var degC = new List<double>();
        var widthS = s.AverageHours * 3600;
        var i = 0;
        while (i < r.TimeS.Length)
        {
            if (r.TimeS[i] - r.TimeS[0] < s.DropFirstHours * 3600)
            {
                i++;
                continue;
            }

            var bin = Math.Floor((r.TimeS[i] - r.TimeS[0]) / widthS);
            var from = i;
            while (i < r.TimeS.Length && Math.Floor((r.TimeS[i] - r.TimeS[0]) / widthS) == bin) i++;
            // Guards a clock that went back, which is refused elsewhere.
            if (i == from) i++;
            var means = r.CellV.Select(c => MeanMv(c, from, i)).ToArray();
            if (means.Any(double.IsNaN)) continue;
            days.Add((bin + 0.5) * widthS / 86400);
            for (var g = 0; g < cells.Length; g++) cells[g].Add(means[g]);
            degC.Add(r.TemperatureDegC is null ? 0 : MeanMv(r.TemperatureDegC, from, i) / 1000);
        }

        var bins = new RestBins { Days = [.. days], CellMv = [.. cells.Select(c => c.ToArray())] };
        return new RestBins { Days = bins.Days, CellMv = bins.CellMv, MedianFit = MedianLine(bins, r.TemperatureDegC is null ? null : [.. degC]) };
    }

    /// <summary>Whether a channel never moved at all: a real one has noise.</summary>
    public bool IsFrozen(double[] cellV)
    {
        var seen = cellV.Where(double.IsFinite).ToList();
        return seen.Count > 20 && seen.TrueForAll(v => v == seen[0]) && CellMv.Length > 1;
    }

    private static double MeanMv(double[] values, int from, int to)
    {
        double sum = 0;
        var n = 0;
        for (var i = from; i < to; i++)
        {
            if (!double.IsFinite(values[i])) continue;
            sum += values[i];
            n++;
        }

        return n == 0 ? double.NaN : 1000 * sum / n;
    }

    private static LineFit? MedianLine(RestBins bins, double[]? degC)
    {
        if (bins.Days.Length < 4 || bins.CellMv.Length == 0) return null;
        var median = new double[bins.Days.Length];
        var scratch = new double[bins.CellMv.Length];
        for (var i = 0; i < median.Length; i++)
        {
            for (var g = 0; g < scratch.Length; g++) scratch[g] = bins.CellMv[g][i];
            median[i] = Robust.Median(scratch);
        }

        if (degC is null || degC.Any(double.IsNaN) || degC.Max() - degC.Min() < 0.2) return LineFit.Through(bins.Days, median);
        // Two steps of least squares: what temperature explains beyond its own trend is taken out first.
        double[][] columns = [[.. median.Select(_ => 1.0)], bins.Days, degC];
        var both = LeastSquares.Solve(columns, median, out _);
        if (both is null) return LineFit.Through(bins.Days, median);
        for (var i = 0; i < median.Length; i++) median[i] -= both.Coefficients[2] * degC[i];
        return LineFit.Through(bins.Days, median);
    }
}
