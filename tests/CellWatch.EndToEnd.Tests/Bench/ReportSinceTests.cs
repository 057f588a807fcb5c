using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Pack;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Host.Reports;
using CellWatch.Testing.Pages;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>What the list of reports says that changed against the one before.</summary>
public sealed class ReportSinceTests
{
    private static readonly Stamp Ada = new("Ada", new DateTimeOffset(2026, 2, 12, 9, 0, 0, TimeSpan.Zero), false);

    private readonly BenchProject project = new(new MemoryRecordStore(), BenchSite.For(Petrel.Layout, CellType.Nmc420, "red button on the station", "0.9"));

    [Fact]
    public void The_first_passport_says_so_and_a_revised_one_what_changed()
    {
        project.Modules.Add(new ModuleRecord { Identity = "B07", MassKg = 12.4 }, Ada.By, Ada.At, Ada.Simulated);
        Assert.Equal("the first of this module", Passport.Since);
        var kept = project.Modules.Get(new ModuleId("B07"));
        project.Modules.Revise(new ModuleId("B07"), kept.Record.Revision, m => m with { MassKg = 12.5, Status = ModuleStatus.OnBench }, Ada.By, Ada.At, Ada.Simulated);
        Assert.Equal(("status quarantined to on the bench, mass 12.40 kg to 12.50 kg", 2), (Passport.Since, Passport.Revision));
    }

    [Fact]
    public void A_charge_is_held_against_the_one_of_its_kind_before_it()
    {
        foreach (var (id, kind, ah) in new[] { ("first AC charge", ChargeKind.Ac, 25.9), ("first DC charge", ChargeKind.Dc, 62.9), ("DC charge 2", ChargeKind.Dc, 12.0) })
            project.Safety.Charge(new ChargeRecord(id, kind, Ada.At, Ada.At.AddHours(1), [], null, "", double.NaN, double.NaN, double.NaN, false, [], ah, double.NaN, double.NaN, ""), Ada);
        var since = new BenchReports(project).List().Where(r => r.Kind == "charge").ToDictionary(r => r.About, r => r.Since);
        Assert.Equal("the first AC charge", since["first AC charge"]);
        Assert.Equal("the first DC charge", since["first DC charge"]);
        Assert.Equal("first DC charge: 62.9 Ah, no cell reached its target", since["DC charge 2"]);
    }

    [Fact]
    public void A_proof_certificate_names_its_newest_proof_and_what_became_void_after_it()
    {
        project.ProofStates.Add(new ProofAttempt("B04", ProofMethod.Sum, true, "Sum fits.", new Dictionary<string, double>(StringComparer.Ordinal)), [], Ada.By, Ada.At, Ada.Simulated);
        Assert.Equal("newest proof: B04, passed", Proofs.Since);
        project.Proofs.Disconnected("B04", "plug pulled", Ada);
        Assert.Equal("void since the newest proof: B04", Proofs.Since);
    }

    private ReportEntry Proofs => new BenchReports(project).List().Single(r => r.Kind == "proofs");

    private ReportEntry Passport => new BenchReports(project).List().Single(r => r.Kind == "passport");
}
