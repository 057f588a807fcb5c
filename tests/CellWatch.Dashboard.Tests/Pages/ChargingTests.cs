using Bunit;
using CellWatch.Core.Commands;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Pages;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

public sealed class ChargingTests : PageTest
{
    [Fact]
    public void Without_a_cell_type_the_page_refuses()
    {
        var page = Show<Charging>(Petrel.At("no-type"));
        Assert.Contains("Choose the cell type first. Without it there are no limits to judge by.", page.Find(".say").TextContent, StringComparison.Ordinal);
        Assert.Empty(page.FindAll(".charge-grid"));
    }

    [Fact]
    public void The_one_that_will_be_first_leads_the_table_and_the_highest_is_named_beside_it()
    {
        var page = Show<Charging>(Petrel.At("charging"));
        var rows = page.FindAll(".next tbody tr");
        Assert.StartsWith("B11.2", rows[0].TextContent.Trim(), StringComparison.Ordinal);
        Assert.Contains(rows, r => r.TextContent.Contains("B09.4", StringComparison.Ordinal) && r.TextContent.Contains("high", StringComparison.Ordinal));
        Assert.Contains("B11.2 first, in about", page.Find(".head").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void Headroom_is_in_whole_millivolts_with_the_time_in_words()
    {
        var head = Show<Charging>(Petrel.At("charging")).Find(".head").TextContent;
        Assert.Contains("38mV", head, StringComparison.Ordinal);
        Assert.Contains("about 6\u202fmin", head, StringComparison.Ordinal);
    }

    [Fact]
    public void A_clock_that_runs_faster_is_said_beside_the_countdown()
    {
        Options.TimeFactor = 8;
        var page = Show<Charging>(Petrel.At("charging"));
        Assert.Contains("clock 8×", page.Find(".head").TextContent, StringComparison.Ordinal);
        Assert.Contains("clock 8×", page.Find(".press.person").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void Beside_a_stop_stands_the_hand_cut_off_by_its_name()
    {
        var advice = Show<Charging>(Petrel.At("act-now")).Find(".stop-advice").TextContent;
        Assert.Contains("Use your hand cut-off: red button on the station.", advice, StringComparison.Ordinal);
        Assert.Contains("This program does not protect the pack.", advice, StringComparison.Ordinal);
    }

    [Fact]
    public void A_broken_stop_rule_carries_a_triangle_and_one_not_yet_due_no_tick()
    {
        var rules = Show<Charging>(Petrel.At("act-now")).FindAll(".stop li");
        Assert.Contains("urgent", rules[3].ClassList);
        Assert.NotNull(rules[3].QuerySelector("svg"));
        rules = Show<Charging>(Petrel.At("charging")).FindAll(".stop li");
        Assert.Equal("–", rules[3].QuerySelector(".sign")!.TextContent);
    }

    [Fact]
    public async Task I_am_here_is_one_press_or_the_key_h()
    {
        var page = Show<Charging>(Petrel.At("charging"));
        Do(page, p => p.Find(".press.person").Click());
        await Services.GetRequiredService<PageKeys>().PressAsync("h");
        Assert.All(Door.Commands, c => Assert.IsType<ConfirmPresence>(c));
        Assert.Equal(2, Door.Commands.Count);
    }

    [Fact]
    public void The_taper_band_meets_the_stated_earliest_and_latest_end()
    {
        var state = Petrel.At("charging");
        var taper = new Reflected(ChargeDrawings.Taper(state, new Picture(state, Options), [], 15_000)!);
        // A(t) = A0 exp(-(t - t0)/tau) is at the termination current at t0 + tau ln(A0/Aend).
        var fall = Math.Log((double)taper["plateau"]! / (double)taper["end"]!);
        var early = (long)taper["fallFrom"]! - (long)taper["startBandMs"]! + 1000 * (double)taper["tauLow"]! * fall;
        var late = (long)taper["fallFrom"]! + (long)taper["startBandMs"]! + 1000 * (double)taper["tauHigh"]! * fall;
        Assert.Equal(state.Charge!.EndEarliestUnixMs!.Value, early, 5.0);
        Assert.Equal(state.Charge.EndLatestUnixMs!.Value, late, 5.0);
    }

    [Fact]
    public void No_charge_draws_nothing_and_says_so()
    {
        var page = Show<Charging>(Petrel.At("normal"));
        Assert.Null(ChargeDrawings.Twelve(Petrel.At("normal")));
        Assert.Contains("No charge current", page.Find(".verdict").TextContent, StringComparison.Ordinal);
        Assert.Empty(page.FindAll(".charge-grid"));
        Assert.Contains("every line without a tick", page.Find(".charge-rest").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void After_a_charge_the_page_says_when_it_was_what_went_in_and_which_cell_was_first()
    {
        var rest = Petrel.At("normal");
        var page = Show<Charging>(rest with
        {
            Charge = rest.Charge! with { Phase = ChargePhase.Ended, BeganUnixMs = 1_773_046_800_000, EndedUnixMs = 1_773_049_320_000, ChargedAh = 62.87, TargetReachedCell = 7, HeadroomV = 0.018, HeadroomCell = 3 },
        });

        var said = page.Find(".verdict").TextContent;
        Assert.Contains("No charge current. Last charge 09:00 to 09:42: 62.9\u202fAh, " + rest.Layout.CellAt(7) + " first at 4.150", said, StringComparison.Ordinal);
        // The cell that is named is the one the distance belongs to, also while it bleeds and stands outside the spread.
        Assert.Contains($"Highest now: {rest.Layout.CellAt(3)}, 18\u202fmV below the charge target", page.Find(".charge-rest").TextContent, StringComparison.Ordinal);
    }

    private sealed class Reflected(object it)
    {
        public object? this[string name] => it.GetType().GetProperty(name)!.GetValue(it);
    }
}
