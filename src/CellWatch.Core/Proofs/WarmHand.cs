using CellWatch.Core.Pack;
using CellWatch.Core.Wording;

namespace CellWatch.Core.Proofs;

/// <summary>What came of the proof of one temperature sensor.</summary>
/// <param name="Proven">True when exactly the named sensor rose.</param>
/// <param name="Sentence">What to say.</param>
/// <param name="Rose">Names of the sensors that rose.</param>
/// <param name="RiseK">Rise of the named sensor, K.</param>
public sealed record WarmHandOutcome(bool Proven, string Sentence, IReadOnlyList<string> Rose, double RiseK);

/// <summary>
/// A warm hand, or a 40 degC water bag, on one sensor for 60 s: exactly one channel rises by 1 K or more. Before, after a night at rest,
/// all sensors agree within 1 K; an open sensor reads very cold, a shorted one very hot. Source: common practice, no source.
/// </summary>
public static class WarmHand
{
    /// <summary>Rise that counts, K.</summary>
    public const double RiseCountsK = 1.0;

    /// <summary>Largest difference from the median after a night at rest, K.</summary>
    public const double RestAgreementK = 1.0;

    /// <summary>Judges one sensor from readings before and after the hand was held; NaN where there is none.</summary>
    public static WarmHandOutcome Judge(IReadOnlyList<string> names, int sensor, ReadOnlySpan<double> beforeDegC, ReadOnlySpan<double> afterDegC, CellLimits limits)
    {
        if (Fault(names[sensor], beforeDegC[sensor], limits) is { } fault) return new WarmHandOutcome(false, fault, [], double.NaN);
        var rose = new List<string>();
        for (var i = 0; i < names.Count; i++)
            if (afterDegC[i] - beforeDegC[i] >= RiseCountsK) rose.Add(names[i]);
        var riseK = afterDegC[sensor] - beforeDegC[sensor];
        if (!double.IsFinite(riseK)) return new WarmHandOutcome(false, T($"{names[sensor]} gave no reading while the hand was held: look at its data first."), rose, double.NaN);
        if (rose.Count == 1 && rose[0] == names[sensor]) return new WarmHandOutcome(true, T($"{names[sensor]} rose by {riseK:0.0} K and no other did."), rose, riseK);
        if (rose.Count == 0) return new WarmHandOutcome(false, T($"No sensor rose by {RiseCountsK:0} K. Hold the hand for a full minute, or use a 40 degC water bag."), rose, riseK);
        return new WarmHandOutcome(false, rose.Contains(names[sensor])
            ? T($"{Figures.List(rose)} rose together: one was expected. Keep the hand away from the neighbours and repeat.")
            : T($"The hand is on {names[sensor]}, but {Figures.List(rose)} rose: the sensors are exchanged. Correct and prove both again."), rose, riseK);
    }

    /// <summary>Sensors that disagree after a night at rest, in words; empty when all agree.</summary>
    public static IReadOnlyList<string> RestFaults(IReadOnlyList<string> names, ReadOnlySpan<double> degC, CellLimits limits)
    {
        var faults = new List<string>();
        var good = new List<double>();
        for (var i = 0; i < names.Count; i++)
        {
            if (Fault(names[i], degC[i], limits) is { } fault) faults.Add(fault);
            else good.Add(degC[i]);
        }

        var median = Statistics.Robust.Median(System.Runtime.InteropServices.CollectionsMarshal.AsSpan(good));
        for (var i = 0; i < names.Count; i++)
            if (Fault(names[i], degC[i], limits) is null && Math.Abs(degC[i] - median) > RestAgreementK)
                faults.Add(T($"{names[i]} reads {degC[i]:0.0} degC where the others read {median:0.0}: after a night at rest they should agree within {RestAgreementK:0} K."));
        return faults;
    }

    private static string? Fault(string name, double degC, CellLimits limits)
    {
        if (!double.IsFinite(degC)) return T($"{name} gives no reading.");
        if (degC < limits.PlausibleColdDegC) return T($"{name} reads {degC:0} degC: the sensor is open (a broken lead reads very cold).");
        return degC > limits.PlausibleHotDegC ? T($"{name} reads {degC:0} degC: the sensor is shorted, or the figure is in degF.") : null;
    }
}
