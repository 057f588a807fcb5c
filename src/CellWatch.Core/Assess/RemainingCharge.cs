namespace CellWatch.Core.Assess;

/// <summary>
/// Charge a cell of a string would still have given when another one ended the run, from the tail of the one that ended: the time
/// since that one passed the voltage at which this one stands now. It takes all cells for alike in shape, so its doubt carries the
/// spread of capacity and of resistance between used cells.
/// <para>Source: own method. The shares below were chosen on three discharges of one used string at 0.3, 2 and 2.75C.</para>
/// </summary>
public static class RemainingCharge
{
    /// <summary>Doubt of the shape: used cells of one string differ by several percent in capacity.</summary>
    public const double ShapeSigma = 0.07;

    /// <summary>Doubt of a voltage under load between two cells, V, besides their resistance.</summary>
    public const double VoltageSigmaV = 0.010;

    /// <summary>Share by which resistance near empty may differ beyond what the 10 s value tells; it is about twice that of mid charge there.</summary>
    public const double ResistanceSigma = 0.2, NearEmptyFactor = 2;

    /// <summary>Added doubt at another rate, as a share of the charge for each factor e of current.</summary>
    public const double RateSigma = 0.08;

    /// <summary>
    /// Remaining charge and its standard deviation, Ah. <paramref name="tailV"/> and <paramref name="tailAh"/>: voltage of the cell that
    /// ended the run and charge still to come until the end, from the start of the run to its end. Null where that cell was never as
    /// low as this one.
    /// </summary>
    public static (double Ah, double SigmaAh)? FromTail(ReadOnlySpan<double> tailV, ReadOnlySpan<double> tailAh, double endV, double currentA, double ohm)
    {
        var r = tailV.Length - 1;
        while (r > 0 && tailV[r - 1] < endV) r--;
        if (r == 0) return null;
        double drop = tailV[r - 1] - tailV[r], share = drop > 0 ? Math.Clamp((tailV[r - 1] - endV) / drop, 0, 1) : 0;
        var ah = tailAh[r - 1] + share * (tailAh[r] - tailAh[r - 1]);
        var slopeVPerAh = SlopeAround(tailV, tailAh, ah);
        double resistiveV = ResistanceSigma * NearEmptyFactor * Math.Abs(currentA) * ohm, shapeAh = ShapeSigma * ah;
        return (ah, Math.Sqrt(shapeAh * shapeAh + (VoltageSigmaV * VoltageSigmaV + resistiveV * resistiveV) / (slopeVPerAh * slopeVPerAh)));
    }

    /// <summary>The standard deviation when the figure is used at another current.</summary>
    public static double SigmaAtRate(double ah, double sigmaAh, double measuredA, double otherA)
    {
        var rate = RateSigma * ah * Math.Log(Math.Abs(otherA / measuredA));
        return Math.Sqrt(sigmaAh * sigmaAh + rate * rate);
    }

    /// <summary>Slope over half an ampere-hour or a fifth of what is left, whichever is more: a single step of 1 mV says nothing.</summary>
    private static double SlopeAround(ReadOnlySpan<double> tailV, ReadOnlySpan<double> tailAh, double ah)
    {
        var half = Math.Max(0.25, 0.1 * ah);
        int a = tailV.Length - 1, b = a;
        while (a > 0 && tailAh[a] < ah + half) a--;
        while (b > 0 && tailAh[b] < ah - half) b--;
        return a == b ? 0.1 : Math.Max(0.005, (tailV[a] - tailV[b]) / (tailAh[a] - tailAh[b]));
    }
}
