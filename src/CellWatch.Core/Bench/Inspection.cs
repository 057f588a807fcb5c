using CellWatch.Core.Proofs;
using CellWatch.Core.Statistics;
using CellWatch.Core.Wording;

namespace CellWatch.Core.Bench;

/// <summary>What is entered at an incoming inspection.</summary>
/// <param name="MeterCellV">Hand-meter reading of each group, negative end first.</param>
/// <param name="LiveCellV">The front end's reading of the same; NaN or empty where none.</param>
/// <param name="TerminalV">Hand meter at the terminals.</param>
/// <param name="SwellingMm">Over flat.</param>
/// <param name="TemperatureDegC">Of the module.</param>
/// <param name="CaseMegohm">Terminal to case; null when not measured.</param>
/// <param name="Leak">Leak or smell.</param>
/// <param name="HeatMark">Heat mark on a tab.</param>
/// <param name="Words">What was seen.</param>
/// <param name="Instrument">Meter and its calibration date.</param>
public sealed record InspectionEntry(
    IReadOnlyList<double> MeterCellV, IReadOnlyList<double> LiveCellV, double TerminalV, double SwellingMm, double TemperatureDegC, double? CaseMegohm,
    bool Leak, bool HeatMark, string Words, string Instrument);

/// <summary>Outcome of an inspection.</summary>
/// <param name="Verdict">What it says.</param>
/// <param name="Reasons">Why, in words.</param>
/// <param name="Flags">Disagreements and things to look at again.</param>
/// <param name="SpreadMv">Between the groups.</param>
/// <param name="SumMinusTerminalMv">Sum of groups less terminals.</param>
public sealed record InspectionOutcome(Verdict Verdict, IReadOnlyList<string> Reasons, IReadOnlyList<string> Flags, double SpreadMv, double SumMinusTerminalMv)
{
    /// <summary>The reasons as one line; <c>no marks</c> when there is none.</summary>
    public string Words => Reasons.Count == 0 ? T("no marks") : string.Join("; ", Reasons);
}

/// <summary>
/// Incoming inspection: live reading and hand-meter reading side by side, and what rejects a module. Limits: common practice, no source; below
/// about 2.0 V copper may dissolve (from memory).
/// </summary>
public static class Inspection
{
    /// <summary>Meter and front end may differ by this, V.</summary>
    public const double DisagreeV = 0.005;

    /// <summary>A group below this rejects the module, V.</summary>
    public const double RejectV = 2.0;

    /// <summary>A group below this may only be recovered slowly, under supervision, and is marked for life, V.</summary>
    public const double RecoverV = 3.0;

    /// <summary>Swelling that rejects, mm over flat (own rule).</summary>
    public const double SwellingMm = 2.0;

    /// <summary>Judges an inspection; refuses readings that cannot be.</summary>
    /// <exception cref="Register.RefusedException">A reading cannot be.</exception>
    public static InspectionOutcome Judge(InspectionEntry e, int cells)
    {
        Register.RefusedException.Unless(e.MeterCellV.Count == cells, T($"{cells} group readings are needed, {e.MeterCellV.Count} were entered: enter one for each group, the negative end first."));
        for (var i = 0; i < cells; i++)
            Register.RefusedException.Unless(e.MeterCellV[i] is > -5 and < 5 && double.IsFinite(e.MeterCellV[i]), T($"Group {i + 1}: {e.MeterCellV[i]:0.###} V is no reading of a cell. Enter volts, one group at a time, not the stack from the negative end."));
        Register.RefusedException.Unless(e.TemperatureDegC is > -40 and < 60, T($"{e.TemperatureDegC:0.#} degC is not believable for a module on the bench: is it in degF? Enter degC."));

        var reasons = new List<string>();
        var flags = new List<string>();
        var verdict = Verdict.Accept;
        void Line(Verdict v, string why)
        {
            reasons.Add(why);
            if ((int)v > (int)verdict) verdict = v;
        }

        for (var i = 0; i < cells; i++)
        {
            var v = e.MeterCellV[i];
            if (v < RejectV) Line(Verdict.Reject, T($"group {i + 1} at {v:0.000} V, below {RejectV:0.0} V: do not recharge"));
            else if (v < RecoverV) Line(Verdict.LowPowerOnly, T($"group {i + 1} at {v:0.000} V: recover at C/50 or less under supervision, marked for life"));
            if (i < e.LiveCellV.Count && double.IsFinite(e.LiveCellV[i]) && Math.Abs(e.LiveCellV[i] - v) > DisagreeV)
                flags.Add(T($"group {i + 1}: meter {v:0.000} V, front end {e.LiveCellV[i]:0.000} V, {1000 * (e.LiveCellV[i] - v):+0;-0} mV apart. Clean the tap and read both again."));
        }

        if (e.Leak) Line(Verdict.Reject, T("leak or smell"));
        if (e.HeatMark) Line(Verdict.Reject, T("heat mark on a tab"));
        if (e.SwellingMm >= SwellingMm) Line(Verdict.Reject, T($"swollen by {e.SwellingMm:0.0} mm"));
        var sum = SumAgainstTerminal.JudgeModule([.. e.MeterCellV], e.TerminalV);
        if (!sum.Passed) flags.Add(sum.Sentence);
        if (e.CaseMegohm is null) flags.Add(T("terminal to case was not measured"));
        var spreadMv = 1000 * (e.MeterCellV.Max() - e.MeterCellV.Min());
        return new InspectionOutcome(verdict, reasons, flags, spreadMv, 1000 * (sum.SumV - sum.TerminalV));
    }

    /// <summary>Modules whose spread stands apart from their siblings (modified z-score beyond 3.5), in words.</summary>
    public static IReadOnlyList<string> StandApart(IReadOnlyList<(string Identity, double SpreadMv)> modules)
    {
        if (modules.Count < 4) return [];
        var scores = new double[modules.Count];
        Robust.ModifiedZ([.. modules.Select(m => m.SpreadMv)], 1, scores);
        var found = modules.Where((_, i) => scores[i] > Robust.OutlierScore).Select(m => m.Identity).ToList();
        return found.Count == 0 ? [] : [T($"{Figures.List(found)} spread wider than the siblings")];
    }
}
