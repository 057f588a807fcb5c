using System.Collections.Immutable;
using System.Net.Http.Json;
using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Estimation;
using CellWatch.Core.Planning;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Host.Api;
using CellWatch.Simulation.Stories;
using CellWatch.Simulation.Workshop;

namespace CellWatch.Host.Bench;

/// <summary>One step of a project as it goes through the HTTP door.</summary>
/// <param name="At">When it is entered.</param>
/// <param name="Path">Under <c>/bench</c>.</param>
/// <param name="Body">The body; a file where it is bytes.</param>
public sealed record ProjectStep(DateTimeOffset At, string Path, object Body)
{
    /// <summary>Sends it: an entry as JSON, a file as the plain body.</summary>
    /// <param name="http">A client of the service.</param>
    /// <param name="cancellation">Ends it.</param>
    public async Task<HttpResponseMessage> SendAsync(HttpClient http, CancellationToken cancellation = default)
    {
        var address = new Uri($"bench/{Path}", UriKind.Relative);
        if (Body is not byte[] file) return await http.PostAsJsonAsync(address, Body, RecordJson.Options, cancellation);
        using var content = new ByteArrayContent(file);
        content.Headers.ContentType = new("image/png");
        return await http.PostAsync(address, content, cancellation);
    }
}

/// <summary>
/// The Petrel's whole project from intake to the first season: 20 salvaged modules, 18 of them fitted. Every figure is invented or comes from the
/// project's own model; every record is marked simulated. The steps go through the same door as a person's.
/// </summary>
public sealed class PetrelProject
{
    private const string Ada = "Ada", Bea = "Bea";
    private readonly WorkshopModule[] modules;
    private readonly string[] pack = [.. PetrelPack.Layout.Modules.Select(m => m.Id.Text)];
    private readonly SeededDraws draws = new(77);
    private readonly DateTimeOffset begin;
    private DateTimeOffset now;

    /// <summary>Makes the modules: B07 has a weak group, B19 a weaker one, B20 leaks.</summary>
    /// <param name="begin">When the vehicle arrived; 5 January 2026 where not said.</param>
    /// <param name="smallB11Ah">Capacity of the second group of B11 where the story has it small, Ah; null where it is like its siblings.</param>
    public PetrelProject(DateTimeOffset? begin = null, double? smallB11Ah = null)
    {
        now = this.begin = begin ?? new(2026, 1, 5, 10, 0, 0, TimeSpan.Zero);
        modules =
        [
            .. Enumerable.Range(1, 20).Select(i => i switch
            {
                7 => new WorkshopModule("B07", 7, 110.2, 3, 101.2),
                11 when smallB11Ah is { } smallAh => new WorkshopModule("B11", 11, 109.8, 2, smallAh),
                19 => new WorkshopModule("B19", 19, 104.9, 5, 102.2),
                20 => new WorkshopModule("B20", 20, 109.4, leakMilliampere: 7.5),
                _ => new WorkshopModule($"B{i:00}", (ulong)i, 110 + 0.1 * (i % 4)),
            }),
        ];
    }

    /// <summary>The site these steps belong to.</summary>
    public static BenchSite Site(string softwareVersion) => BenchSite.For(PetrelPack.Layout, PetrelPack.CellType, "red button on the shore box", softwareVersion);

    /// <summary>The same with the cut-off as a story of the simulated pack names it.</summary>
    public static BenchSite Site(string softwareVersion, Story story) => Site(softwareVersion) with { HandCutOff = story.HandCutOff };

    /// <summary>All steps, in order of time.</summary>
    public IEnumerable<ProjectStep> Steps() =>
    [
        .. UntilAc(), .. DcCharge(), .. FirstSeason(),
    ];

    /// <summary>
    /// The steps up to the instant at which a story of the simulated pack opens, so that bench and live pages tell one tale: before the first DC
    /// charge, or at the capacity test of B07, or before the first reviewed night.
    /// </summary>
    /// <param name="story">Name of the story.</param>
    /// <param name="opening">When it opens.</param>
    public static IReadOnlyList<ProjectStep> Until(string story, DateTimeOffset opening)
    {
        IEnumerable<ProjectStep> Of(PetrelProject p) => story switch
        {
            BenchStory.Name => [.. p.Intake(), .. p.Inspections(), .. p.FirstBenchRuns()],
            NightStory.Name => [.. p.UntilAc(), .. p.DcCharge()],
            _ => [.. p.UntilAc(), .. p.SpareOnTheShelf(), .. p.BeforeDc()],
        };
        // Played once to learn how long it takes, and again so that it ends when the story opens.
        var smallB11Ah = story == FirstChargeStory.Name ? 102.2 : (double?)null;
        var dry = new PetrelProject(smallB11Ah: smallB11Ah);
        var last = Of(dry).Max(s => s.At);
        // The night's story begins with a charge of its own, the day after the first DC charge.
        var open = story switch
        {
            BenchStory.Name => TimeSpan.FromMinutes(10),
            NightStory.Name => TimeSpan.FromDays(1.5),
            _ => TimeSpan.FromMinutes(25),
        };
        return [.. Of(new PetrelProject(opening - open - (last - dry.begin), smallB11Ah))];
    }

    private IEnumerable<ProjectStep> UntilAc() => [.. Intake(), .. Inspections(), .. BenchTests(), .. GradesAndPlan(), .. ChannelProofs(), .. JoinedString(), .. AcCharge()];

    private static BenchEntry<T> By<T>(string who, T entry, int basedOn = 0) => new(who, entry, basedOn, Simulated: true);

    private ProjectStep Step<T>(double afterHours, string path, T entry, string who = Ada, int basedOn = 0)
    {
        now = now.AddHours(afterHours);
        return new ProjectStep(now, path, By(who, entry, basedOn));
    }

    private ProjectStep Prove(int gate, params (string Name, string Value)[] evidence) =>
        Step(0.1, $"gates/{gate}/prove", new EvidenceBody(evidence.ToDictionary(e => e.Name, e => e.Value, StringComparer.Ordinal)));

    private IEnumerable<ProjectStep> Intake()
    {
        yield return Step(0, "quarantine", new ArrivalBody(begin, begin.AddDays(-40)));
        for (var i = 1; i <= 13; i++) yield return Look(2);
        for (var i = 0; i < 28; i++) yield return Look(12);
        yield return Prove(1, ("noLeakNoSmell", "yes"), ("servicePlugOut", "yes"));
        foreach (var m in modules)
        {
            var slot = Array.IndexOf(modules, m) + 1;
            yield return Step(0.3, "modules", new ModuleRecord
            {
                Identity = m.Identity,
                SerialLabel = $"PTR-{4100 + slot}",
                MassKg = m.MassKg,
                Connector = $"J{slot}",
                Status = ModuleStatus.Quarantined,
                Origin = new ModuleOrigin { Donor = "invented donor, harbour workshop lot 3", YearOfMake = 2016, Use = "invented, 84,000 km", CrashDamaged = false, OriginalPlace = $"row {(slot - 1) / 6 + 1}, place {(slot - 1) % 6 + 1}" },
            });
            yield return Step(0.1, $"modules/{m.Identity}/removal", new RemovalEntry(Math.Round(m.RestV(52).Sum(), 2), 9, slot == 11 ? 0 : 9, slot == 11 ? "link came loose by hand" : ""));
        }

        yield return Prove(2, ("sumAgainstPackPercent", "0.2"));
    }

    private ProjectStep Look(double afterHours)
    {
        now = now.AddHours(afterHours);
        var ambient = Math.Round(6 + 2 * draws.Uniform(), 1);
        return new ProjectStep(now, "quarantine/readings", By(Ada, new QuarantineReading(now, ambient, [.. Enumerable.Range(0, 6).Select(_ => Math.Round(ambient + 0.8 * draws.Uniform(), 1))], "", false, Ada)));
    }

    private IEnumerable<ProjectStep> Inspections()
    {
        now = now.AddHours(16);
        foreach (var m in modules)
        {
            var v = m.RestV(52);
            yield return Step(0.25, $"modules/{m.Identity}/inspection", new InspectionEntry(
                v, [.. v.Select(x => Math.Round(x + 0.0005 * draws.Normal(), 4))], Math.Round(v.Sum(), 3), 0.2, 12, m.Identity == "B14" ? 22 : 60, false, false, "clean", "hand meter 2, calibrated 2025-11"));
        }

        yield return Picture(0.2, "B07", "b07-label.png", "Label and stack of B07 on the bench", "inspection", DrawnPicture.Module("B07", 6, 0));
        yield return Picture(0.1, "B07", "b07-group3.png", "Group 3, the one to look at again: tab clean, no heat mark", "inspection", DrawnPicture.Module("B07", 6, 3));
        yield return Picture(0.1, "B14", "b14-case.png", "B14 dried and cleaned before the second reading to the case", "inspection", DrawnPicture.Module("B14", 6, 0));
        yield return Prove(3);
    }

    /// <summary>The joint at the negative end of B07: joint j links places j and j + 1.</summary>
    private int JointOfB07 => Array.IndexOf(pack, "B07");

    /// <summary>A drawn picture, handed in like a photograph; it says in itself that it is none.</summary>
    private ProjectStep Picture(double afterHours, string module, string name, string caption, string about, byte[] png, int? joint = null)
    {
        now = now.AddHours(afterHours);
        var query = $"name={name}&by={Ada}&simulated=true&about={about}&caption={Uri.EscapeDataString($"{caption} (drawn for the demo, not a photograph)")}{(joint is { } n ? $"&joint={n}" : "")}";
        return new ProjectStep(now, $"modules/{module}/files?{query}", png);
    }

    private ProjectStep Queue() => Step(0.2, "queue", new QueueBody([new Rig("shelf", [RunMethod.Rest], 18, 24), new Rig("load", [RunMethod.Capacity, RunMethod.Pulse], 1, 24)], new StepHours()));

    private IEnumerable<ProjectStep> CapacityOf(WorkshopModule m)
    {
        var run = $"{m.Identity}-capacity-1";
        yield return Step(1, "runs", new RunBody(m.Identity, RunMethod.Capacity, "load", true));
        yield return Step(0.2, $"runs/{run}/cut-tried", new CutBody(-36.7, -0.02, 0.1));
        yield return Step(10, $"runs/{run}/capacity", new CsvBody(m.CapacityCsv(36.7, 3.0, 21), null));
    }

    /// <summary>Six modules have their capacity; that of B07 has just begun.</summary>
    private IEnumerable<ProjectStep> FirstBenchRuns()
    {
        yield return Queue();
        foreach (var step in modules.Take(6).SelectMany(CapacityOf)) yield return step;
        now = now.AddHours(9);
        yield return Step(0.2, "runs", new RunBody("B07", RunMethod.Capacity, "load", true));
    }

    /// <summary>A module that came late, as a spare: on the shelf for its rest test.</summary>
    private IEnumerable<ProjectStep> SpareOnTheShelf()
    {
        now = now.AddHours(14);
        var m = new WorkshopModule("B21", 21, 109.8);
        yield return Step(0.5, "modules", new ModuleRecord { Identity = "B21", SerialLabel = "PTR-4121", MassKg = m.MassKg, Connector = "J21", Origin = new ModuleOrigin { Donor = "invented donor, harbour workshop lot 4", YearOfMake = 2016, Use = "invented, 61,000 km", CrashDamaged = false, OriginalPlace = "row 2, place 3" } });
        var v = m.RestV(61);
        yield return Step(0.5, "modules/B21/inspection", new InspectionEntry(v, v, Math.Round(v.Sum(), 3), 0.1, 18, 55, false, false, "clean", "hand meter 2, calibrated 2025-11"));
        yield return Step(0.3, "runs", new RunBody("B21", RunMethod.Rest, "shelf", false));
        now = now.AddDays(4);
    }

    /// <summary>What is done on the morning of the first DC charge.</summary>
    private IEnumerable<ProjectStep> BeforeDc()
    {
        yield return Step(0.2, "charges/preconditions", Dc);
        yield return Step(0.1, "gates/15/ready", new ReasonBody(""));
    }

    private IEnumerable<ProjectStep> BenchTests()
    {
        yield return Queue();
        foreach (var step in modules.SelectMany(CapacityOf)) yield return step;

        foreach (var m in modules) yield return Step(0.1, "runs", new RunBody(m.Identity, RunMethod.Rest, "shelf", false));
        now = now.AddDays(11);
        foreach (var m in modules) yield return Step(0.1, $"runs/{m.Identity}-rest-1/rest", new RestBody(m.Rest(11, 61), null));
        foreach (var m in modules)
        {
            yield return Step(0.5, "runs", new RunBody(m.Identity, RunMethod.Pulse, "load", true));
            yield return Step(1, $"runs/{m.Identity}-pulse-1/pulse", m.Pulse(110, 21));
        }

        yield return Prove(4);
        yield return Prove(5);
        yield return Prove(6);
    }

    private IEnumerable<ProjectStep> GradesAndPlan()
    {
        yield return Step(1, "grades", new ReasonBody("first grading"));
        yield return Prove(7);
        yield return Step(1, "slots", new SlotSheet([.. PetrelPack.Layout.Modules.Select((m, i) => SlotAt(i, m.Box))], new PlanWeights(), null, null, 0.20, 0.36, [],
            new CentreBox(2.60, 2.80, -0.03, 0.03, 0.10, 0.40), new BoatStability(4200, 65, 0.62, 2.90), Removed: [new PointMass(310, 2.45, 0, 0.30), new PointMass(85, 4.90, 0, 0.35)]));
        yield return Step(0.5, "plan/compare", new PlanBody(pack));
        yield return Step(0.5, "plan", new PlanBody(pack));
        yield return Prove(8);
    }

    private static Slot SlotAt(int i, string box)
    {
        var fore = i < 12;
        int row = (fore ? i : i - 12) / 3, column = (fore ? i : i - 12) % 3;
        var rank = i * 5 % 18 + 1;
        return new Slot(i + 1, box, (fore ? 1.2 : 4.6) + 0.32 * row, 0.35 * (column - 1), fore ? 0.2 : 0.32, rank, Math.Round(0.35 * (rank - 1), 2), true);
    }

    private IEnumerable<ProjectStep> ChannelProofs()
    {
        now = now.AddHours(12);
        foreach (var id in pack)
        {
            var m = modules.First(x => x.Identity == id);
            var v = m.RestV(60);
            var stack = v.Select((_, i) => Math.Round(v.Take(i + 1).Sum(), 2)).Prepend(0).ToArray();
            if (id == "B09")
            {
                // The first attempt finds two leads exchanged; corrected, it passes.
                var wrong = stack.ToArray();
                (wrong[3], wrong[4]) = (wrong[4], wrong[3]);
                yield return Step(0.2, "proofs/stack", new StackBody(id, wrong));
            }

            yield return Step(0.2, "proofs/stack", new StackBody(id, stack));
            yield return Step(0.1, "proofs/sum", new SumBody(id, v, Math.Round(v.Sum(), 3)));
            yield return Step(0.1, "proofs/module-load", new RhythmBody(id, Rhythm(id)));
        }

        var sensors = pack.SelectMany(id => new[] { $"{id}.t1", $"{id}.t2" }).ToList();
        foreach (var sensor in sensors)
            yield return Step(0.05, "proofs/warm-hand", new HandBody(sensor, sensors.ToDictionary(s => s, _ => 19.0, StringComparer.Ordinal), sensors.ToDictionary(s => s, s => s == sensor ? 21.6 : 19.1, StringComparer.Ordinal)));
        yield return Step(0.2, "gates/9/ready", new ReasonBody(""));
        yield return Step(0.5, "gates/9/prove", new EvidenceBody(new Dictionary<string, string>(StringComparer.Ordinal)
        {
            ["expectedV"] = "68.2",
            ["measuredV"] = "68.1",
            ["coversOn"] = "yes",
            ["secondPerson"] = Bea,
        }));
    }

    /// <summary>10 ohm across the module: 2.3 A, about 2.5 mV on its six channels, in 0.4 mV of noise at 2 Hz.</summary>
    private RhythmSamples Rhythm(string id)
    {
        var rhythm = LoadRhythm.FiveTens;
        var times = Enumerable.Range(0, (int)(rhythm.LengthS * 2)).Select(i => i / 2.0).ToArray();
        var cells = new Dictionary<string, double?[]>(StringComparer.Ordinal);
        foreach (var other in pack)
        {
            var m = modules.First(x => x.Identity == other);
            for (var g = 0; g < 6; g++)
            {
                var dropV = other == id ? 2.34 * (m.OhmicMilliohm[g] + m.SlowMilliohm[g]) / 1000 : 0;
                cells[$"{other}.{g + 1}"] = [.. times.Select(t => (double?)Math.Round(3.797 - dropV * (rhythm.LoadAt(t) ?? 0) + 0.0004 * draws.Normal(), 5))];
            }
        }

        return new RhythmSamples(times, cells, rhythm);
    }

    private IEnumerable<ProjectStep> JoinedString()
    {
        for (var j = 1; j < pack.Length; j++)
            yield return Step(0.3, "joints", new Joint(j, $"{pack[j - 1]}+ to {pack[j]}-", "M8", 12, true, true, true, Math.Round(9 + 1.2 * draws.Uniform(), 1), null, $"L{j:00}"));
        yield return Picture(0.3, "B07", $"joint{JointOfB07}-marked.png", $"Joint {JointOfB07} torqued, witness mark set", "joint", DrawnPicture.Module("B07", 6, 6), JointOfB07);
        yield return Step(1, "proofs/current", new CurrentBody(0.02, -20.1, 20, 11));
        yield return Step(0.2, "proofs/string-voltage", new StringVoltageBody(410.1, 410.0, 409.9));
        yield return Prove(10);
        var levels = pack.SelectMany(id => Enumerable.Range(1, 6).Select(g => new CellLevel($"{id}.{g}", id == "B05" && g == 2 ? 93.2 : Math.Round(95 + 0.2 * draws.Normal(), 2), 110))).ToList();
        yield return Step(2, "pre-balance", new PreBalanceBody(levels, 95.5, 2, 0.124, 3));
        now = now.AddHours(24);
        yield return Prove(11, ("restHours", "14"), ("chargePercent", "95.6"), ("spreadMv", "4.1"));
        yield return Step(2, "isolation", new IsolationBody(new IsolationReadings(409.8, 205.3, 198.1, 200e3, true, 38.6), 10e6, 58, "contactors open, charger off"));
        yield return Prove(12);
        var circuit = new Precharge(409.8, 100, 1e-3);
        var times = Enumerable.Range(0, 101).Select(i => i / 100.0).ToArray();
        yield return Step(1, "pre-charge", new PrechargeBody(new PrechargeCurve(times, [.. times.Select(t => Math.Round(409.8 * circuit.ShareAfter(t), 1))], 409.8, 6), 100, 1e-3));
        yield return Prove(13);
    }

    private WorkshopModule[] Fitted => [.. pack.Select(id => modules.First(m => m.Identity == id))];

    private static PreconditionsBody Ac => new(ChargeKind.Ac, true, 0.4, 0.2, 21, 22.5, 35, 3, 1, false);

    private static PreconditionsBody Dc => Ac with { Kind = ChargeKind.Dc, ColdestDegC = 25.5, HottestDegC = 27, People = 2 };

    private IEnumerable<ProjectStep> AcCharge()
    {
        now = now.AddHours(20);
        yield return Step(0, "charges/preconditions", Ac);
        yield return Charge("first AC charge", ChargeKind.Ac, WorkshopCharge.Run(Fitted, 35, 60, 11, PetrelPack.ChargeTargetV, 5), Ac);
        yield return Prove(14);
    }

    private IEnumerable<ProjectStep> DcCharge()
    {
        now = now.AddDays(2);
        yield return Step(0, "charges/preconditions", Dc);
        yield return Picture(0.3, "B07", $"joint{JointOfB07}-thermal.png", $"Joint {JointOfB07} after ten minutes at 30 A: 2.1 K above its like", "thermalPicture", DrawnPicture.Thermal(pack[JointOfB07 - 1], "B07", 27.4), JointOfB07);
        yield return Charge("first DC charge", ChargeKind.Dc, WorkshopCharge.Run(Fitted, 35, 99, 60, PetrelPack.ChargeTargetV, 5), Dc);
        yield return Prove(15);
    }

    private ProjectStep Charge(string id, ChargeKind kind, WorkshopChargeResult result, PreconditionsBody live)
    {
        var site = Site("sample");
        var facts = new ChargeFacts(kind, true, true, "All 146 channels are proven.", true, live.DataAgeS, site.HandCutOff, live.CutOffTriedHoursAgo, true, "passed", live.ColdestDegC, live.HottestDegC, live.ChargePercent, live.PresenceMinutesAgo, live.People, true, true, false);
        var start = now;
        now = now.AddHours(result.Hours + 0.3);
        return new ProjectStep(now, "charges", By(Ada, new ChargeRecord(
            id, kind, start, now, ChargeLadder.Preconditions(facts, site.Limits), start.AddMinutes(6), result.LimitedBy, result.LimitedAtV, result.LimitedAtA, 24.5,
            true, [], Math.Round(result.InAh, 2), kind == ChargeKind.Ac ? Math.Round(result.PackWh / 0.93) : double.NaN, Math.Round(result.PackWh), $"run {id}",
            new ChargeCurve([.. result.Course.Select(c => c.TimeS)], [.. result.Course.Select(c => c.CurrentA)], [.. result.Course.Select(c => c.HighestV)], [.. result.Course.Select(c => c.LowestV)]))));
    }

    private IEnumerable<ProjectStep> FirstSeason()
    {
        var cells = pack.Length * 6;
        var ah = new double[cells];
        for (var c = 0; c < cells; c++) ah[c] = Math.Round(0.05 * draws.Normal(), 3);
        ah[50] = 1.6;
        for (var n = 0; n < 2; n++)
        {
            now = now.AddHours(15.5);
            var before = ah.ToArray();
            var planned = new double[cells];
            planned[50] = Math.Min(0.99, ah[50]);
            ah[50] -= planned[50];
            var after = ah.Select(a => Math.Round(a + 0.02 * draws.Normal(), 3)).ToArray();
            now = now.AddHours(8.5);
            yield return new ProjectStep(now, "nights", By(Ada, new NightBody($"night-{n + 1}", new NightRecord(8.5, 24 * n + 8.5, before, after, planned, planned, new RestConditions(true, 45, 19.4), new RestConditions(true, 60, 18.6), [], 41), null)));
        }

        yield return Prove(16);
        now = now.AddDays(3);
        yield return Prove(17, ("lowestCellV", "3.41"), ("tripStored", "yes"), ("nothingWarm", "yes"));
        now = now.AddDays(12);
        var fault = new FaultFile { Id = "F1", Symptom = "B12.3 12 mV low and B12.4 12 mV high while B12.3 bleeds, level at rest", TriageKey = "mirrored-neighbours", EvidenceWindow = "run voyage-3, 10 min before and after", ChangedBefore = "cover of the fore box off for the inspection" };
        yield return Step(0.5, "faults", fault);
        yield return Step(2, "faults", fault with { Tests = ["hand meter at B12.3 and B12.4: 3.871 and 3.872 V, bleed off", "bleed on: meter unchanged at the cell, instrument 12 mV apart"], Finding = "shared sense lead of B12.3 and B12.4: loose crimp", Fix = "crimp made again, connector checked by hand meter", ProofAfterFix = "bleed on: both within 1 mV of the meter; rhythm of B12.3 proven", Closed = true }, basedOn: 1);
        now = now.AddDays(18);
        yield return Prove(18, ("torqueMarks", "yes"), ("thermalPicture", "yes"));
        yield return Step(1, "health", Points(0));
        now = now.AddDays(170);
        yield return Step(1, "health", Points(1.9));
        yield return Prove(19);
        yield return Step(2, "storage", new StorageBody([.. Fitted.SelectMany(m => m.GroupAh.Select((a, g) => new StoredCell($"{m.Identity}.{g + 1}", Math.Round(0.47 * a, 1), new Uncertain(0.4, 0.3)))).OrderBy(c => c.AboveLimitAh).Take(12)], 3));
    }

    /// <summary>Six-monthly capacities between two rests; a fade of 1.9 Ah in the first half year is an assumption of this story.</summary>
    private List<CapacityPoint> Points(double fadeAh) =>
        [.. Fitted.SelectMany(m => m.GroupAh.Select((a, g) => new CapacityPoint(
            $"{m.Identity}.{g + 1}", new Uncertain(Math.Round(a - fadeAh + 0.3 * draws.Normal(), 2), 0.6), new TestConditions(now, "between two rests", 20.5, 20, 92, 38))))];
}
