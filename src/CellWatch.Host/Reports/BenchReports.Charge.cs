using System.Globalization;
using CellWatch.Core.Bench;
using CellWatch.Core.Register;
using CellWatch.Core.Wording;

namespace CellWatch.Host.Reports;

public sealed partial class BenchReports
{
    /// <summary>Events printed; the rest is in the log.</summary>
    private const int MostEvents = 24;

    /// <summary>Charge record, two pages: curve and who limited; then what was met, events and limits.</summary>
    private ReportDocument Charge(string id)
    {
        var kept = project.Safety.Charges().FirstOrDefault(c => c.Value.Id == id) ?? throw new RefusedException($"There is no charge '{id}'{NearestName.Suggestion(id, project.Safety.Charges().Select(c => c.Value.Id))}.");
        var c = kept.Value;
        List<ReportSection> sections =
        [
            Words("", c.Supervised ? "Supervised from start to end; no stop rule was met." : "NOT supervised from start to end.", Limiting(c)),
            .. c.Curve is { TimeS.Length: > 1 } curve ? Course(curve) : [],
            new("Figures", [], new ReportTable(["", ""], FigureRows(c))),
            new("Preconditions when it began", [], new ReportTable(["", "met", ""], [.. c.Preconditions.Select(p => (IReadOnlyList<string>)[p.Name, p.Met ? "yes" : "NO", p.Sentence])]), OnNewPage: c.Curve is not null),
            Words("Stop rules", c.Stops.Count == 0 ? "None was met." : $"MET: {string.Join("; ", c.Stops)}.", $"Looked for: {string.Join("; ", ChargeLadder.StopRules)}."),
            .. c.Details is { } details ? Happened(details) : [],
        ];
        if (c.Limits is { } l)
            sections.Add(new("Limits it was judged by", [], new ReportTable(["limit", "warning", "stop"], [
                ["cell voltage, charging", $"{l.HighWarnV:0.00} V", $"{l.HighStopV:0.00} V held, {l.HighAbsoluteV:0.00} V at once"], ["target of the highest cell", $"{l.ChargeTargetV:0.000} V", "-"],
                ["cell temperature, charging", $"{l.ChargeColdWarnDegC:0} to {l.ChargeHotWarnDegC:0} degC", $"{l.ChargeColdStopDegC:0} to {l.ChargeHotStopDegC:0} degC"], ["age of the data", $"{l.DataAgeWarnS:0} s", $"{l.DataAgeStopS:0} s"]])));
        return Document("charge", id, c.EndedAt, c.Limits is null ? "" : Fingerprint(c.Limits), "voltage +-2 mV, current 0.5 %", kept.Record.Simulated, sections);
    }

    private static string Limiting(ChargeRecord c) => c.LimitedBy.Length > 0
        ? $"Who limited: {c.LimitedBy} at {c.LimitedAtV:0.000} V, {c.LimitedAtA:0.0} A, {Known(c.LimitedAtDegC, "0.0", "degC")}{(c.Details?.LimitedAt is { } at ? $", {Clock(at)}" : "")}; the current {(c.CurrentObeyed ? "obeyed" : "did NOT obey")}."
        : "No cell reached its target.";

    private static ReportSection[] Course(ChargeCurve curve)
    {
        var hours = curve.TimeS.Select(t => t / 3600).ToArray();
        List<ChartSeries> current = [new ChartSeries("current", hours, curve.CurrentA)];
        if (curve.LeastA is { } least) current.Insert(0, new ChartSeries("", hours, least, Ink.Faint));
        return
        [
            new("Course", [], null, ChartDrawing.Lines("h", "V", [new ChartSeries("highest cell", hours, curve.HighestV), new ChartSeries("lowest cell", hours, curve.LowestV, Ink.Faint)], "Highest and lowest cell over the charge", 150)),
            new("", [], null, ChartDrawing.Lines("h", "A", current, "Current over the charge", 110)),
        ];
    }

    private static IReadOnlyList<string>[] FigureRows(ChargeRecord c)
    {
        var atLeast = c.Details?.NotCountedS > 0 ? "at least " : "";
        List<IReadOnlyList<string>> rows =
        [
            ["kind", c.Kind.ToString().ToUpperInvariant()], ["from", c.StartedAt.ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture)], ["to", c.EndedAt.ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture)],
            ["charge in", $"{atLeast}{c.InAh:0.00} Ah"], ["energy in", $"{atLeast}{c.PackWh:0} Wh"], ["from the wall", Known(c.WallWh, "0", "Wh")],
            ["efficiency", double.IsFinite(c.WallWh) && c.WallWh > 0 && atLeast.Length == 0 ? $"{100 * c.PackWh / c.WallWh:0.0} %" : "not measured"],
        ];
        if (c.Details is { } d)
            rows.AddRange(
            [
                ["highest cell", d.HighestCell.Length == 0 ? "not known" : $"{d.HighestCell} {d.HighestV:0.000} V, {Clock(d.HighestAt)}; {Math.Abs(d.LeastHeadroomMv):0} mV {(d.LeastHeadroomMv < 0 ? "above" : "below")} the target"],
                ["longest at the target, current not falling", $"{d.LongestAtTargetS:0} s of {ChargeReader.ObeysWithinS:0} s allowed"],
                ["taper", double.IsFinite(d.TaperS) ? $"time constant {d.TaperS:0} s, R squared {d.TaperRSquared:0.000}" : "none fitted"],
                ["current at the end", Known(d.EndA, "0.0", "A")], ["hottest", d.Hottest],
            ]);
        rows.Add(["hand cut-off tried", c.CutOffTriedAt is { } cut ? Clock(cut) : "NO"]);
        rows.Add(["raw data", c.RawReference]);
        return [.. rows];
    }

    private static IEnumerable<ReportSection> Happened(ChargeDetails d)
    {
        if (d.Remarks.Count > 0) yield return new ReportSection("What could not be told", [.. d.Remarks]);
        if (d.Gaps.Count > 0) yield return new ReportSection("Gaps, nothing filled in", [], new ReportTable(["from", "s"], [.. d.Gaps.Take(MostEvents).Select(g => (IReadOnlyList<string>)[Clock(g.At), $"{g.LengthS:0.0}"])]));
        yield return Words("Presence confirmed", d.Presence.Count == 0 ? "By nobody." : string.Join(", ", d.Presence.Select(p => $"{Clock(p.At)} {p.By}")) + ".");
        if (d.Events.Count > 0)
            yield return new ReportSection("Events", d.Events.Count > MostEvents ? [$"The first {MostEvents} of {d.Events.Count}; the rest is in the log."] : [], new ReportTable(["when", "what", "who"], [.. d.Events.Take(MostEvents).Select(e => (IReadOnlyList<string>)[Clock(e.At), e.What, e.By])]));
    }

    private static string Clock(DateTimeOffset at) => at.ToString("HH:mm:ss", CultureInfo.InvariantCulture);
}
