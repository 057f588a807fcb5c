using System.Globalization;
using CellWatch.Core.Bench;
using CellWatch.Core.Pack;
using CellWatch.Core.Register;
using QRCoder;

namespace CellWatch.Host.Reports;

public sealed partial class BenchReports
{
    /// <summary>Pictures up to this are printed, bytes together: a report stays one file that can be sent.</summary>
    private const long MostPictureBytes = 24 << 20;

    private ReportDocument Passport(string identity)
    {
        var kept = project.Modules.Get(CheckCharacter.Read(identity));
        var m = kept.Value;
        var (capacity, pulse, rest, inspection) = (project.Runs.CapacityOf(m.Identity), project.Runs.PulseOf(m.Identity), project.Runs.RestOf(m.Identity), project.Runs.InspectionOf(m.Identity));
        var card = project.Grades.Latest()?.Value.Cards.FirstOrDefault(c => c.Identity == m.Identity);
        var topology = ModuleTopology.Parse(m.Topology);
        var rows = Enumerable.Range(1, topology.Series).Reverse().Select(g => (IReadOnlyList<string>)
        [
            $"{m.Identity}.{g}", Cell(inspection?.Value.Entry.MeterCellV.ElementAtOrDefault(g - 1), "0.000"),
            capacity?.Value.Outcome.Groups.FirstOrDefault(x => x.Cell == g) is { } c ? $"{c.CapacityAh.Value:0.0} +-{c.CapacityAh.Sigma:0.0}" : "-",
            pulse?.Value.Outcome.Groups.FirstOrDefault(x => x.Cell == g) is { } p ? $"{p.TenSecondMilliohm:0.00}" : "-",
            pulse?.Value.Outcome.Groups.FirstOrDefault(x => x.Cell == g) is { } o ? $"{o.OhmicMilliohm:0.00}" : "-",
            rest?.Value.Outcome.Groups.FirstOrDefault(x => x.Cell == g) is { } l ? (l.LeakMilliampere > rest.Value.Outcome.SmallestLeakFoundMilliampere ? $"{l.LeakMilliampere:0.0} +-{l.HalfWidthMilliampere:0.0}" : $"<{rest.Value.Outcome.SmallestLeakFoundMilliampere:0.0}") : "-",
        ]).ToList();
        var sections = new List<ReportSection>
        {
            Words("", card is null ? "Not graded yet." : card.Grade == Grade.None ? $"No grade: {card.DecidedBy} is missing or undecided." : $"Grade {card.Grade}{(card.DecidedBy.Length > 0 ? $", decided by {card.DecidedBy}" : ": no limits found")}."),
            new("Identity", [], new ReportTable(["", ""], [
                ["label", CheckCharacter.Label(new ModuleId(m.Identity))], ["serial label", m.SerialLabel.Length > 0 ? m.SerialLabel : "unreadable"], ["topology", m.Topology], ["mass", Known(m.MassKg, "0.0", "kg")],
                ["origin", $"{m.Origin.Donor}; {m.Origin.OriginalPlace}"], ["gaps in its history", m.Origin.Gap.Length > 0 ? m.Origin.Gap : "none known"], ["status", m.Status.ToString().ToLowerInvariant()],
                ["slot", m.Slot?.ToString(CultureInfo.InvariantCulture) ?? (project.Plans.Pack().ToList().IndexOf(m.Identity) is var s and >= 0 ? $"{s + 1} by the plan" : "none")]])),
            new("Groups, as the stack stands (negative end at the bottom)", [], new ReportTable(["group", "V at inspection", "Ah", "R 10 s mOhm", "R 0.5 s mOhm", "leak mA"], rows)),
        };
        if (capacity is not null && capacity.Value.Outcome.Groups.Count > 0)
            sections.Add(new("", [capacity.Value.Outcome.Sentence, capacity.Value.Outcome.Cause], null, ChartDrawing.Bars("Ah", [.. capacity.Value.Outcome.Groups.Select(g => new ChartBar($"{m.Identity}.{g.Cell}", g.CapacityAh.Value, 1.96 * g.CapacityAh.Sigma, g.Cell == capacity.Value.Outcome.EndedBy))], $"Capacity of the groups of {m.Identity} with 95 % intervals", height: 140)));
        if (pulse is not null) sections.Add(Words("Pulse test", pulse.Value.Outcome.Sentence));
        if (rest is not null) sections.Add(Words("Rest test", rest.Value.Outcome.Sentence));
        sections.Add(new("Proofs of its channels", [], new ReportTable(["channel", "state", "by"], [.. ProofRows(m.Identity)])));
        if (PicturesOf(m.Identity) is { } pictures) sections.Add(pictures);
        if (!m.Notes.IsDefaultOrEmpty) sections.Add(new("Notes", [.. m.Notes.Select(n => $"{n.At:yyyy-MM-dd} {n.By}: {n.Text}")]));
        var simulated = kept.Record.Simulated || (capacity?.Record.Simulated ?? false) || (pulse?.Record.Simulated ?? false) || (rest?.Record.Simulated ?? false) || (inspection?.Record.Simulated ?? false);
        var newest = new[] { kept.Record, capacity?.Record, pulse?.Record, rest?.Record, inspection?.Record }.OfType<BenchRecord>().Max(r => r.At);
        return Document("passport", m.Identity, newest, project.Grades.Latest()?.Value.Fingerprint ?? "", "+- is one standard deviation; bars are 95 %", simulated, sections);
    }

    /// <summary>Pictures of a module, as far as a report has room; the rest and other files by name and digest.</summary>
    private ReportSection? PicturesOf(string identity)
    {
        var files = project.Files.Of(new ModuleId(identity));
        if (files.Count == 0) return null;
        var (pictures, lines, bytes) = (new List<ReportPicture>(), new List<string>(), 0L);
        foreach (var (file, record) in files.Select(f => (f.Value, f.Record)))
        {
            var details = $"{record.At:yyyy-MM-dd HH:mm} {record.By}, {file.AboutWords}{(file.Evidence.Length > 0 ? $" ({file.Evidence})" : "")}, {file.Name}, SHA-256 {file.Sha256[..16]}…{(record.Simulated ? ", simulated" : "")}";
            if (!file.IsPicture || bytes + file.Bytes > MostPictureBytes)
            {
                lines.Add($"{file.Caption}: {details}; kept, not printed here.");
                continue;
            }

            try
            {
                pictures.Add(new ReportPicture(file.Caption, details, file.MediaType, project.Files.Read(file.Sha256).Content));
                bytes += file.Bytes;
            }
            catch (InvalidDataException damaged)
            {
                lines.Add($"{file.Caption}: {damaged.Message}");
            }
        }

        return new ReportSection("Photographs and files", lines, Pictures: pictures);
    }

    private IEnumerable<IReadOnlyList<string>> ProofRows(string identity) =>
        project.Site.Layout.TryFindModule(new ModuleId(identity), out _)
            ? Grouped([.. project.ProofStates.States(project.Site.Map).Where(s => s.Channel.StartsWith(identity + ".", StringComparison.Ordinal))])
            : [["-", "not in the pack", "-"]];

    private ReportDocument Certificate(string runId)
    {
        var run = project.Runs.Run(runId);
        var r = run.Value;
        RefusedException.Unless(r.State is RunState.Ended or RunState.Discarded, $"{r.Id} is {r.State.ToString().ToLowerInvariant()}: the certificate is made when it is over.");
        var sections = new List<ReportSection>
        {
            Words("", r.Finding.Length > 0 ? r.Finding : $"Discarded: {r.DiscardedBecause}"),
            new("Run", [], new ReportTable(["", ""], [
                ["module", r.Module], ["method", r.Method.ToString().ToLowerInvariant()], ["rig", r.Rig], ["attended", r.Attended ? "yes" : "no"],
                ["cut tried", r.CutTriedAt is { } cut ? cut.ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture) : "no"], .. r.Raw.Select(x => (IReadOnlyList<string>)["raw data", $"{x.Reference}, {x.Rows} rows, SHA-256 {x.Sha256}"])])),
        };
        sections.AddRange(r.Method switch { RunMethod.Capacity => CapacityParts(r), RunMethod.Rest => RestParts(r), _ => PulseParts(r) });
        sections.Add(new("Course", [], new ReportTable(["when", "who", "what"], [.. r.Events.Select(e => (IReadOnlyList<string>)[e.At.ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture), e.By, e.What])])));
        var (rules, software) = RulesOf(r);
        sections.Add(new("Method and limits", [RunCourse.Guide(r.Method).Connect, rules is null && r.Method != RunMethod.Pulse ? "The rules were not kept with this test; these are those of now." : ""], new ReportTable(["setting", "value", "what for"], MethodRows(r.Method, rules))));
        sections.Add(Words("", "Method and limits: own, listed above. Not an evaluation to UL 1974 or IEC 63330.", "Signature: ______________________________   Date: ______________"));
        return Document("certificate", r.Id, run.Record.At, rules is null ? "" : Fingerprint(rules), "+- is one standard deviation, from current, reading and method", run.Record.Simulated, sections) with { SoftwareVersion = software ?? project.Site.SoftwareVersion };
    }

    /// <summary>The rules and the program a run was judged by; null where they were not kept.</summary>
    private (object? Rules, string? Software) RulesOf(Run r) => r.Method switch
    {
        RunMethod.Capacity when project.Runs.CapacityHistory(r.Module).FirstOrDefault(c => c.Value.RunId == r.Id) is { } c => (c.Value.Settings, c.Value.Software),
        RunMethod.Rest when project.Runs.RestOf(r.Module) is { } t && t.Value.RunId == r.Id => (t.Value.Settings, t.Value.Software),
        RunMethod.Pulse when project.Runs.PulseOf(r.Module) is { } p && p.Value.RunId == r.Id => (null, p.Value.Software),
        _ => (null, null),
    };

    /// <summary>The rules a method was judged by, or those of now where none are given.</summary>
    private IReadOnlyList<IReadOnlyList<string>> MethodRows(RunMethod method, object? rules)
    {
        var (c, r) = (rules as CapacitySettings ?? project.Runs.CapacitySettings, rules as RestTestSettings ?? new RestTestSettings());
        return method switch
        {
            RunMethod.Capacity =>
            [
                ["lowestV", $"{c.LowestV:0.00} V", "the first group there ends the discharge"], ["flatShare", $"{100 * c.FlatShare:0} %", "current within this of its median"],
                ["coldestDegC, hottestDegC", $"{c.ColdestDegC:0} to {c.HottestDegC:0} degC", "group temperature, so that tests compare"], ["currentShare", $"{100 * c.CurrentShare:0.0} %", "uncertainty of the current"],
                ["ratedAh", $"{c.RatedAh:0} Ah", "rated capacity of a group"],
            ],
            RunMethod.Rest =>
            [
                ["dropFirstHours", $"{r.DropFirstHours:0} h", "relaxation, not used"], ["leastHours", $"{r.LeastHours:0} h", "shortest rest that gives a leak"], ["limitMilliampere", $"{r.LimitMilliampere:0.0} mA", "accepted with limits above"],
                ["rejectMilliampere", $"{r.RejectMilliampere:0.0} mA", "rejected above"], ["confidence", $"{100 * r.Confidence:0} %", "of the intervals"], ["channelDriftMvPerDay", $"{r.ChannelDriftMvPerDay:0.00} mV/day", "drift a channel may have: bounds the smallest leak"],
            ],
            _ =>
            [
                ["flatShare", $"{100 * PulseTest.FlatShare:0} %", "current within this"], ["steadyK", $"{PulseTest.SteadyK:0} K", "temperature within this"], ["leastA", $"{PulseTest.LeastA:0} A", "least current"], ["ohmicAfterS", $"{PulseTest.OhmicAfterS:0.0} s", "the first loaded sample is not used"],
            ],
        };
    }

    private IEnumerable<ReportSection> CapacityParts(Run r)
    {
        if (project.Runs.CapacityHistory(r.Module).FirstOrDefault(c => c.Value.RunId == r.Id)?.Value.Outcome is not { } o) yield break;
        yield return Fitness(o.Fitness);
        yield return new("Result", [o.Cause], new ReportTable(["group", "end V", "capacity Ah", "left in it Ah", "R 10 s mOhm"],
            [.. o.Groups.Select(g => (IReadOnlyList<string>)[$"{r.Module}.{g.Cell}", $"{g.EndV:0.000}", $"{g.CapacityAh.Value:0.0} +-{g.CapacityAh.Sigma:0.0}", $"{g.RemainingAh.Value:0.00} +-{g.RemainingAh.Sigma:0.00}", o.SenseFault is null && double.IsFinite(g.Resistance10sMilliohm) ? $"{g.Resistance10sMilliohm:0.00}" : "withheld"])]));
        if (project.Runs.RawOf(r.Id) is not { } text) yield break;
        var csv = RecordingCsv.Parse(text);
        var rows = Thin(csv.TimeS.Length);
        yield return new("Voltage of the groups", [], null, ChartDrawing.Lines("h", "V", [.. csv.CellV.Select((v, g) => new ChartSeries(
            $"{r.Module}.{g + 1}{(g + 1 == o.EndedBy ? " first" : "")}", [.. rows.Select(i => csv.TimeS[i] / 3600)], [.. rows.Select(i => v[i])], g + 1 == o.EndedBy ? Ink.Strong : Ink.Faint))], $"Discharge of {r.Module}: voltage of each group over time"));
    }

    private IEnumerable<ReportSection> RestParts(Run r)
    {
        if (project.Runs.RestOf(r.Module)?.Value is not { } kept || kept.RunId != r.Id) yield break;
        yield return new("Result", [$"Smallest leak this test could have found: {kept.Outcome.SmallestLeakFoundMilliampere:0.0} mA. It finds outliers, not the healthy level, which a week can hardly measure."], new ReportTable(["group", "slope mV/day", "leak mA (95 %)", "verdict"],
            [.. kept.Outcome.Groups.Select(g => (IReadOnlyList<string>)[$"{r.Module}.{g.Cell}", $"{g.SlopeMvPerDay:0.000}", $"{g.LeakMilliampere:0.0} +-{g.HalfWidthMilliampere:0.0}", BenchWording.Of(g.Verdict)])]));
        yield return new("Leak of the groups", [], null, ChartDrawing.Bars("mA", [.. kept.Outcome.Groups.Select(g => new ChartBar($"{r.Module}.{g.Cell}", g.LeakMilliampere, g.HalfWidthMilliampere, g.Verdict != Verdict.Accept))], "Leak of each group with its interval"));
    }

    private IEnumerable<ReportSection> PulseParts(Run r)
    {
        if (project.Runs.PulseOf(r.Module)?.Value is not { } kept || kept.RunId != r.Id) yield break;
        yield return Fitness(kept.Outcome.Fitness);
        yield return new("Result", [$"At {kept.Outcome.CurrentA:0} A, {kept.ChargePercent:0} % and {kept.TemperatureDegC:0.0} degC. Values of other times, levels or temperatures are not comparable."], new ReportTable(["group", "0.5 s mOhm", "10 s mOhm", "slow part mOhm"],
            [.. kept.Outcome.Groups.Select(g => (IReadOnlyList<string>)[$"{r.Module}.{g.Cell}", $"{g.OhmicMilliohm:0.00}", $"{g.TenSecondMilliohm:0.00}", $"{g.SlowMilliohm:0.00}"])]));
    }

    private ReportDocument Grades()
    {
        var kept = project.Grades.Latest() ?? throw new RefusedException("No module is graded yet: the grade table appears with the first grading.");
        var sheet = kept.Value;
        var sections = new List<ReportSection>
        {
            Words("", sheet.Statement),
            new("Grades", [], new ReportTable(["module", "grade", "decided by", "smallest group Ah", "R 10 s worst", "leak", "isolation", "limits the pack %"],
                [.. sheet.Cards.Select(c => (IReadOnlyList<string>)[
                    c.Identity, c.Grade == Grade.None ? "none" : c.Grade.ToString(), c.DecidedBy.Length > 0 ? c.DecidedBy : "-", Line(c, "capacity"), Line(c, "resistance"), Line(c, "rest test"), Line(c, "isolation"),
                    double.IsFinite(c.LimitingProbability) ? $"{100 * c.LimitingProbability:0.0}" : "-"])])),
            new("Limits", [$"Fingerprint {sheet.Fingerprint}. Chance of limiting the pack from {sheet.Draws:#,0} random draws, seed {sheet.Seed}."], new ReportTable(["setting", "value", "unit", "source"], [.. sheet.Limits.Select(l => (IReadOnlyList<string>)[l.Name, $"{l.Value:0.###}", l.Unit, l.Source])])),
        };
        var deciding = sheet.Cards.Where(c => c.Grade is not Grade.A).ToList();
        if (deciding.Count > 0)
            sections.Insert(2, new("What decided", [], new ReportTable(["module", "grade", "line", "value", "siblings", "limit", "setting", "remark", "evidence"],
                [.. deciding.Select(c => (c, l: c.Lines.FirstOrDefault(l => l.Criterion == c.DecidedBy))).Where(p => p.l is not null).Select(p => (IReadOnlyList<string>)[
                    p.c.Identity, p.c.Grade == Grade.None ? "none" : p.c.Grade.ToString(), p.l!.Criterion, p.l.Value, p.l.Siblings, p.l.Limit, p.l.Setting, p.l.Remark, p.l.Evidence?.Reference ?? "-"])])));
        return Document("grades", $"{sheet.Cards.Count} modules", kept.Record.At, sheet.Fingerprint, "+- is one standard deviation; chances from random draws", kept.Record.Simulated, sections);

        static string Line(GradeCard c, string criterion) => c.Lines.FirstOrDefault(l => l.Criterion == criterion)?.Value ?? "-";
    }

    private ReportDocument Labels()
    {
        var modules = project.Modules.All();
        RefusedException.Unless(modules.Count > 0, "There is no module in the register yet.");
        var sections = new List<ReportSection>();
        var first = true;
        // Six rows have room under the head, seven on a page without.
        for (var i = 0; i < modules.Count;)
        {
            var rows = modules.Skip(i).Take(first ? 6 : 7).Select(m => m.Value).ToList();
            sections.Add(new ReportSection(
                first ? "Two for each module, on two faces" : "", first ? ["The letter or digit behind the dash is a check character (ISO 7064 MOD 37,36): type it too."] : [], null, LabelSheet(rows), OnNewPage: !first));
            (i, first) = (i + rows.Count, false);
        }

        return Document("labels", $"{modules.Count} modules", modules.Max(m => m.Record.At), "", "", modules.Any(m => m.Record.Simulated), sections);
    }

    private Drawing LabelSheet(List<ModuleRecord> modules)
    {
        const double Width = 500, LabelWidth = 245, LabelHeight = 92;
        var marks = new List<Mark>();
        for (var i = 0; i < 2 * modules.Count; i++)
        {
            double x = i % 2 * (LabelWidth + 10), y = i / 2 * (LabelHeight + 8);
            var m = modules[i / 2];
            var label = CheckCharacter.Label(new ModuleId(m.Identity));
            marks.Add(new BoxMark(x + 1, y + 1, LabelWidth - 2, LabelHeight - 2, Ink.Faint));
            marks.Add(new TextMark(x + 10, y + 48, label, 40, -1, Ink.Strong, Bold: true));
            marks.Add(new TextMark(x + 10, y + 66, $"{project.Site.Layout.SiteName}   {m.Topology}   {(m.MassKg is { } kg ? $"{kg:0.0} kg" : "not weighed")}", 9, -1, Ink.Strong));
            marks.Add(new TextMark(x + 10, y + 80, "keeps this name in every slot", 7.5, -1, Ink.Faint));
            AddCode(marks, label, x + LabelWidth - 84, y + 8, 76);
        }

        return new Drawing(Width, modules.Count * (LabelHeight + 8), marks, $"Labels of {string.Join(", ", modules.Select(m => m.Identity))}, two each, with the identity and the same as a code");
    }

    /// <summary>The identity as a QR code, drawn as boxes.</summary>
    private static void AddCode(List<Mark> marks, string text, double x, double y, double size)
    {
        using var generator = new QRCodeGenerator();
        using var code = generator.CreateQrCode(text, QRCodeGenerator.ECCLevel.Q);
        var step = size / code.ModuleMatrix.Count;
        for (var row = 0; row < code.ModuleMatrix.Count; row++)
        {
            var bits = code.ModuleMatrix[row];
            for (var from = 0; from < bits.Count; from++)
            {
                if (!bits[from]) continue;
                var to = from;
                while (to + 1 < bits.Count && bits[to + 1]) to++;
                marks.Add(new BoxMark(x + from * step, y + row * step, (to - from + 1) * step, step, Ink.Strong, Filled: true));
                from = to;
            }
        }
    }

    private static ReportSection Fitness(IReadOnlyList<FitnessPoint> points) =>
        new("Is the run fit to be used?", [], new ReportTable(["looked at", "fit", "figure"], [.. points.Select(p => (IReadOnlyList<string>)[p.Name, p.Fit ? "yes" : "NO", p.Sentence])]));

    private static int[] Thin(int rows)
    {
        var step = Math.Max(1, rows / 400);
        return [.. Enumerable.Range(0, rows).Where(i => i % step == 0 || i == rows - 1)];
    }

    private static string Cell(double? v, string format) => v is { } x && double.IsFinite(x) ? x.ToString(format, CultureInfo.InvariantCulture) : "-";
}
