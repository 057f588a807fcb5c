using Bunit;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Planning;
using CellWatch.Core.Register;
using CellWatch.Dashboard.BenchPages;
using CellWatch.Dashboard.Live;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

/// <summary>The Fitting plan before there is a plan: slots are entered as lines of text.</summary>
public sealed class PlanBeginningTests : PageTest
{
    private readonly MemoryDesk desk = new();

    public PlanBeginningTests() => Services.AddSingleton<IBenchDesk>(desk);

    [Fact]
    public void A_line_is_a_slot_with_semicolons_or_tabs_and_a_decimal_point_or_comma()
    {
        Assert.Equal<Slot>(
            [new Slot(1, "fore box", 1.2, -0.35, 0.2, 3, 0.7, true), new Slot(2, "aft", 4.6, 0, 0.32, 1, 0, false)],
            SlotLines.Read("1; fore box; 1.20; -0.35; 0,2; 3; 0.7; yes\n\n2\taft\t4.6\t0\t0.32\t1\t0\tNO\r\n"));
        Assert.Single(SlotLines.Read(SlotLines.Example));
    }

    [Theory]
    [InlineData("1; fore; 1.2; 0; 0.2; 1; 0", "Line 1 has 7 fields, not 8")]
    [InlineData("\n1; fore; 1.2; ; 0.2; 1; 0; yes", "Line 2, to port: still to be measured.")]
    [InlineData("1; fore; aft; 0; 0.2; 1; 0; yes", "Line 1, aft: “aft” is no number.")]
    [InlineData("1.5; fore; 1; 0; 0.2; 1; 0; yes", "Line 1, number: “1.5” is no whole number from 1.")]
    [InlineData("1; fore; 1; 0; 0.2; 1; 0; perhaps", "Line 1, reachable: write yes or no, not “perhaps”.")]
    public void A_line_that_cannot_be_read_says_where_and_what(string lines, string said) =>
        Assert.StartsWith(said, Assert.Throws<RefusedException>(() => SlotLines.Read(lines)).Message, StringComparison.Ordinal);

    [Fact]
    public async Task Slots_typed_on_the_page_are_kept_and_what_is_refused_stays_typed()
    {
        desk.Enter("Ada", (p, who) => p.Modules.Add(new ModuleRecord { Identity = "B07", MassKg = 12.4 }, who.By, who.At, who.Simulated));
        await Services.GetRequiredService<PersonAtThePage>().SetAsync("Ada");
        var page = Show<BenchPages.FittingPlan>(Petrel.At("normal"));
        Assert.Contains("1 module, 1 weighed, together 12.4", page.Find(".plan-beginning").TextContent, StringComparison.Ordinal);

        Do(page, p => p.Find("#slot-lines").Change("1; fore; 1200; 0; 0.2; 1; 0; yes"));
        Do(page, p => p.FindAll(".plan-beginning input")[0].Change("0.2"));
        Do(page, p => p.Find(".plan-beginning form").Submit());
        Assert.Contains("above 0 and below 5", page.Find(".bench-answer").TextContent, StringComparison.Ordinal);
        Do(page, p => p.FindAll(".plan-beginning input")[1].Change("0.36"));
        Do(page, p => p.Find(".plan-beginning form").Submit());
        page.WaitForAssertion(() => Assert.Contains("look like millimetres", page.Find(".bench-answer").TextContent, StringComparison.Ordinal));
        Assert.Null(desk.Read(p => p.Plans.Slots()));

        Do(page, p => p.Find("#slot-lines").Change("1; fore; 1.2; 0; 0.2; 1; 0; yes"));
        Do(page, p => p.Find(".plan-beginning form").Submit());
        page.WaitForAssertion(() => Assert.Equal("Ada", desk.Read(p => p.Plans.Slots())?.Record.By));
        page.WaitForAssertion(() => Assert.Contains("No module is graded yet", page.Markup, StringComparison.Ordinal));
        Assert.Empty(page.FindAll("#slot-lines"));
    }
}
