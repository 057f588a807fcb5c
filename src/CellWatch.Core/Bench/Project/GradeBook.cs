using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.Planning;
using CellWatch.Core.Register;

namespace CellWatch.Core.Bench.Project;

/// <summary>Stage 7: limits, grades, the price of the weakest, sag, spare.</summary>
/// <param name="store">Where it is kept.</param>
/// <param name="site">The site.</param>
/// <param name="register">The modules.</param>
/// <param name="runs">Their tests.</param>
public sealed class GradeBook(IRecordStore store, BenchSite site, ModuleRegister register, RunBook runs)
{
    private readonly Shelf<GradeLimits> limits = new(store, "grade-limits");
    private readonly Shelf<GradeSheet> sheets = new(store, "grade-sheet");

    /// <summary>The limits now in force.</summary>
    public GradeLimits Limits => limits.Latest("limits")?.Value ?? new GradeLimits { RatedGroupAh = site.RatedGroupAh };

    /// <summary>Changes the limits; sheets made before keep theirs.</summary>
    /// <exception cref="RefusedException">A limit cannot be.</exception>
    public Kept<GradeLimits> SetLimits(GradeLimits changed, Stamp who)
    {
        RefusedException.Unless(changed.HealthRejectPercent < changed.HealthAcceptPercent && changed.HealthAcceptPercent <= 100 && changed.HealthRejectPercent > 0, T("healthRejectPercent must lie above 0 and below healthAcceptPercent, and that at most at 100."));
        RefusedException.Unless(changed.ResistanceAcceptRatio is > 1 && changed.ResistanceLimitRatio >= changed.ResistanceAcceptRatio, T("resistanceAcceptRatio must be above 1 and at most resistanceLimitRatio."));
        RefusedException.Unless(changed.LeakAcceptMilliampere > 0 && changed.LeakRejectMilliampere >= changed.LeakAcceptMilliampere, T("leakAcceptMilliampere must be above 0 and at most leakRejectMilliampere."));
        RefusedException.Unless(changed.RatedGroupAh > 0 && changed.SiblingScore > 0 && changed.CapacityResolutionAh > 0, T("ratedGroupAh, siblingScore and capacityResolutionAh must be above 0."));
        return limits.Put("limits", changed, limits.Latest("limits")?.Record.Revision ?? 0, who.By, who.At, who.Simulated);
    }

    /// <summary>Grades all modules and keeps the sheet; status of rejected modules follows.</summary>
    public (Kept<GradeSheet> Sheet, GradeDifference? Difference) Grade(Stamp who)
    {
        var before = Latest();
        var sheet = Preview(Limits);
        RefusedException.Unless(sheet.Cards.Count > 0, T("There is no module to grade: add modules to the register first."));
        var kept = sheets.Put("sheet", sheet, before?.Record.Revision ?? 0, who.By, who.At, who.Simulated);
        foreach (var card in sheet.Cards)
        {
            var module = register.Get(new Pack.ModuleId(card.Identity));
            var status = card.Grade == Bench.Grade.R ? ModuleStatus.Rejected
                : card.Grade != Bench.Grade.None && module.Value.Status is ModuleStatus.Quarantined or ModuleStatus.OnBench or ModuleStatus.Rejected ? ModuleStatus.Graded : module.Value.Status;
            if (status != module.Value.Status)
                register.Revise(new Pack.ModuleId(card.Identity), module.Record.Revision, m => m with { Status = status }, who.By, who.At, who.Simulated);
        }

        return (kept, before is null ? null : GradeDifference.Between(before.Value, sheet));
    }

    /// <summary>Grades under other limits without keeping anything.</summary>
    public GradeSheet Preview(GradeLimits tried)
    {
        var wired = site.Layout.Modules.Select(m => m.Id.Text).ToHashSet(StringComparer.Ordinal);
        var modules = register.All().Select(m => runs.Evidence(m.Value)).ToList();
        return Grading.Judge(modules, tried, site.SoftwareVersion, inPack: modules.Exists(m => wired.Contains(m.Identity)) ? wired : null);
    }

    /// <summary>The card one module would get now; null where it is not in the register. Quick: no draws.</summary>
    public GradeCard? CardNow(string module)
    {
        var all = register.All().Select(m => runs.Evidence(m.Value)).ToList();
        return all.Find(m => m.Identity == module) is { } one ? Grading.CardOf(one, all, Limits) : null;
    }

    /// <summary>The latest sheet; null before.</summary>
    public Kept<GradeSheet>? Latest() => sheets.Latest("sheet");

    /// <summary>All sheets, oldest first.</summary>
    public IReadOnlyList<Kept<GradeSheet>> History() => sheets.History("sheet");

    /// <summary>Group capacities of a module; null without a capacity test.</summary>
    public ModuleCapacity? CapacityOf(string module) =>
        runs.CapacityOf(module) is { } test && test.Value.Outcome.Groups.Count > 0 ? new ModuleCapacity(module, [.. test.Value.Outcome.Groups.Select(g => g.CapacityAh.Value)]) : null;

    /// <summary>What the weakest costs a pack of these modules; the other usable modules are spares.</summary>
    public PriceList Price(IReadOnlyList<string> pack)
    {
        var unknown = pack.Where(m => CapacityOf(m) is null).ToList();
        RefusedException.Unless(unknown.Count == 0, T($"{Wording.Figures.List(unknown)} has no capacity test: the weakest is not known without it."));
        var usable = (Latest()?.Value.Cards ?? []).Where(c => c.Grade is Bench.Grade.A or Bench.Grade.B && !pack.Contains(c.Identity)).Select(c => CapacityOf(c.Identity)).OfType<ModuleCapacity>();
        return PriceOfTheWeakest.Of([.. pack.Select(m => CapacityOf(m)!)], [.. usable], site.NominalV);
    }

    /// <summary>Sag of every cell of these modules at a peak current.</summary>
    public PeakSag Sag(IReadOnlyList<string> pack, double peakA, double chargePercent)
    {
        RefusedException.Unless(peakA > 0 && chargePercent is >= 0 and <= 100, T("State the peak current (A, above 0) and the charge level (0 to 100 %)."));
        var curve = site.Curve ?? throw new RefusedException(T("Choose a cell type with a curve first: rest voltages are not known without it."));
        var cells = new List<(string, double, double)>();
        foreach (var module in pack)
        {
            var pulse = runs.PulseOf(module) is { Value.Outcome.Comparable: true } found ? found.Value.Outcome : throw new RefusedException(T($"{module} has no comparable pulse test."));
            var capacity = CapacityOf(module)?.GroupAh;
            foreach (var g in pulse.Groups) cells.Add(($"{module}.{g.Cell}", RestV(curve, capacity, g.Cell - 1, chargePercent), g.TenSecondMilliohm));
        }

        return PeakSag.At(cells, peakA, site.Limits.LowLoadStopV, chargePercent);
    }

    /// <summary>A cell with less capacity than rated stands lower when the pack is at a level counted from the top.</summary>
    private double RestV(OcvCurve curve, IReadOnlyList<double>? capacity, int cell, double chargePercent)
    {
        var ah = capacity is not null && cell < capacity.Count ? capacity[cell] : site.RatedGroupAh;
        var median = capacity is null ? site.RatedGroupAh : Statistics.Robust.Median([.. capacity]);
        var level = 100 - (100 - chargePercent) * median / ah;
        return curve.VoltageAt(Math.Clamp(level, curve.BottomSocPercent, curve.TopSocPercent));
    }
}
