using CellWatch.Core.Estimation;

namespace CellWatch.Core.Proofs;

/// <summary>What a pre-charge looked like.</summary>
public enum PrechargeVerdict
{
    /// <summary>As it should.</summary>
    Good,

    /// <summary>Too slow, or it never reached the share: a leak or a load on the bus.</summary>
    Slow,

    /// <summary>Too fast: capacitance lost, or not connected.</summary>
    Fast,

    /// <summary>No rise: the resistor is open, or its relay did not close.</summary>
    NoRise,

    /// <summary>The bus did not fall after the contactors were told to open.</summary>
    Welded,

    /// <summary>The samples do not show enough.</summary>
    NotJudged,
}

/// <summary>Samples of one pre-charge: seconds since the resistor was switched on and the bus voltage, at 50 Hz or more.</summary>
/// <param name="TimeS">Rising.</param>
/// <param name="BusV">As many.</param>
/// <param name="PackV">Voltage of the pack.</param>
/// <param name="BusAfterOpeningV">Bus voltage 5 time constants of its own bleeder after opening; null when not looked at.</param>
public sealed record PrechargeCurve(IReadOnlyList<double> TimeS, IReadOnlyList<double> BusV, double PackV, double? BusAfterOpeningV);

/// <summary>Outcome of one pre-charge.</summary>
/// <param name="Verdict">What it looked like.</param>
/// <param name="TimeTo95S">Time to 95 % of the pack, s; NaN when never reached.</param>
/// <param name="FinalShare">Share of the pack voltage at the end.</param>
/// <param name="Sentence">What to say.</param>
public sealed record PrechargeFinding(PrechargeVerdict Verdict, double TimeTo95S, double FinalShare, string Sentence);

/// <summary>
/// Compares a pre-charge with the reference: an earlier good curve, or R and C where there is none yet. Source: first-order circuit
/// (95 % at 3 tau); the window of -40 to +50 % of the reference time is an own rule.
/// </summary>
public static class PrechargeJudgement
{
    /// <summary>Share of the pack voltage that must be reached (common practice, no source).</summary>
    public const double FinalShareNeeded = 0.95;

    private const double FastBelow = 0.6, SlowAbove = 1.5, NoRiseBelow = 0.05, FellBelow = 0.5, LeastRateHz = 50;

    /// <summary>The reference time to 95 % from resistor and capacitance, s.</summary>
    public static double ReferenceTimeS(Precharge circuit) => circuit.TimeToS(FinalShareNeeded);

    /// <summary>Judges a curve against a reference time to 95 %.</summary>
    public static PrechargeFinding Judge(PrechargeCurve curve, double referenceTimeS)
    {
        var n = curve.TimeS.Count;
        if (n < 2 || n != curve.BusV.Count || !(curve.PackV > 0))
            return new(PrechargeVerdict.NotJudged, double.NaN, double.NaN, T("At least two samples of time and bus voltage, and the pack voltage, are needed."));
        for (var i = 1; i < n; i++)
            if (!(curve.TimeS[i] > curve.TimeS[i - 1])) return new(PrechargeVerdict.NotJudged, double.NaN, double.NaN, T($"Time does not rise at sample {i + 1}: check the recording."));
        var share = curve.BusV[n - 1] / curve.PackV;
        var time = TimeTo(curve, FinalShareNeeded);
        if (curve.BusAfterOpeningV is { } after && after > FellBelow * curve.PackV)
            return new(PrechargeVerdict.Welded, time, share, T($"The bus still reads {after:0} V after opening: a contactor is welded or still closed. STOP, do not retry; the bus is live."));
        var rateHz = (n - 1) / (curve.TimeS[n - 1] - curve.TimeS[0]);
        if (rateHz < LeastRateHz) return new(PrechargeVerdict.NotJudged, time, share, T($"Sampled at {rateHz:0} Hz: {LeastRateHz:0} Hz or more are needed to judge the curve."));
        if (share < NoRiseBelow)
            return new(PrechargeVerdict.NoRise, time, share, T("The bus did not rise: the resistor is open or its relay did not close. Measure it cold before another try."));
        if (double.IsNaN(time) || time > SlowAbove * referenceTimeS)
            return new(PrechargeVerdict.Slow, time, share, double.IsNaN(time)
                ? T($"The bus reached only {100 * share:0} % of the pack: a leak or a load on the bus. Do not close the main contactor.")
                : T($"95 % after {1000 * time:0} ms, reference {1000 * referenceTimeS:0} ms: a leak or a load on the bus."));
        if (time < FastBelow * referenceTimeS)
            return new(PrechargeVerdict.Fast, time, share, T($"95 % after {1000 * time:0} ms, reference {1000 * referenceTimeS:0} ms: capacitance lost, or not connected."));
        return new(PrechargeVerdict.Good, time, share,
            T($"95 % after {1000 * time:0} ms, reference {1000 * referenceTimeS:0} ms; {100 * share:0} % at the end{(curve.BusAfterOpeningV is null ? T("; opening not looked at") : T("; the bus fell after opening"))}."));
    }

    /// <summary>Whether another try is wise: three in a row cook the resistor (common practice, no source).</summary>
    public static (bool Allowed, string Sentence) Retry(int triesInARow, double secondsSinceLast, double coolDownS) =>
        triesInARow >= 3 && secondsSinceLast < coolDownS
            ? (false, T($"{triesInARow} tries in a row heat the resistor beyond its rating: wait {coolDownS - secondsSinceLast:0} s."))
            : (true, T("The resistor has had time to cool."));

    private static double TimeTo(PrechargeCurve curve, double share)
    {
        var wanted = share * curve.PackV;
        for (var i = 0; i < curve.BusV.Count; i++)
        {
            if (curve.BusV[i] < wanted) continue;
            if (i == 0) return curve.TimeS[0];
            var part = (wanted - curve.BusV[i - 1]) / (curve.BusV[i] - curve.BusV[i - 1]);
            return curve.TimeS[i - 1] + part * (curve.TimeS[i] - curve.TimeS[i - 1]);
        }

        return double.NaN;
    }
}
