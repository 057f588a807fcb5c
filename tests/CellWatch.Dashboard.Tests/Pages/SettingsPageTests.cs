using Bunit;
using CellWatch.Core.Commands;
using CellWatch.Core.Settings;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Pages;
using CellWatch.Testing.Pages;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

public sealed class SettingsPageTests : PageTest
{
    private readonly Desk _desk = new();

    public SettingsPageTests() => Services.AddSingleton<ISettingsDesk>(_desk);

    [Fact]
    public void Each_setting_stands_with_value_unit_range_usual_value_and_source()
    {
        var row = Show<SettingsPage>(Petrel.At("normal")).Find(".settings tbody tr");
        Assert.Equal("4.1", row.QuerySelector("input")!.GetAttribute("value"));
        Assert.Contains("2.5 to 4.5 V", row.TextContent, StringComparison.Ordinal);
        Assert.Contains("4.05", row.TextContent, StringComparison.Ordinal);
        Assert.Contains("Common practice", row.TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void A_fault_stands_at_its_field_and_nothing_can_be_written()
    {
        var page = Show<SettingsPage>(Petrel.At("normal"));
        Do(page, p => p.Find("#in-limits-chargeTargetV").Change("9"));
        Assert.Contains("Charge target: 9 is outside 2.5 to 4.5 V.", page.Find("tr.refused").TextContent, StringComparison.Ordinal);
        Assert.Equal("true", page.Find("#in-limits-chargeTargetV").GetAttribute("aria-invalid"));
        Assert.True(page.Find(".write-bar .btn").HasAttribute("disabled"));
        Assert.StartsWith("Next: mend what is marked", page.Find(".next-step").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_change_goes_through_the_one_door_with_the_name_and_what_was_seen()
    {
        await Services.GetRequiredService<PersonAtThePage>().SetAsync("Anna");
        var page = Show<SettingsPage>(Petrel.At("normal"));
        Do(page, p => p.Find("#in-limits-chargeTargetV").Change("4.0"));
        Assert.Contains("charge target 4.1 to 4.0", page.Find(".write-bar").TextContent, StringComparison.Ordinal);
        Do(page, p => p.Find(".write-bar .btn").Click());
        var command = Assert.IsType<ChangeSettings>(Assert.Single(Door.Commands));
        Assert.Equal("Anna", command.By);
        Assert.Equal(new SettingChange("limits.chargeTargetV", "4.1", "4.0"), Assert.Single(command.Changes));
        Assert.Empty(page.FindAll(".write-bar"));
    }

    [Fact]
    public void What_waits_for_the_next_start_is_said_with_what_runs_now()
    {
        _desk.Written = "4.0";
        var page = Show<SettingsPage>(Petrel.At("normal"));
        Assert.Contains("1 change in site.json waits for the next start", page.Find(".verdict .say").TextContent, StringComparison.Ordinal);
        Assert.Contains("runs with 4.1 until the next start", page.Find("tbody tr").TextContent, StringComparison.Ordinal);
        Assert.Contains("start the program again", page.Find(".next-step").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void Where_nothing_can_be_changed_the_reason_comes_first_and_no_field_is_open()
    {
        _desk.Closed = "SIMULATED: no site file.";
        var page = Show<SettingsPage>(Petrel.At("normal"));
        Assert.Equal("SIMULATED: no site file.", page.Find(".verdict .say").TextContent);
        Assert.Empty(page.FindAll("input"));
        Assert.Contains("4.1", page.Find("tbody td").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void A_new_scan_does_not_draw_the_page_again_under_typing_hands()
    {
        var frame = Render<CascadingValue<Picture>>(p => p.Add(v => v.Value, new Picture(Petrel.At("normal"), Options)).AddChildContent<SettingsPage>());
        var page = frame.FindComponent<SettingsPage>();
        // Each drawing names the file.
        var before = _desk.Asked;
        frame.Render(p => p.Add(v => v.Value, new Picture(Petrel.At("normal", 2), Options)).AddChildContent<SettingsPage>());
        Assert.Equal(before, _desk.Asked);
        Do(page, p => p.Find("input").Change("9"));
        Assert.NotEqual(before, _desk.Asked);
    }

    private sealed class Desk : ISettingsDesk
    {
        public string Written { get; set; } = "4.1";

        public string File
        {
            get
            {
                Asked++;
                return "/somewhere/site.json";
            }
        }

        public int Asked { get; private set; }

        public string? Closed { get; set; }

        public IReadOnlyList<SettingView> Read() =>
        [
            new()
            {
                Name = "limits.chargeTargetV", Group = "Limits", Label = "charge target", Says = "Where a charge aims.", Kind = SettingKind.Number, Unit = "V", Low = 2.5, High = 4.5,
                Written = Written, Running = "4.1", Usual = "4.05", Source = "common practice, no source",
            },
        ];

        public IReadOnlyList<SettingFault> Check(IReadOnlyDictionary<string, string> typed) =>
            typed.Values.Contains("9") ? [new SettingFault("limits.chargeTargetV", "Charge target: 9 is outside 2.5 to 4.5 V.")] : [];
    }
}
