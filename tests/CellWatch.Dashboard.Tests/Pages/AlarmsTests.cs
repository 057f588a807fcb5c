using Bunit;
using CellWatch.Core.Commands;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Pages;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

public sealed class AlarmsTests : PageTest
{
    [Fact]
    public void The_most_urgent_alarm_is_opened_out_with_what_to_do_larger_than_what_it_is()
    {
        var page = Show<Alarms>(Petrel.At("act-now"));
        Assert.StartsWith("STOP THE CHARGE NOW: red button on the station.", page.Find(".opened .do").TextContent, StringComparison.Ordinal);
        Assert.Contains("Do not pull the plug.", page.Find(".opened").TextContent, StringComparison.Ordinal);
        Assert.Contains("This program does not protect the pack.", page.Find(".opened").TextContent, StringComparison.Ordinal);
        Assert.Contains("4 more, grouped here", page.Find(".opened").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void An_alarm_that_is_gone_is_no_headline_of_what_is_true_now()
    {
        var state = Petrel.At("act-now");
        var gone = state.Alarms[1] with { State = AlarmState.ReturnedUnacknowledged, IsActive = false };
        var page = Show<Alarms>(state with { Alarms = [gone], Verdict = Petrel.At("normal").Verdict });
        Assert.Contains("No alarm stands now. One is gone and not seen:", page.Find(".verdict .say").TextContent, StringComparison.Ordinal);
        Assert.Contains("NORMAL", page.Find(".verdict .word").TextContent, StringComparison.Ordinal);
        Assert.DoesNotContain("caution", page.Find(".opened .do").ClassList);
        Assert.Equal("Gone; it waits to be seen. Press SEEN to close it.", page.Find(".opened .do").TextContent);
        Assert.StartsWith("While it stood:", page.Find(".opened .then").TextContent, StringComparison.Ordinal);
        Assert.Contains("SEEN", page.Find(".opened .press").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void The_list_holds_the_others_once_each()
    {
        var places = Show<Alarms>(Petrel.At("act-now")).FindAll(".alarm-list .row:not(.head)").Select(r => r.TextContent).ToList();
        Assert.Equal(3, places.Count);
        Assert.Contains("B05", places[0], StringComparison.Ordinal);
        Assert.Contains("shelved until 14:50", places[2], StringComparison.Ordinal);
        Assert.Contains("moving the router", places[2], StringComparison.Ordinal);
    }

    [Fact]
    public void Seen_is_one_press_and_needs_no_name()
    {
        var page = Show<Alarms>(Petrel.At("act-now"));
        Do(page, p => p.Find(".opened .press").Click());
        var seen = Assert.IsType<AcknowledgeAlarm>(Assert.Single(Door.Commands));
        Assert.Equal("cell-high.B11.2", seen.AlarmId);
        Assert.Equal(PersonAtThePage.Unnamed, seen.By);
        Assert.Contains("Done.", page.Find("[role=status].answer-line").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Space_marks_the_opened_alarm_seen()
    {
        Show<Alarms>(Petrel.At("act-now"));
        await Services.GetRequiredService<PageKeys>().PressAsync(" ");
        Assert.IsType<AcknowledgeAlarm>(Assert.Single(Door.Commands));
    }

    [Fact]
    public void An_urgent_alarm_cannot_be_shelved_and_flashes_until_seen()
    {
        var page = Show<Alarms>(Petrel.At("act-now"));
        Assert.Empty(page.FindAll(".opened button.linkbtn"));
        Assert.Contains("unseen", page.Find(".opened .press").ClassList);
        var state = Petrel.At("act-now");
        state = state with { Alarms = state.Alarms.SetItem(0, state.Alarms[0] with { State = AlarmState.Acknowledged, SeenUnixMs = Petrel.NoonMs, SeenBy = "Anna" }) };
        page = Show<Alarms>(state);
        Assert.Empty(page.FindAll(".opened .press"));
        Assert.Contains("seen 14:22:07 by Anna", page.Find(".opened .handle").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void A_shelved_alarm_can_be_taken_back()
    {
        var page = Show<Alarms>(Petrel.At("act-now"));
        Do(page, p => p.FindAll("button").Single(b => b.TextContent == "Take back").Click());
        Assert.Equal("not-sending", Assert.IsType<UnshelveAlarm>(Assert.Single(Door.Commands)).AlarmId);
    }

    [Fact]
    public void No_alarms_says_so_and_offers_the_test_tone()
    {
        var page = Show<Alarms>(Petrel.At("normal"));
        Assert.StartsWith("No alarms.", page.Find(".verdict .say").TextContent, StringComparison.Ordinal);
        Assert.NotNull(page.Find(".quiet-alarms [data-tone]"));
    }

    [Fact]
    public void What_was_raised_and_is_gone_stays_readable_once_each_with_its_count()
    {
        var past = Petrel.At("act-now");
        var gone = past.Alarms[1] with { State = AlarmState.Unacknowledged, GroupedUnder = "" };
        var states = new[] { 1L, 2L }.Select(n => Petrel.At("normal", n) with
        {
            Transitions = [new AlarmTransition(gone.Id, AlarmState.Normal, AlarmState.Unacknowledged, n * 1_000_000, Petrel.NoonMs + n * 1_000, "condition", gone)],
            AlarmFigures = new AlarmFigures { Repeaters = [new AlarmRepeat(gone.Id, 2)] },
        }).ToList();
        _ = Services.GetRequiredService<IRecentStrip>();
        Live.Show(states[0]);
        var page = Show<Alarms>(states[1]);
        var row = Assert.Single(page.FindAll(".past-alarms .row"));
        Assert.Contains(gone.Message, row.TextContent, StringComparison.Ordinal);
        Assert.Contains("2 times in 24 h.", row.TextContent, StringComparison.Ordinal);
        Assert.Contains("Nothing to do now.", page.Find(".quiet-alarms").TextContent, StringComparison.Ordinal);
        Assert.Contains($"repeats most: {gone.Place}", page.Find(".day").TextContent, StringComparison.Ordinal);
        Assert.DoesNotContain(gone.Id, page.Markup, StringComparison.Ordinal);
    }

    [Fact]
    public void What_fell_silent_at_once_is_one_thing_to_see_and_names_what_is_grouped()
    {
        var state = Petrel.At("normal");
        AlarmView Silent(string rule, string place, string under = "", int grouped = 0) => new()
        {
            Id = $"{rule}.{place}",
            Rule = rule,
            Group = "no-data",
            Priority = AlarmPriority.Medium,
            State = AlarmState.ReturnedUnacknowledged,
            Word = "NO DATA",
            Place = rule == "no-current" ? "pack" : $"instrument {place}",
            Message = $"No data from instrument {place} for 8 s: 36 cells unseen.",
            DoFirst = "Look at the computer.",
            LikelyCause = "fell silent at once",
            SinceUnixMs = Petrel.NoonMs,
            Grouped = grouped,
            GroupedUnder = under,
        };
        var page = Show<Alarms>(state with { Alarms = [Silent("no-data", "board-1", grouped: 2), Silent("no-data", "board-2", "no-data.board-1"), Silent("no-current", "pack", "no-data.board-1")] });
        Assert.Contains("3 of one cause are gone and not seen", page.Find(".verdict .say").TextContent, StringComparison.Ordinal);
        Assert.Contains("2 more, grouped here: instrument board\u20112, the current.", page.Find(".opened .why").TextContent, StringComparison.Ordinal);
        Assert.Empty(page.FindAll(".alarm-list"));
        Do(page, p => p.Find(".opened .press").Click());
        Assert.Equal(["no-data.board-2", "no-current.pack", "no-data.board-1"], Door.Commands.Select(c => Assert.IsType<AcknowledgeAlarm>(c).AlarmId));
    }

    [Fact]
    public void Every_alarm_of_every_scene_says_whether_it_is_the_cell_or_the_measurement()
    {
        foreach (var scene in Petrel.Scenes)
        {
            var state = Petrel.At(scene);
            foreach (var alarm in state.Alarms) Assert.NotEmpty(CellOrMeasurement.Of(state, alarm));
            if (Show<Alarms>(state).FindAll(".opened .why") is [var why, ..]) Assert.Contains("Cell or measurement: ", why.TextContent, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void A_cell_whose_neighbour_is_off_the_other_way_is_perhaps_its_measurement()
    {
        Assert.StartsWith("perhaps the measurement: B07.4 is off the other way by 21\u202fmV", Said(-24, 21), StringComparison.Ordinal);
        Assert.StartsWith("the cell, most likely", Said(-24, 2), StringComparison.Ordinal);
        Assert.StartsWith("the cells: B07.3 is within", Said(-4, 2), StringComparison.Ordinal);

        static string Said(double mv, double neighbourMv)
        {
            var state = Petrel.At("normal");
            var (cell, median) = (Petrel.Cell("B07.3"), state.Summary.MedianV!.Value);
            var scan = new SnapshotBuffer(Petrel.Map);
            scan.Begin(1, state.Snapshot.Time);
            state.Snapshot.RawCellVoltageV.CopyTo(scan.Values);
            (scan.Values[cell], scan.Values[cell + 1]) = (median + mv / 1000, median + neighbourMv / 1000);
            var alarm = Petrel.At("act-now").Alarms[0] with { Group = "spread", Cell = cell, IsActive = true };
            return CellOrMeasurement.Of(state with { Snapshot = scan.Freeze() }, alarm);
        }
    }

    [Theory]
    [InlineData("no-data", "the measurement.")]
    [InlineData("measurement", "the measurement: the program's own checks contradict it.")]
    [InlineData("fire", "take it for the cells.")]
    [InlineData("heat", "not known: decide by a second sensor")]
    [InlineData("presence", "neither:")]
    public void What_a_rule_looks_at_says_what_an_alarm_is_about(string group, string begins) =>
        Assert.StartsWith(begins, CellOrMeasurement.Of(Petrel.At("normal"), Petrel.At("act-now").Alarms[0] with { Group = group, Module = null }), StringComparison.Ordinal);

    [Fact]
    public void A_refused_press_says_why()
    {
        Door.Answer = new CommandAnswer(false, "It is gone already.");
        var page = Show<Alarms>(Petrel.At("act-now"));
        Do(page, p => p.Find(".opened .press").Click());
        Assert.Contains("It is gone already.", page.Find(".answer-line").TextContent, StringComparison.Ordinal);
    }
}
