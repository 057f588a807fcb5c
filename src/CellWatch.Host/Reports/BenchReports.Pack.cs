using System.Globalization;
using CellWatch.Core.Bench;
using CellWatch.Core.Planning;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;

namespace CellWatch.Host.Reports;

public sealed partial class BenchReports
{
    private ReportDocument Plan()
    {
        var kept = project.Plans.Plan() ?? throw new RefusedException("There is no frozen plan yet.");
        var plan = kept.Value;
        var sheet = project.Plans.Slots()!.Value;
        var chain = project.Plans.Chain();
        IReadOnlyList<PointMass> masses = [.. plan.ModuleOfSlot.Select((id, i) => new PointMass(project.Modules.Get(new Core.Pack.ModuleId(id)).Value.MassKg ?? 0, sheet.Slots[i].X, sheet.Slots[i].Y, sheet.Slots[i].Z))];
        var centre = CentreOfGravity.Of(masses);
        var price = project.Grades.Price(plan.ModuleOfSlot);
        var grades = project.Grades.Latest()?.Value.Cards.ToDictionary(c => c.Identity, c => c.Grade.ToString(), StringComparer.Ordinal) ?? [];
        var slots = plan.ModuleOfSlot.Select((id, i) => (IReadOnlyList<string>)[
            $"{sheet.Slots[i].Number}", sheet.Slots[i].Box, id, grades.GetValueOrDefault(id, "-"), Known(project.Grades.CapacityOf(id)?.LowestAh, "0.0", ""), chain.Turned[i] ? "- to port" : "+ to port", $"{sheet.Slots[i].CoolingRank} (+{sheet.Slots[i].WarmerK:0.0} K)"]).ToList();
        var (joints, states) = project.Plans.Joints();
        var sections = new List<ReportSection>
        {
            new("", [$"{centre.MassKg:0.0} kg, centre of gravity {centre.X:0.000} m aft, {Math.Abs(1000 * centre.Y):0} mm to {(centre.Y >= 0 ? "port" : "starboard")}, {centre.Z:0.000} m up.{Permitted(sheet.Permitted, centre)}", .. Core.Bench.Project.PlanBook.BalanceOf(sheet, masses)?.Sentences ?? [], price.Sentence + ".",
                $"Score, lower is better: {plan.Score.Total:0.00} = thermal {plan.Score.Thermal:0.00} + electrical {plan.Score.Electrical:0.00} + mass {plan.Score.Mass:0.00}.{(plan.Suggested ? $" No plan can be below {plan.LowerBound:0.00} (gap {plan.GapPercent:0.00} %)." : " Made by hand.")}"], null, TopView(plan.ModuleOfSlot, sheet, chain, centre)),
            new("Slots in electrical order from the negative end", [], new ReportTable(["slot", "box", "module", "grade", "smallest group Ah", "turn", "cooling rank"], slots)),
            new("Chain", [.. chain.Cautions, $"Longest link {1000 * chain.LongestM:0} mm, slot {chain.Links.MaxBy(l => l.LengthM)?.FromSlot} to {chain.Links.MaxBy(l => l.LengthM)?.ToSlot}. Highest voltage between neighbours {chain.Neighbours.FirstOrDefault()?.HighestV:0} V (slots {chain.Neighbours.FirstOrDefault()?.FirstSlot} and {chain.Neighbours.FirstOrDefault()?.SecondSlot})."], OnNewPage: true),
            new("Joints", ["Sense plugs out before a link is opened or fitted, in last. A joint more than 50 % above the lowest like it is made again."], new ReportTable(["no.", "joint", "size", "Nm", "cleaned", "torqued", "marked", "micro-ohm", "picture K", "state"],
                [.. joints.Select((j, i) => (IReadOnlyList<string>)[$"{j.Number}", j.Where, j.Fastener, double.IsFinite(j.TorqueNm) ? $"{j.TorqueNm:0.#}" : "____", Tick(j.Cleaned), Tick(j.Torqued), Tick(j.Marked), j.MicroOhm is { } u ? $"{u:0.0}" : "____", j.RiseK is { } k ? $"{k:0.0}" : "____", states[i].Redo ? "make again" : states[i].Done ? "done" : j is { Cleaned: true, Torqued: true, Marked: true, MicroOhm: not null } ? "picture to take" : "to do"])])),
        };
        return Document("plan", $"revision {kept.Record.Revision}", kept.Record.At, project.Grades.Latest()?.Value.Fingerprint ?? "", "masses +-0.1 kg, places +-10 mm: centre to about 3 mm", kept.Record.Simulated, sections);

        static string Tick(bool? done) => done is true ? "yes" : "[  ]";
    }

    private static string Permitted(CentreBox? box, CentreOfGravity centre) =>
        box is null ? "" : box.Outside(centre.X, centre.Y, centre.Z) is { } outside ? $" NOT PERMITTED: {outside}." : $" Inside its permitted box, {box.MinX:0.00} to {box.MaxX:0.00} m aft.";

    /// <summary>The slots from above and from port, to scale, with identity, grade position and polarity.</summary>
    private static Drawing TopView(IReadOnlyList<string> modules, Core.Bench.Project.SlotSheet sheet, PolarityChain chain, CentreOfGravity centre)
    {
        double x0 = sheet.Slots.Min(s => s.X) - 0.25, x1 = sheet.Slots.Max(s => s.X) + 0.25, y0 = sheet.Slots.Min(s => s.Y) - 0.25, y1 = sheet.Slots.Max(s => s.Y) + 0.34;
        var scale = Math.Min(500 / (x1 - x0), 220 / (y1 - y0));
        var marks = new List<Mark>();
        double w = 0.26 * scale, h = 0.30 * scale;
        foreach (var box in sheet.Slots.GroupBy(s => s.Box, StringComparer.Ordinal))
        {
            double left = (box.Min(s => s.X) - x0) * scale - w / 2 - 5, right = (box.Max(s => s.X) - x0) * scale + w / 2 + 5, top = (y1 - box.Max(s => s.Y)) * scale - h / 2 - 5, bottom = (y1 - box.Min(s => s.Y)) * scale + h / 2 + 5;
            marks.Add(new BoxMark(left, top, right - left, bottom - top, Ink.Faint));
            marks.Add(new TextMark(left, top - 3, $"{box.Key} box", 8, -1, Ink.Faint));
        }

        for (var i = 0; i + 1 < modules.Count; i++)
        {
            var (a, b) = (sheet.Slots[i], sheet.Slots[i + 1]);
            marks.Add(new LineMark([((a.X - x0) * scale, (y1 - a.Y) * scale + (chain.Turned[i] ? 1 : -1) * h * 0.4), ((b.X - x0) * scale, (y1 - b.Y) * scale - (chain.Turned[i + 1] ? 1 : -1) * h * 0.4)], Ink.Dashed));
        }

        for (var i = 0; i < modules.Count; i++)
        {
            var s = sheet.Slots[i];
            double x = (s.X - x0) * scale, y = (y1 - s.Y) * scale;
            marks.Add(new BoxMark(x - w / 2, y - h / 2, w, h, Ink.Strong));
            marks.Add(new TextMark(x, y + 3, modules[i], Math.Min(11, w / 3), 0, Ink.Strong, Bold: true));
            marks.Add(new TextMark(x, y - h / 2 + 8, chain.Turned[i] ? "-" : "+", 9, 0, Ink.Strong));
            marks.Add(new TextMark(x, y + h / 2 - 3, chain.Turned[i] ? "+" : "-", 9, 0, Ink.Strong));
            marks.Add(new TextMark(x - w / 2 + 2, y - h / 2 + 7, s.Number.ToString(CultureInfo.InvariantCulture), 7, -1, Ink.Faint));
        }

        double cx = (centre.X - x0) * scale, cy = (y1 - centre.Y) * scale;
        marks.Add(new LineMark([(cx - 7, cy), (cx + 7, cy)], Ink.Strong));
        marks.Add(new LineMark([(cx, cy - 7), (cx, cy + 7)], Ink.Strong));
        var beside = Math.Max(10, sheet.Permitted is { } frame ? (frame.MaxX - centre.X) * scale + 5 : 0);
        marks.Add(new TextMark(cx + beside, cy - 3, "centre of gravity", 8, -1, Ink.Strong));
        marks.Add(new TextMark(cx + beside, cy + 8, $"{centre.X:0.000} m aft of the datum", 8, -1, Ink.Strong));

        if (sheet.Permitted is { } box2) Frame(marks, (box2.MinX - x0) * scale, (y1 - box2.MaxY) * scale, (box2.MaxX - x0) * scale, (y1 - box2.MinY) * scale);
        var height = (y1 - y0) * scale + 14;
        marks.Add(new TextMark(2, height - 2, "from above, forward at the left, port at the top; light: links from + to -; dark frame: where the centre of gravity may lie", 7, -1, Ink.Faint));
        return new Drawing(500, SideView(marks, modules, sheet, centre, x0, scale, height + 8), marks, "Slots from above with the module in each and its polarity, and the boxes from port with the centre of gravity");
    }

    /// <summary>The boxes from port under the view from above, on the same scale.</summary>
    /// <returns>Height of both together.</returns>
    private static double SideView(List<Mark> marks, IReadOnlyList<string> modules, Core.Bench.Project.SlotSheet sheet, CentreOfGravity centre, double x0, double scale, double top)
    {
        const double UpM = 0.16;
        double low = sheet.Slots.Min(s => s.Z) - UpM / 2 - 0.03, high = sheet.Slots.Max(s => s.Z) + UpM / 2 + 0.03;
        if (sheet.Permitted is { } box) (low, high) = (Math.Min(low, box.MinZ - 0.01 ?? low), Math.Max(high, box.MaxZ + 0.01 ?? high));
        double X(double x) => (x - x0) * scale;
        double Z(double z) => top + (high - z) * scale;
        double w = 0.26 * scale, h = UpM * scale;
        foreach (var group in sheet.Slots.GroupBy(s => s.Box, StringComparer.Ordinal))
            marks.Add(new BoxMark(X(group.Min(s => s.X)) - w / 2 - 5, Z(group.Max(s => s.Z)) - h / 2 - 3, X(group.Max(s => s.X)) - X(group.Min(s => s.X)) + w + 10, Z(group.Min(s => s.Z)) - Z(group.Max(s => s.Z)) + h + 6, Ink.Faint));
        foreach (var stack in sheet.Slots.Select((s, i) => (Slot: s, Module: modules[i])).GroupBy(p => (p.Slot.X, p.Slot.Z)))
        {
            marks.Add(new BoxMark(X(stack.Key.X) - w / 2, Z(stack.Key.Z) - h / 2, w, h, Ink.Strong));
            marks.Add(new TextMark(X(stack.Key.X), Z(stack.Key.Z) + 3, stack.MaxBy(p => p.Slot.Y).Module, Math.Min(9, w / 3), 0, Ink.Strong));
        }

        if (sheet.Permitted is { MinZ: { } minZ, MaxZ: { } maxZ } permitted) Frame(marks, X(permitted.MinX), Z(maxZ), X(permitted.MaxX), Z(minZ));
        double cx = X(centre.X), cz = Z(centre.Z);
        marks.Add(new LineMark([(cx - 6, cz), (cx + 6, cz)], Ink.Strong));
        marks.Add(new LineMark([(cx, cz - 6), (cx, cz + 6)], Ink.Strong));
        marks.Add(new TextMark(cx + Math.Max(10, sheet.Permitted is { } frame ? (frame.MaxX - centre.X) * scale + 5 : 0), cz + 3, $"{centre.Z:0.000} m up", 8, -1, Ink.Strong));
        var height = Z(low) + 12;
        marks.Add(new TextMark(2, height - 2, "seen from port, forward at the left; the module nearest to port is named", 7, -1, Ink.Faint));
        return height;
    }

    private static void Frame(List<Mark> marks, double left, double top, double right, double bottom) =>
        marks.Add(new LineMark([(left, top), (right, top), (right, bottom), (left, bottom), (left, top)], Ink.DashedStrong));

    private ReportDocument Proofs()
    {
        var states = project.ProofStates.States(project.Site.Map);
        var gates = GateView.All(project);
        var (_, sentence) = project.ProofStates.Supervision(project.Site.Map);
        var attempts = project.ProofStates.Latest();
        var sections = new List<ReportSection>
        {
            Words("", sentence),
            new("Gates", [], new ReportTable(["gate", "", "state", "date", "by", "evidence"], [.. gates.Select(g => (IReadOnlyList<string>)[
                $"{g.Number}", g.Title, BenchWording.Of(g.State), g.At?.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture) ?? "", g.By, g.State == GateState.Reopened ? $"RE-OPENED: {g.Reason}" : g.EvidenceLine])])),
            new("Channels", ["A cell is proven by its own rhythm, or by connector, sum and load on its module together, since its connector was last opened."], new ReportTable(["channels", "state", "by"], [.. Grouped(states)]), OnNewPage: true),
        };
        if (attempts.Where(a => a.Value.Passed && a.Value.ConfidencePercent is not null).OrderBy(a => a.Value.Subject, StringComparer.Ordinal).ToList() is { Count: > 0 } rhythms)
            sections.Add(new("Rhythms", ["A load switched on and off; the channels that followed it, with their dip and how surely."], new ReportTable(["on", "dip mV", "confidence", "when", "by", "found"],
                [.. rhythms.Select(a => (IReadOnlyList<string>)[
                    a.Value.Subject, a.Value.DipMv is { } dip ? $"{dip:0.00}" : "-", a.Value.ConfidencePercent > 99.99 ? ">99.99 %" : $"{a.Value.ConfidencePercent:0.00} %",
                    a.Record.At.ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture), a.Record.By, a.Value.Evidence.Length > 0 ? a.Value.Evidence : a.Value.Sentence.Split(" Confidence ")[0]])])));
        if (attempts.Where(a => !a.Value.Passed).ToList() is { Count: > 0 } failed)
            sections.Add(new("Last attempts that did not pass", [], new ReportTable(["subject", "method", "found"], [.. failed.Select(a => (IReadOnlyList<string>)[ChannelWords(a.Value.Subject), BenchWording.Of(a.Value.Method), a.Value.Sentence])])));
        var date = attempts.Select(a => a.Record.At).Concat(gates.Select(g => g.At).OfType<DateTimeOffset>()).DefaultIfEmpty().Max();
        RefusedException.Unless(date != default, "No proof and no gate is on record yet.");
        return Document("proofs", $"{states.Count(s => s.Proven)} of {states.Count} channels", date, "", "confidence stated with each rhythm", project.AnySimulated, sections);
    }

    /// <summary>Neighbouring channels with the same state and reason in one row.</summary>
    private static IEnumerable<IReadOnlyList<string>> Grouped(IReadOnlyList<ChannelProof> states)
    {
        for (var i = 0; i < states.Count;)
        {
            var j = i;
            while (j + 1 < states.Count && states[j + 1].Proven == states[i].Proven && states[j + 1].Why == states[i].Why) j++;
            yield return [i == j ? ChannelWords(states[i].Channel) : $"{states[i].Channel} to {states[j].Channel}", states[i].Proven ? "proven" : "NOT PROVEN", states[i].Why];
            i = j + 1;
        }
    }

    /// <summary>A channel as a person calls it.</summary>
    private static string ChannelWords(string channel) => channel switch { "packCurrentA" => T("pack current"), "stringVoltageV" => T("string voltage"), _ => channel };

    private ReportDocument Night(string id)
    {
        var kept = project.Safety.Nights().FirstOrDefault(n => n.Record.Key == id) ?? throw new RefusedException($"There is no night '{id}'{Core.Wording.NearestName.Suggestion(id, project.Safety.Nights().Select(n => n.Record.Key))}.");
        var (night, review) = (kept.Value.Night, kept.Value.Review);
        var names = Enumerable.Range(0, night.BeforeAh.Length).Select(project.Site.Map.NameOf).ToList();
        var picked = review.Cells.Select(c => c.Cell).ToHashSet(StringComparer.Ordinal);
        ChartBar Bar(double[] ah, int i) => new(names[i], ah[i], 0, picked.Contains(names[i]));
        var sections = new List<ReportSection>
        {
            Words("", review.Sentence),
            new("Before", [$"At rest, bleed off {night.Before.BleedOffMinutes:0} min, {night.Before.TemperatureDegC:0.0} degC"], null, ChartDrawing.Bars("Ah from the median", [.. names.Select((_, i) => Bar(night.BeforeAh, i))], "Deviation of every cell before the night", night.AfterAh)),
            new("After", [$"At rest, bleed off {night.After.BleedOffMinutes:0} min, {night.After.TemperatureDegC:0.0} degC"], null, ChartDrawing.Bars("Ah from the median", [.. names.Select((_, i) => Bar(night.AfterAh, i))], "Deviation of every cell after the night", night.BeforeAh)),
            new("Cells", [], new ReportTable(["cell", "planned Ah", "integrated", "seen", "left", "nights", "cause", "evidence", "decides"], [.. review.Cells.Select(c => (IReadOnlyList<string>)[
                c.Cell, $"{c.PlannedAh:0.00}", double.IsFinite(c.IntegratedAh) ? $"{c.IntegratedAh:0.00}" : "not known", $"{c.SeenAh:0.00}", $"{c.LeftAh:0.00}", c.NightsLeft?.ToString(CultureInfo.InvariantCulture) ?? "-", BenchWording.Of(c.Cause), c.Evidence, c.DecidingTest])])),
        };
        if (night.Gaps.Count > 0) sections.Add(new("Gaps", [.. night.Gaps]));
        return Document("night", NightWords(kept), kept.Record.At, "", "0.05 Ah for a deviation", kept.Record.Simulated, sections);
    }

    /// <summary>A night by its dates: the record is made on the morning after it.</summary>
    private static string NightWords(Kept<Core.Bench.Project.NightKept> kept)
    {
        var morning = kept.Record.At;
        var evening = morning.AddHours(-kept.Value.Night.Hours);
        return evening.Date == morning.Date ? $"{morning:d MMM yyyy}, {kept.Record.Key}" : $"{evening:d MMM} to {morning:d MMM yyyy}, {kept.Record.Key}";
    }

    private ReportDocument Health()
    {
        var kept = project.Safety.HealthHistory().LastOrDefault() ?? throw new RefusedException("No health check is on record yet.");
        var o = kept.Value.Outcome;
        var sections = new List<ReportSection>
        {
            Words("", o.Sentence),
            new("Cells", [], new ReportTable(["cell", "first Ah", "now Ah", "fade Ah (95 %)", "says"], [.. o.Cells.Select(c => (IReadOnlyList<string>)[
                c.Cell, $"{c.Points[0].CapacityAh.Value:0.0}", $"{c.Points[^1].CapacityAh.Value:0.0}", $"{c.FadeAh.Value:0.0} +-{c.FadeAh.HalfWidth95:0.0}", c.IsFact ? "faded" : "no fade found"])])),
        };
        return Document("health", $"{kept.Value.LastAt:yyyy-MM-dd}", kept.Value.LastAt, "", "fade is stated as a fact only above its 95 % uncertainty", kept.Record.Simulated, sections);
    }

    private ReportDocument Fade()
    {
        var kept = project.Safety.HealthHistory().LastOrDefault() ?? throw new RefusedException("No health check is on record yet.");
        var (o, days) = (kept.Value.Outcome, (kept.Value.LastAt - kept.Value.FirstAt).TotalDays);
        var byModule = o.Cells.GroupBy(c => c.Cell.Split('.')[0], StringComparer.Ordinal).Select(g => g.MaxBy(c => c.FadeAh.Value)!).OrderBy(c => c.Cell, StringComparer.Ordinal).ToList();
        var sections = new List<ReportSection>
        {
            Words("", o.Sentence, days >= 365 ? $"{days:0} days between the first and the last test." : $"Only {days:0} days lie between the first and the last test: this is not yet a year's report."),
            new("Fade of the most faded cell of each module", ["Bars are 95 % intervals. A cell is compared with its own first test, like with like."], null, ChartDrawing.Bars("Ah", [.. byModule.Select(c => new ChartBar(c.Cell, c.FadeAh.Value, c.FadeAh.HalfWidth95, c.IsFact))], "Fade of the most faded cell of each module with error bars")),
            new("", [], new ReportTable(["cell", "first Ah", "now Ah", "fade Ah (95 %)", "more than its uncertainty"], [.. byModule.Select(c => (IReadOnlyList<string>)[c.Cell, $"{c.Points[0].CapacityAh.Value:0.0}", $"{c.Points[^1].CapacityAh.Value:0.0}", $"{c.FadeAh.Value:0.0} +-{c.FadeAh.HalfWidth95:0.0}", c.IsFact ? "yes" : "no: no fade is stated"])])),
        };
        return Document("fade", $"{days:0} days", kept.Value.LastAt, "", "95 % intervals", kept.Record.Simulated, sections);
    }

    private ReportDocument Fault(string id)
    {
        var kept = project.Safety.Faults().FirstOrDefault(f => f.Value.Id == id) ?? throw new RefusedException($"There is no fault file '{id}'{Core.Wording.NearestName.Suggestion(id, project.Safety.Faults().Select(f => f.Value.Id))}.");
        var f = kept.Value;
        var row = FaultTriage.Table.FirstOrDefault(r => r.Key == f.TriageKey);
        var sections = new List<ReportSection>
        {
            Words("", f.Closed ? $"Closed: {f.Finding}." : $"Open. Missing: {FaultTriage.Missing(f)}."),
            new("Fault", [], new ReportTable(["", ""], [["symptom", f.Symptom], ["fits", row is null ? "no row of the table" : $"{row.Seen}: {row.Tells}; decide by {row.DecideBy}"], ["evidence", f.EvidenceWindow], ["changed before", f.ChangedBefore], ["finding", f.Finding], ["fix", f.Fix], ["proof after the fix", f.ProofAfterFix]])),
            new("Tests", [.. f.Tests.IsDefault ? [] : f.Tests]),
        };
        return Document("fault", id, kept.Record.At, "", "as stated with each test", kept.Record.Simulated, sections);
    }
}
