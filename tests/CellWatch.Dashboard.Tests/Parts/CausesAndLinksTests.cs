using Bunit;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Parts;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Parts;

/// <summary>Why cells of a module differ, and what the link ledger says.</summary>
public sealed class CausesAndLinksTests : PageTest
{
    private static readonly PackState State = Petrel.At("normal");

    [Fact]
    public void A_cause_is_said_with_its_evidence_and_what_to_do_and_only_at_its_own_module()
    {
        Services.AddSingleton<IAdviceDesk>(new Desk(new CausesAdvice(
            [
                new CellFinding(7, SuspectedCause.LowCapacity, "level with its siblings at 95 % charge", "bench discharge", 0.1, 101, 0, 0),
                new CellFinding(20, SuspectedCause.Undecided, "an offset and a leak both fit", "three days at rest tell a leak", -0.5, double.NaN, double.NaN, 0),
            ], 0)));
        var page = Show<CellCauses>(State, p => p.Add(c => c.Module, 1));
        page.WaitForAssertion(() => Assert.Contains("Low capacity. Level with its siblings", page.Markup, StringComparison.Ordinal));
        Assert.Contains(State.Snapshot.Map.NameOf(7), page.Markup, StringComparison.Ordinal);
        Assert.Contains("Bench discharge", page.Find(".scribe").TextContent, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain(State.Snapshot.Map.NameOf(20), page.Markup, StringComparison.Ordinal);
    }

    [Fact]
    public void Where_too_little_is_on_record_that_is_said()
    {
        Services.AddSingleton<IAdviceDesk>(new Desk(new CausesAdvice([], 108)));
        var page = Show<CellCauses>(State, p => p.Add(c => c.Module, 1));
        page.WaitForAssertion(() => Assert.Contains("a rest, a charge and a discharge must be on record", page.Markup, StringComparison.Ordinal));
    }

    [Fact]
    public void The_link_ledger_shows_resistance_with_interval_rise_with_date_and_the_meters_apart()
    {
        var first = new LinkEntry(1_767_225_600_000, 0.85e-3, 0.02e-3, 0.060, 0.002);
        var latest = new LinkEntry(1_767_312_000_000, 1.10e-3, 0.03e-3, 0.060, 0.002);
        var page = Show<LinksAndNoise>(State with
        {
            Links = new LinkView { First = first, Latest = latest, RiseOhm = 250e-6, RoseUnixMs = latest.WallUnixMs, Entries = [first, latest], Sentence = "Links 1.10 mOhm. Rose by 250 uOhm since 2026-01-02." },
            Noise = [new NoiseView("instrument 1", 1.04, 0.98)],
        });
        Assert.Contains("Rose by 250 uOhm since 2026-01-02.", page.Markup, StringComparison.Ordinal);
        var rows = page.FindAll(".links-table tbody tr");
        Assert.Equal(2, rows.Count);
        Assert.Equal(["1.10 ±0.03", "60 ±2"], rows[1].QuerySelectorAll("td").Select(d => d.TextContent));
        Assert.Contains("2026-01-02", rows[1].QuerySelector("th")!.TextContent, StringComparison.Ordinal);
        Assert.Contains("instrument 1 1.0\u202fmV (1.0\u202fmV at the last rest)", page.Markup, StringComparison.Ordinal);
    }

    [Fact]
    public void Before_the_first_entry_it_says_what_it_takes() =>
        Assert.Contains("half an hour in which the current changes", Show<LinksAndNoise>(State with { Links = null }).Markup, StringComparison.Ordinal);

    private sealed class Desk(CausesAdvice advice) : IAdviceDesk
    {
        public Task<BalanceAdvice?> PlanAsync(double? referencePercent, double longestH, CancellationToken cancellation = default) => Task.FromResult<BalanceAdvice?>(null);

        public Task<CausesAdvice?> CausesAsync(CancellationToken cancellation = default) => Task.FromResult<CausesAdvice?>(advice);
    }
}
