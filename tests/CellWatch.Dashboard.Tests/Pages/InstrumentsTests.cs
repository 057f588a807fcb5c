using Bunit;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Pages;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

public sealed class InstrumentsTests : PageTest
{
    [Fact]
    public void A_lost_instrument_is_named_with_what_is_unseen_and_when_it_is_tried_again()
    {
        var say = Show<Instruments>(Petrel.At("pulled", 8)).Find(".say").TextContent;
        Assert.Contains("2 of 3 instruments alive. Instrument 2: no data for 10\u202fs, 36 cells unseen.", say, StringComparison.Ordinal);
        Assert.Contains("Trying again in 8\u202fs (attempt 4).", say, StringComparison.Ordinal);
    }

    [Fact]
    public void What_to_do_when_one_goes_silent_stands_there_while_all_are_alive()
    {
        var standing = Show<Instruments>(Petrel.At("normal")).Find(".when-gone").TextContent;
        foreach (var words in new[] { "Do not charge", "NO DATA is ACT NOW", "lead at the computer", "supply", "tries again by itself, with growing pauses", "right identity", "Raw lines" })
            Assert.Contains(words, standing, StringComparison.Ordinal);
    }

    [Fact]
    public void The_one_that_is_gone_stands_first_with_its_attempt()
    {
        var rows = Show<Instruments>(Petrel.At("pulled", 8)).FindAll(".instruments tbody tr");
        Assert.StartsWith("2", rows[0].QuerySelector("th")!.TextContent, StringComparison.Ordinal);
        Assert.Contains("attempt 4", rows[1].TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void How_often_each_was_silent_in_a_day_stands_beside_its_lost_frames()
    {
        var now = Petrel.NoonMs;
        ((RecentStrip)Services.GetRequiredService<IRecentStrip>()).Recall(
            [],
            [new(now - 3_600_000, StateWord.NoData, "no-data.2", "instrument 2", AlarmPriority.Medium), new(now - 60_000, StateWord.NoData, "no-data.2", "instrument 2", AlarmPriority.Medium),
             new(now - 90_000_000, StateWord.NoData, "no-data.2", "instrument 2", AlarmPriority.Medium), new(now - 60_000, StateWord.NoData, "no-current.pack", "pack", AlarmPriority.Medium)]);
        var page = Show<Instruments>(Petrel.At("normal"));
        Assert.Equal(["0", "2 times", "0"], page.FindAll("td[data-head='silent, 24 h']").Select(c => c.TextContent.Replace('\u202f', ' ')));
        Assert.Equal(3, page.FindAll("td[data-head='frames lost']").Count);
    }

    [Fact]
    public void Proven_live_is_not_said_as_proven_on_record()
    {
        Assert.Contains("All 108 cells read here count as proven. The simulated site states it; Proofs says what the records prove.", Show<Instruments>(Petrel.At("normal")).Find(".channels h2").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void Another_board_on_the_port_is_doubtful_and_its_data_are_not_taken()
    {
        var state = Petrel.At("normal");
        var front = state.FrontEnds[1] with { State = LinkState.WrongIdentity, Identity = "A-2222" };
        Assert.Equal(StateWord.Doubtful, InstrumentWords.StateOf(front));
        Assert.Contains("A-2222, expected A-1052", InstrumentWords.Identity(front), StringComparison.Ordinal);
        Assert.Contains("not taken", InstrumentWords.Trouble(front, 0), StringComparison.Ordinal);
    }

    [Fact]
    public void Raw_lines_open_under_their_instrument_and_count_what_was_thrown_away()
    {
        var page = Show<Instruments>(Petrel.At("normal"));
        Assert.Empty(page.FindAll(".raw"));
        Do(page, p => p.FindAll("button").Where(b => b.TextContent == "Raw lines").Last().Click());
        Assert.Contains("$CW,A-1050", page.Find(".raw").TextContent, StringComparison.Ordinal);
        Assert.Contains("wrong checksum", page.Find(".raw").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void The_channel_map_shows_a_mark_for_every_cell()
    {
        var page = Show<Instruments>(Petrel.At("normal"));
        Assert.Equal(108, page.FindAll(".channel-map .cells svg").Count);
        Assert.Equal("B15: 6 of 6 cells proven and seen, 2 sensors", page.FindAll(".channel-map .module").Single(m => m.TextContent.Contains("B15", StringComparison.Ordinal)).QuerySelector(".spoken")!.TextContent);
    }

    [Fact]
    public void A_site_without_instruments_says_what_to_try()
    {
        var page = Show<Instruments>(Petrel.At("normal") with { FrontEnds = [] });
        Assert.Contains("ports command", page.Find(".say").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void Not_recording_and_not_sending_are_said_in_words()
    {
        var page = Show<Instruments>(Petrel.At("normal") with { Recording = new RecordingView(false, "the disk is full", Petrel.NoonMs, 0), Sending = new SendingView(false, "the broker does not answer") });
        var text = page.Find(".beside").TextContent;
        Assert.Contains("NOT RECORDING since 14:22: the disk is full", text, StringComparison.Ordinal);
        Assert.Contains("NOT SENDING: the broker does not answer", text, StringComparison.Ordinal);
    }
}
