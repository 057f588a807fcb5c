namespace CellWatch.Dashboard.Rule;

/// <summary>
/// The steps a ruler may take and which one fits. A scale never changes silently: whoever shows it says the step, and the one before
/// for five seconds after a change.
/// </summary>
/// <param name="Steps">Half ranges in display units, ascending: 5 means ±5.</param>
/// <param name="Unit">Unit as shown.</param>
/// <param name="PerCount">Display units a count of the frame stands for: 0.1 mV, 0.01 Ah.</param>
/// <param name="Decimals">Decimals of a figure on this ruler.</param>
public sealed record RuleScale(double[] Steps, string Unit, double PerCount, int Decimals)
{
    /// <summary>Deviation of a cell's voltage from the median.</summary>
    public static RuleScale Voltage { get; } = new([5, 10, 25, 50, 100, 250], "mV", 0.1, 0);

    /// <summary>Difference of charge from the median cell.</summary>
    public static RuleScale ChargeDifference { get; } = new([0.5, 1, 2.5, 5, 10, 25], "Ah", 0.01, 2);

    /// <summary>Deviation of a temperature from the median sensor.</summary>
    public static RuleScale TemperatureDifference { get; } = new([0.5, 1, 2.5, 5, 10, 25], "K", 0.1, 1);

    /// <summary>Deviation of a resistance from the median cell.</summary>
    public static RuleScale ResistanceDifference { get; } = new([0.05, 0.1, 0.25, 0.5, 1, 2.5], "mΩ", 0.01, 2);

    /// <summary>
    /// The step that shows the marks best. All of them, unless one or two stand so far out that they would flatten the rest: then at most
    /// two steps above what the rest needs, and those that do not fit become arrows with their figure.
    /// </summary>
    /// <param name="deviations">Absolute deviations in display units; reordered by this call.</param>
    public int Fit(Span<double> deviations)
    {
        if (deviations.IsEmpty) return 0;
        deviations.Sort();
        var all = StepFor(deviations[^1]);
        var rest = StepFor(deviations[^Math.Min(deviations.Length, 3)]);
        return Math.Min(all, rest + 2);
    }

    /// <summary>
    /// The step to show next. It grows at once, because a mark off the scale is news; it shrinks only after the smaller step has been
    /// enough, with a tenth to spare, for ten seconds.
    /// </summary>
    /// <param name="present">Step shown now; null at the first frame.</param>
    /// <param name="deviations">Absolute deviations in display units; reordered and scaled by this call.</param>
    /// <param name="fitsSmallerSinceS">Since when a smaller step would do; kept by the caller between calls.</param>
    /// <param name="nowS">Elapsed time, s.</param>
    public int Next(int? present, Span<double> deviations, ref double? fitsSmallerSinceS, double nowS)
    {
        var needed = Fit(deviations);
        if (present is not { } step || needed > step)
        {
            fitsSmallerSinceS = null;
            return needed;
        }

        foreach (ref var deviation in deviations) deviation *= 1.1;
        var withRoom = Fit(deviations);
        if (withRoom >= step)
        {
            fitsSmallerSinceS = null;
            return step;
        }

        fitsSmallerSinceS ??= nowS;
        if (nowS - fitsSmallerSinceS < 10) return step;
        fitsSmallerSinceS = null;
        return withRoom;
    }

    private int StepFor(double deviation)
    {
        for (var i = 0; i < Steps.Length; i++)
            if (deviation <= Steps[i]) return i;
        return Steps.Length - 1;
    }
}
