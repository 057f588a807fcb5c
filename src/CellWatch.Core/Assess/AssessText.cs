using System.Globalization;
using System.Text;

namespace CellWatch.Core.Assess;

/// <summary>A report as plain text for a terminal: verdict first, then a table, a picture where it helps, then what was found unfit.</summary>
public static class AssessText
{
    private const int PictureWidth = 40;

    /// <summary>The text, lines ended by <c>\n</c>.</summary>
    public static string Render(AssessReport report)
    {
        var text = new StringBuilder();
        Line(text, $"{report.File}: {report.Kind}");
        Line(text, Verdict(report));
        text.Append('\n');
        switch (report)
        {
            case StringReport s:
                Runs(text, s);
                Cells(text, s);
                break;
            case CapacityReport c:
                Runs(text, c);
                break;
            case PulseReport p:
                Pulses(text, p);
                break;
            case ChargeReport c:
                Tapers(text, c);
                break;
            default:
                break;
        }

        foreach (var u in report.Unfit) Line(text, u.AtS is { } at ? $"! {u.Reason}, at {at:F0} s: {u.Detail}" : $"! {u.Reason}: {u.Detail}");
        Line(text, $"Rows: {report.Rows.Read} read, {report.Rows.Used} used, {report.Rows.Marked} marked and not used.");
        Line(text, report.Definition);
        Line(text, $"This program informs. It does not replace hardware protection or a licensed person.");
        return text.ToString();
    }

    /// <summary>One sentence.</summary>
    public static string Verdict(AssessReport report) => FormattableString.Invariant(Sentence(report));

    private static FormattableString Sentence(AssessReport report) => report switch
    {
        RefusedReport r => $"Not fit: {r.Unfit[0].Detail}",
        StringReport { Cells.Count: > 0 } s => $"{Largest(s.Discharges):F2} Ah out; cell {s.Weakest} ended it at {s.Cells.Min(c => c.EndV):F3} V, the next at {s.Cells.OrderBy(c => c.EndV).ElementAt(1).EndV:F3} V. Weak because: {s.WeakestBecause}.",
        StringReport => $"Not fit as a string: {report.Unfit[^1].Detail}",
        CapacityReport { Fit: true } c => $"{c.Discharges.Count} discharge(s), largest {Largest(c.Discharges):F3} Ah; {c.Charges.Count} charge(s), largest {Largest(c.Charges):F3} Ah.",
        PulseReport { Fit: true } p => $"{p.Pulses.Count} pulse(s); 10 s resistance {Range(p.Pulses.Select(x => x.Resistance10sMilliohm))} mOhm.",
        ChargeReport { Fit: true } c => $"{c.Tapers.Count} taper(s); time constant {Range(c.Tapers.Select(x => x.TimeConstantS))} s. Real tapers get slower near the end.",
        RestReport { LeakMilliampere: { } leak } => $"Worst cell leaks {leak:F1} mA more than its siblings.",
        RestReport r => $"No leak figure: {r.Why}.",
        _ => $"Not fit for this question: {report.Unfit.FirstOrDefault(u => u.Reason is "sense connection" or "no pulse" or "no taper" or "no current")?.Detail ?? "nothing found"}",
    };

    private static void Runs(StringBuilder text, CapacityReport report)
    {
        Line(text, $"{"",-11}{"start s",10}{"end s",10}{"Ah",9}{"Wh",10}{"ended by",10}{"at V",8}{"degC",7}{"tester Ah",11}");
        foreach (var (name, runs) in new[] { ("discharge", report.Discharges), ("charge", report.Charges) })
            foreach (var r in runs)
                Line(text, $"{name,-11}{r.StartS,10:F0}{r.EndS,10:F0}{Figure(r.ChargeAh, "F3"),9}{Figure(r.EnergyWh, "F1"),10}{r.EndedBy,10}{r.EndV,8:F3}{Figure(r.MeanTemperatureDegC, "F1"),7}{Figure(r.TesterAh, "F2"),11}{Note(r.Record, r.Why)}");
        text.Append('\n');
    }

    private static void Cells(StringBuilder text, StringReport report)
    {
        if (report.Cells.Count == 0) return;
        Line(text, $"{"cell",4}{"rest V",9}{"end V",8}{"left Ah",9}{"+-",6}{"mOhm 10 s",11}");
        var most = Math.Max(0.1, report.Cells.Max(c => c.RemainingAh ?? 0));
        foreach (var c in report.Cells)
        {
            var bar = c.RemainingAh is { } ah ? new string('#', (int)Math.Round(PictureWidth * ah / most / 2)) : "";
            Line(text, $"{c.Index,4}{Figure(c.RestV, "F3"),9}{c.EndV,8:F3}{Figure(c.RemainingAh, "F1"),9}{Figure(c.RemainingSigmaAh, "F1"),6}{Figure(c.Resistance10sMilliohm, "F3"),11}  {bar}{Note(null, c.Why)}");
        }

        Line(text, report.LinkResistanceMilliohm is { } ohm
            ? $"Links: {ohm:F2} +- {2 * report.LinkResistanceSigmaMilliohm:F2} mOhm in all; meter offset {1000 * report.LinkOffsetV:F0} mV."
            : (FormattableString)$"Links: not known (no string voltage beside the cells, or one current only).");
        text.Append('\n');
    }

    private static void Pulses(StringBuilder text, PulseReport report)
    {
        Line(text, $"{"start s",10}{"A",9}{"s",7}{"rest V",9}{"2 s",8}{"10 s",8}{"end",8}{"+-",7}  mOhm");
        foreach (var p in report.Pulses)
            Line(text, $"{p.StartS,10:F1}{p.CurrentA,9:F2}{p.DurationS,7:F1}{p.RestV,9:F4}{Figure(p.Resistance2sMilliohm, "F2"),8}{Figure(p.Resistance10sMilliohm, "F2"),8}{Figure(p.ResistanceEndMilliohm, "F2"),8}{p.PlusMinusMilliohm,7:F2}{(p.CutShort ? "  cut short by a voltage limit" : "")}{Note(p.Record, p.Why)}");
        text.Append('\n');
    }

    private static void Tapers(StringBuilder text, ChargeReport report)
    {
        Line(text, $"{"start s",10}{"end s",10}{"tau s",8}{"end A",9}{"from A",9}{"to A",9}{"rows",6}{"R2",8}");
        foreach (var t in report.Tapers)
            Line(text, $"{t.StartS,10:F0}{t.EndS,10:F0}{Figure(t.TimeConstantS, "F0"),8}{t.EndCurrentA,9:F3}{Figure(t.FitFromA, "G4"),9}{Figure(t.FitToA, "G4"),9}{t.FitRows,6}{Figure(t.RSquared, "F4"),8}{Note(t.Record, t.Why)}");
        text.Append('\n');
    }

    private static double Largest(IReadOnlyList<CurrentRun> runs) => runs.Max(r => r.ChargeAh) ?? 0;

    private static string Range(IEnumerable<double?> values)
    {
        var known = values.Where(v => v is not null).Select(v => v!.Value).ToArray();
        if (known.Length == 0) return "not known";
        return known.Min() == known.Max() ? Figure(known[0], "G4") : $"{Figure(known.Min(), "G4")} to {Figure(known.Max(), "G4")}";
    }

    private static string Figure(double? value, string format) => value is { } v ? v.ToString(format, CultureInfo.InvariantCulture) : "-";

    private static string Note(string? record, string? why) => (record, why) switch
    {
        (null, null) => "",
        (_, null) => $"  {record}",
        (null, _) => $"  ({why})",
        _ => $"  {record} ({why})",
    };

    private static void Line(StringBuilder text, FormattableString line) => text.Append(FormattableString.Invariant(line)).Append('\n');

    private static void Line(StringBuilder text, string line) => text.Append(line).Append('\n');
}
