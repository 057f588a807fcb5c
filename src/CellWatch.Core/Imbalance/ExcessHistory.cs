using CellWatch.Core.Statistics;

namespace CellWatch.Core.Imbalance;

/// <summary>How a cell's excess resistance went over the last steps of current.</summary>
internal enum ExcessPattern
{
    /// <summary>Too few steps, or its siblings' resistance hardly moved: both explanations fit.</summary>
    Unclear,

    /// <summary>The same ohms in every step while its siblings' resistance moved: metal in series, a joint.</summary>
    Constant,

    /// <summary>The same share of its siblings' resistance in every step: the cell's own.</summary>
    Proportional,

    /// <summary>Another value from one step to the next: a contact.</summary>
    Jumping,
}

/// <summary>What the last steps say about a cell's excess resistance; ohm, NaN where not told.</summary>
internal readonly record struct ExcessReading(ExcessPattern Pattern, int Steps, double MeanOhm, double LowOhm, double HighOhm, double SiblingsLowOhm, double SiblingsHighOhm);

/// <summary>
/// Keeps each cell's resistance above the median cell's over the last steps of current, to tell a joint inside its loop from the cell's own ohmic
/// part: temperature and charge move the resistance of all cells of one make alike (it roughly doubles from 25 to 0 degC), a joint adds the same ohms
/// whatever they do, and a loose one jumps. No allocation while taking.
/// <para>Source: resistance of cells against temperature and charge, and the signs of a loose joint, common practice; least squares of the two one-figure
/// models and the bounds between them are rules of this program.</para>
/// </summary>
internal sealed class ExcessHistory(int cells)
{
    /// <summary>Steps kept.</summary>
    public const int Depth = 16;

    /// <summary>Fewer steps tell nothing.</summary>
    private const int FewestSteps = 6;

    /// <summary>How far the better model must be ahead, in squared deviations; the chance of that by noise is below one in a hundred.</summary>
    private const double Ahead = 9;

    /// <summary>Neither a joint nor a cell is exactly what its model says: share of the mean excess.</summary>
    private const double ModelShare = 0.04;

    /// <summary>Scatter worth a jump, as a share of the mean excess.</summary>
    private const double JumpShare = 0.15;

    private readonly double[] _excess = new double[cells * Depth];
    private readonly double[] _last = new double[cells];
    private readonly double[] _median = new double[Depth];
    private readonly double[] _scratch = new double[cells];
    private double _sigmaOhm = double.NaN;
    private int _at;

    /// <summary>Steps on record.</summary>
    public int Count { get; private set; }

    /// <summary>Takes the 10 s resistances of one step; a cell whose value is not new is left out of it.</summary>
    /// <param name="ohm">Latest value of every cell, ohm; NaN where there is none.</param>
    /// <param name="medianOhm">Of the median cell.</param>
    public void Take(ReadOnlySpan<double> ohm, double medianOhm)
    {
        if (!(medianOhm > 0)) return;
        for (var cell = 0; cell < cells; cell++)
        {
            // A cell that was not seen in this step still shows its value of the step before, to the last bit.
            _excess[cell * Depth + _at] = ohm[cell].Equals(_last[cell]) ? double.NaN : ohm[cell] - medianOhm;
            _last[cell] = ohm[cell];
        }

        _median[_at] = medianOhm;
        _at = (_at + 1) % Depth;
        Count = Math.Min(Depth, Count + 1);
        _sigmaOhm = UsualScatter();
    }

    /// <summary>What the steps on record say about one cell.</summary>
    public ExcessReading Read(int cell)
    {
        Span<double> excess = stackalloc double[Depth];
        Span<double> median = stackalloc double[Depth];
        var n = Gather(cell, excess, median);
        var nothing = new ExcessReading(ExcessPattern.Unclear, n, double.NaN, double.NaN, double.NaN, double.NaN, double.NaN);
        if (n < FewestSteps || !(_sigmaOhm > 0)) return nothing;
        excess = excess[..n];
        median = median[..n];
        var fit = Fit(excess, median);
        var reading = nothing with { MeanOhm = fit.MeanOhm, LowOhm = Least(excess), HighOhm = Greatest(excess), SiblingsLowOhm = Least(median), SiblingsHighOhm = Greatest(median) };

        var variance = _sigmaOhm * _sigmaOhm + ModelShare * ModelShare * fit.MeanOhm * fit.MeanOhm;
        var bound = n - 1 + 3 * Math.Sqrt(2.0 * (n - 1));
        double constant = fit.ConstantRss / variance, proportional = fit.ProportionalRss / variance;
        if (constant <= bound && proportional >= constant + Ahead) return reading with { Pattern = ExcessPattern.Constant };
        if (proportional <= bound && constant >= proportional + Ahead) return reading with { Pattern = ExcessPattern.Proportional };
        return constant > bound && proportional > bound && Jumps(excess, fit.MeanOhm) ? reading with { Pattern = ExcessPattern.Jumping } : reading;
    }

    /// <summary>
    /// Whether it stands at unlike values with leaps between: a slow trend has no leap, one wrong reading has no company, and noise of the channel itself goes
    /// below zero as often as above.
    /// </summary>
    private bool Jumps(ReadOnlySpan<double> excess, double meanOhm)
    {
        double low = Least(excess), high = Greatest(excess), leap = 0, squares = 0;
        int upper = 0, lower = 0;
        for (var i = 0; i < excess.Length; i++)
        {
            if (i > 0) leap = Math.Max(leap, Math.Abs(excess[i] - excess[i - 1]));
            squares += (excess[i] - meanOhm) * (excess[i] - meanOhm);
            if (excess[i] > (low + high) / 2) upper++;
            else lower++;
        }

        return meanOhm > 0 && low > -4 * _sigmaOhm && upper >= 2 && lower >= 2 && Math.Sqrt(squares / (excess.Length - 1)) > JumpShare * meanOhm
            && leap >= (high - low) / 2 && leap >= 6 * _sigmaOhm;
    }

    /// <summary>Scatter of a usual cell's excess about its own share of the median, ohm: the median over all cells, so that a few bad ones do not widen it.</summary>
    private double UsualScatter()
    {
        if (Count < FewestSteps) return double.NaN;
        Span<double> excess = stackalloc double[Depth];
        Span<double> median = stackalloc double[Depth];
        var known = 0;
        for (var cell = 0; cell < cells; cell++)
        {
            var n = Gather(cell, excess, median);
            if (n >= FewestSteps) _scratch[known++] = Math.Sqrt(Fit(excess[..n], median[..n]).ProportionalRss / (n - 1));
        }

        return known == 0 ? double.NaN : Robust.MedianInPlace(_scratch.AsSpan(0, known));
    }

    /// <summary>Oldest first.</summary>
    private int Gather(int cell, Span<double> excess, Span<double> median)
    {
        var n = 0;
        for (var back = Count; back >= 1; back--)
        {
            var i = (_at - back + Depth) % Depth;
            var e = _excess[cell * Depth + i];
            if (double.IsNaN(e)) continue;
            (excess[n], median[n]) = (e, _median[i]);
            n++;
        }

        return n;
    }

    private static (double MeanOhm, double ConstantRss, double ProportionalRss) Fit(ReadOnlySpan<double> excess, ReadOnlySpan<double> median)
    {
        double sum = 0, products = 0, squares = 0;
        for (var i = 0; i < excess.Length; i++)
        {
            sum += excess[i];
            products += excess[i] * median[i];
            squares += median[i] * median[i];
        }

        double mean = sum / excess.Length, share = products / squares, constant = 0, proportional = 0;
        for (var i = 0; i < excess.Length; i++)
        {
            constant += (excess[i] - mean) * (excess[i] - mean);
            proportional += (excess[i] - share * median[i]) * (excess[i] - share * median[i]);
        }

        return (mean, constant, proportional);
    }

    private static double Least(ReadOnlySpan<double> values)
    {
        var least = double.PositiveInfinity;
        foreach (var v in values) least = Math.Min(least, v);
        return least;
    }

    private static double Greatest(ReadOnlySpan<double> values)
    {
        var greatest = double.NegativeInfinity;
        foreach (var v in values) greatest = Math.Max(greatest, v);
        return greatest;
    }
}
