using CellWatch.Core.Estimation;
using CellWatch.Core.Pack;
using CellWatch.Core.Wording;

namespace CellWatch.Core.Proofs;

/// <summary>What an isolation test says. Informs; a licensed person judges.</summary>
/// <param name="Readings">As entered.</param>
/// <param name="Refusal">Why the readings cannot be, or null.</param>
/// <param name="Ohm">Ri, the weaker pole; NaN when refused.</param>
/// <param name="SingleLeakOhm">The leak itself if it is a single one; NaN when refused.</param>
/// <param name="OhmPerNominalV">Against the nominal voltage, as UN R100 divides.</param>
/// <param name="OhmPerHighestV">Against the highest working voltage, the stricter figure the gate passes on.</param>
/// <param name="Passed">Gate rule: 500 ohm/V of the highest working voltage.</param>
/// <param name="Position">Where a single leak would sit, with its caution; empty where isolation is too good to locate.</param>
/// <param name="Sentence">The whole finding.</param>
public sealed record IsolationFinding(
    IsolationReadings Readings, string? Refusal, double Ohm, double SingleLeakOhm, double OhmPerNominalV, double OhmPerHighestV, bool Passed, string Position, string Sentence);

/// <summary>
/// Judges a voltmeter isolation test: limits, position in the string, cautions.
/// <para>Source: method and division by nominal voltage as UN R100 revision 2, annex points 1.2.3; 100 and 500 ohm/V as its 5.1.3 quoted in
/// public texts; the gate's stricter denominator, and locating only below 1 MOhm, are own rules.</para>
/// </summary>
public static class IsolationJudgement
{
    /// <summary>Proceed at or above, ohm/V of the highest working voltage.</summary>
    public const double ProceedOhmPerV = 500;

    /// <summary>Stop below, ohm/V.</summary>
    public const double StopOhmPerV = 100;

    /// <summary>Below this it is worth finding out why, ohm; a dry new pack reads megohms (common practice, no source).</summary>
    public const double LocateBelowOhm = 1e6;

    /// <summary>Above this share of the meter's resistance the figure is the meter's as much as the pack's.</summary>
    public const double MeterShare = 0.1;

    /// <summary>Whether a finding says to stop rather than to find and dry.</summary>
    public static bool MustStop(IsolationFinding finding) => finding.OhmPerHighestV < StopOhmPerV;

    /// <summary>Judges the readings for a pack.</summary>
    /// <param name="r">The readings.</param>
    /// <param name="layout">The pack, to name group, module and slot.</param>
    /// <param name="nominalV">Nominal voltage of the pack.</param>
    /// <param name="highestV">Highest working voltage of the pack.</param>
    /// <param name="meterOhm">Resistance of the meter, at least 10 MOhm.</param>
    public static IsolationFinding Judge(in IsolationReadings r, PackLayout layout, double nominalV, double highestV, double meterOhm)
    {
        var result = IsolationTest.Evaluate(r, out var refusal);
        if (refusal is null && !(meterOhm >= 10e6))
            refusal = T($"The meter's resistance is given as {Figures.Ohm(meterOhm)}: the test needs a DC voltmeter of at least 10 MOhm.");
        if (result is not { } found || refusal is not null)
            return new(r, refusal, double.NaN, double.NaN, double.NaN, double.NaN, false, "", T($"Refused: {refusal}"));

        double perNominal = found.OhmPerVolt(nominalV), perHighest = found.OhmPerVolt(highestV);
        var passed = perHighest >= ProceedOhmPerV;
        var verdict = passed ? T("Passes") : perHighest < StopOhmPerV ? T("STOP: below 100 ohm/V") : T("Does not pass: find the leak and dry it");
        var position = found.Ohm < LocateBelowOhm ? Position(found, layout) : "";
        var sentence =
            T($"Ri = {Figures.Ohm(found.Ohm)}, {perNominal:0} ohm/V of the nominal {nominalV:0} V; {perHighest:0} ohm/V of the highest working {highestV:0.#} V, ") +
            T($"by which the gate is passed at {ProceedOhmPerV:0}. {verdict}. As one leak: {Figures.Ohm(found.SingleLeakOhm)}.");
        if (found.Ohm > MeterShare * meterOhm) sentence += T($" The meter ({Figures.Ohm(meterOhm)}) is of the same order: the pack may be better than this.");
        if (found.Ohm == 0) sentence += T(" One pole is connected to the body.");
        if (position.Length > 0) sentence += " " + position;
        return new(r, null, found.Ohm, found.SingleLeakOhm, perNominal, perHighest, passed, position, sentence);
    }

    private static string Position(in IsolationResult found, PackLayout layout)
    {
        var group = found.NearestGroup(layout.CellCount);
        var module = layout.Modules[layout.ModuleOfCell(group - 1)];
        return T($"If it is one leak it sits about {100 * found.PositionFromMinus:0} % up from negative: group {group}, module at {module.SlotInWords} ({module.Id}). ") +
            T("Two leaks would look the same: a lead, not a finding. Confirm by opening the link in the middle of the string and repeating the test on each half.");
    }
}
