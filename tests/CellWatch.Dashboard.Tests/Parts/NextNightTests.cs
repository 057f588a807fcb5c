using Bunit;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Parts;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Parts;

/// <summary>What to bleed in the next night, from a desk that answers as asked.</summary>
public sealed class NextNightTests : PageTest
{
    private static readonly PackState State = Petrel.At("normal");
    private readonly Desk _desk = new();

    [Fact]
    public void Each_cell_has_its_charge_hours_and_turn_and_the_page_says_who_switches()
    {
        _desk.Plan = new BalancePlan
        {
            Cells = [new BalanceCell(6, 0.54, 9.6, 0, 0.124, true), new BalanceCell(7, 0.42, 10, 0.11, 0.124, false)],
            Hours = 10,
            TotalAh = 0.96,
            HeatWh = 3.9,
            Sentence = "Bleed 2 cells.",
            LeftAlone = ["B07.3: less capacity."],
            Withheld = ["1 cell at the floor."],
        };
        var page = Open();
        page.WaitForAssertion(() => Assert.Equal(2, page.FindAll(".plan-table tbody tr").Count));
        var second = page.FindAll(".plan-table tbody tr")[1];
        Assert.Equal(State.Snapshot.Map.NameOf(7), second.QuerySelector("th")!.TextContent);
        Assert.Equal("even", second.QuerySelector("[data-head=turn]")!.TextContent);
        Assert.Equal("0.42", second.QuerySelector("[data-head='take out, Ah']")!.TextContent);
        Assert.Equal("10.0", second.QuerySelector("[data-head=hours]")!.TextContent);
        Assert.Equal("0.11", second.QuerySelector("[data-head='left, Ah']")!.TextContent);
        Assert.Contains("B07.3: less capacity.", page.Markup, StringComparison.Ordinal);
        Assert.Contains("1 cell at the floor.", page.Markup, StringComparison.Ordinal);
        Assert.Contains("No front end here takes a bleed command", page.Markup, StringComparison.Ordinal);
        Assert.Contains("odd cells of each module for 4.5", page.Markup, StringComparison.Ordinal);
    }

    [Fact]
    public void A_plan_that_is_withheld_says_why_and_shows_no_table()
    {
        _desk.Plan = new BalancePlan { Sentence = "The pack is not at rest.", Withheld = ["The pack is not at rest."] };
        var page = Open();
        page.WaitForAssertion(() => Assert.Equal("The pack is not at rest.", page.Find(".nothing").TextContent));
        Assert.Empty(page.FindAll("table"));
    }

    [Fact]
    public void Another_level_is_asked_for_and_one_that_cannot_be_is_refused()
    {
        var page = Open();
        page.WaitForAssertion(() => Assert.Equal("95", page.Find("input").GetAttribute("value")));
        Do(page, p => p.Find("input").Change("85"));
        page.WaitForAssertion(() => Assert.Equal(85, _desk.Asked));
        Do(page, p => p.Find("input").Change("500"));
        page.WaitForAssertion(() => Assert.Contains("'500' is no level to plan for", page.Find(".answer-line").TextContent, StringComparison.Ordinal));
        Assert.Equal(85, _desk.Asked);
    }

    [Fact]
    public void Where_nobody_plans_nothing_is_shown() => Assert.Empty(Show<NextNight>(State).Markup.Trim());

    private IRenderedComponent<NextNight> Open()
    {
        Services.AddSingleton<IAdviceDesk>(_desk);
        return Show<NextNight>(State);
    }

    private sealed class Desk : IAdviceDesk
    {
        public BalancePlan Plan { get; set; } = new();

        public double? Asked { get; private set; }

        public Task<CausesAdvice?> CausesAsync(CancellationToken cancellation = default) => Task.FromResult<CausesAdvice?>(null);

        public Task<BalanceAdvice?> PlanAsync(double? referencePercent, double longestH, CancellationToken cancellation = default)
        {
            Asked = referencePercent;
            return Task.FromResult<BalanceAdvice?>(new BalanceAdvice(Plan, new BleedSchedule(), State.Snapshot.Map, referencePercent ?? 95, 94, State.Snapshot.Time, true));
        }
    }
}
