using CellWatch.Core.Estimation;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;

namespace CellWatch.Core.Bench.Project;

/// <summary>An isolation test as kept.</summary>
/// <param name="Finding">What it says.</param>
/// <param name="MeterOhm">Resistance of the meter.</param>
/// <param name="HumidityPercent">Humidity; null where not measured.</param>
/// <param name="Connected">What was connected.</param>
public sealed record IsolationKept(IsolationFinding Finding, double MeterOhm, double? HumidityPercent, string Connected);

/// <summary>A pre-charge as kept.</summary>
/// <param name="Curve">The curve.</param>
/// <param name="Finding">What it says.</param>
/// <param name="ReferenceTimeS">What it was compared with.</param>
public sealed record PrechargeKept(PrechargeCurve Curve, PrechargeFinding Finding, double ReferenceTimeS);

/// <summary>A night as kept.</summary>
public sealed record NightKept(NightRecord Night, NightReviewOutcome Review);

/// <summary>A health check as kept.</summary>
public sealed record HealthKept(HealthOutcome Outcome, DateTimeOffset FirstAt, DateTimeOffset LastAt);

/// <summary>Stages 11 to 19: isolation, pre-charge, charges, nights, storage, health, faults.</summary>
/// <param name="store">Where it is kept.</param>
/// <param name="site">The site.</param>
public sealed class SafetyBook(IRecordStore store, BenchSite site)
{
    private readonly Shelf<IsolationKept> isolation = new(store, "isolation");
    private readonly Shelf<PrechargeKept> precharge = new(store, "pre-charge");
    private readonly Shelf<ChargeRecord> charges = new(store, "charge");
    private readonly Shelf<NightKept> nights = new(store, "night");
    private readonly Shelf<LowReading> lows = new(store, "low-reading");
    private readonly Shelf<StorageDate> storage = new(store, "storage");
    private readonly Shelf<CapacityPoint> points = new(store, "capacity-point");
    private readonly Shelf<HealthKept> health = new(store, "health-check");
    private readonly Shelf<FaultFile> faults = new(store, "fault");

    /// <summary>Judges and keeps an isolation test. Impossible readings are refused and not kept.</summary>
    /// <exception cref="RefusedException">The readings cannot be.</exception>
    public Kept<IsolationKept> Isolation(IsolationReadings readings, double meterOhm, double? humidityPercent, string connected, Stamp who)
    {
        var finding = IsolationJudgement.Judge(readings, site.Layout, site.NominalV, site.HighestV, meterOhm);
        if (finding.Refusal is { } refusal) throw new RefusedException(refusal) { Field = IsolationTest.Fault(readings)?.Field ?? nameof(IsolationKept.MeterOhm) };
        if (humidityPercent is { } humidity && !(humidity is >= 0 and <= 100))
            throw new RefusedException(T("Humidity is between 0 and 100 %; leave it empty where it was not measured.")) { Field = nameof(IsolationKept.HumidityPercent) };
        return isolation.Put("pack", new IsolationKept(finding, meterOhm, humidityPercent, connected), Revision(isolation, "pack"), who.By, who.At, who.Simulated);
    }

    /// <summary>All isolation tests, oldest first.</summary>
    public IReadOnlyList<Kept<IsolationKept>> IsolationHistory() => isolation.History("pack");

    /// <summary>Judges and keeps a pre-charge. The first good one becomes the reference; before it, R and C are.</summary>
    public Kept<PrechargeKept> Precharge(PrechargeCurve curve, Precharge? circuit, Stamp who)
    {
        var reference = PrechargeHistory().FirstOrDefault(p => p.Value.Finding.Verdict == PrechargeVerdict.Good)?.Value.Finding.TimeTo95S
            ?? (circuit is { } c ? PrechargeJudgement.ReferenceTimeS(c) : throw new RefusedException(T("There is no reference curve yet: give resistor and capacitance of the bus.")));
        var finding = PrechargeJudgement.Judge(curve, reference);
        return precharge.Put("pack", new PrechargeKept(curve, finding, reference), Revision(precharge, "pack"), who.By, who.At, who.Simulated);
    }

    /// <summary>All pre-charges, oldest first.</summary>
    public IReadOnlyList<Kept<PrechargeKept>> PrechargeHistory() => precharge.History("pack");

    /// <summary>Keeps a charge.</summary>
    public Kept<ChargeRecord> Charge(ChargeRecord charge, Stamp who)
    {
        RefusedException.Unless(charge.EndedAt > charge.StartedAt, T("The charge ended before it began: check the times."));
        RefusedException.Unless(charge.InAh is >= 0 && charge.InAh <= 2 * site.RatedGroupAh, T($"{charge.InAh:0.#} Ah cannot go into cells of {site.RatedGroupAh:0} Ah."));
        if (charge.Curve is { } c)
            RefusedException.Unless(c.TimeS.Length == c.CurrentA.Length && c.TimeS.Length == c.HighestV.Length && c.TimeS.Length == c.LowestV.Length, T("The course of the charge holds columns of different lengths."));
        return charges.Put(charge.Id, charge with { Limits = site.Limits }, Revision(charges, charge.Id), who.By, who.At, who.Simulated);
    }

    /// <summary>All charges.</summary>
    public IReadOnlyList<Kept<ChargeRecord>> Charges() => charges.Latest();

    /// <summary>Keeps a reading low on the curve.</summary>
    public Kept<LowReading> Low(LowReading reading, Stamp who)
    {
        RefusedException.Unless(reading.DeviationAh.Length == site.Layout.CellCount, T($"{site.Layout.CellCount} deviations are needed, {reading.DeviationAh.Length} were given."));
        return lows.Put("pack", reading, Revision(lows, "pack"), who.By, who.At, who.Simulated);
    }

    /// <summary>Reviews a night together with those before it, and keeps both.</summary>
    public Kept<NightKept> Night(string id, NightRecord night, NightRules rules, Stamp who)
    {
        foreach (var array in new[] { night.BeforeAh, night.AfterAh, night.PlannedAh, night.IntegratedAh })
            RefusedException.Unless(array.Length == site.Layout.CellCount, T($"{site.Layout.CellCount} figures a list are needed, one a cell; {array.Length} were given."));
        var before = nights.Latest().Where(n => n.Record.Key != id).OrderBy(n => n.Value.Night.HoursSinceFirst).Select(n => n.Value.Night);
        var names = Enumerable.Range(0, site.Layout.CellCount).Select(site.Map.NameOf).ToList();
        var review = NightReview.Of(names, [.. before, night], lows.Latest("pack")?.Value, rules);
        return nights.Put(id, new NightKept(night, review), Revision(nights, id), who.By, who.At, who.Simulated);
    }

    /// <summary>All nights.</summary>
    public IReadOnlyList<Kept<NightKept>> Nights() => nights.Latest();

    /// <summary>Works out and keeps the storage sheet.</summary>
    public Kept<StorageDate> Store(IReadOnlyList<StoredCell> cells, double electronicsMilliampere, Stamp who) =>
        storage.Put("pack", StorageDate.Of(cells, electronicsMilliampere, who.At), Revision(storage, "pack"), who.By, who.At, who.Simulated);

    /// <summary>The storage sheet; null before.</summary>
    public Kept<StorageDate>? Storage() => storage.Latest("pack");

    /// <summary>Keeps capacities and compares each cell with its own past, like with like.</summary>
    public Kept<HealthKept> Health(IReadOnlyList<CapacityPoint> added, Stamp who)
    {
        RefusedException.Unless(added.Count > 0, T("No capacity was given."));
        foreach (var p in added)
        {
            RefusedException.Unless(p.CapacityAh.Value > 0 && p.CapacityAh.Value < 2 * site.RatedGroupAh, T($"{p.Cell}: {p.CapacityAh.Value:0.#} Ah cannot be for cells of {site.RatedGroupAh:0} Ah."));
            points.Put(p.Cell, p, Revision(points, p.Cell), who.By, who.At, who.Simulated);
        }

        var history = added.Select(p => (IReadOnlyList<CapacityPoint>)[.. points.History(p.Cell).Select(k => k.Value)]).ToList();
        var all = history.SelectMany(h => h).Select(p => p.Conditions.At).ToList();
        return health.Put("pack", new HealthKept(HealthCheck.Judge(history), all.Min(), all.Max()), Revision(health, "pack"), who.By, who.At, who.Simulated);
    }

    /// <summary>All health checks, oldest first.</summary>
    public IReadOnlyList<Kept<HealthKept>> HealthHistory() => health.History("pack");

    /// <summary>Keeps a fault file; closing one needs a measurement after the fix.</summary>
    public Kept<FaultFile> Fault(FaultFile file, int basedOn, Stamp who)
    {
        RefusedException.Unless(file.TriageKey.Length == 0 || FaultTriage.Table.Any(r => r.Key == file.TriageKey),
            T($"'{file.TriageKey}' is no row of the triage table{Wording.NearestName.Suggestion(file.TriageKey, FaultTriage.Table.Select(r => r.Key))}."));
        return faults.Put(file.Id, file.Closed ? FaultTriage.Close(file) : file, basedOn, who.By, who.At, who.Simulated);
    }

    /// <summary>All fault files.</summary>
    public IReadOnlyList<Kept<FaultFile>> Faults() => faults.Latest();

    private static int Revision<T>(Shelf<T> shelf, string key)
        where T : class => shelf.Latest(key)?.Record.Revision ?? 0;
}
