using Bunit;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Pages;
using CellWatch.Testing.Pages;
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
        page.FindAll("button").Where(b => b.TextContent == "Raw lines").Last().Click();
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
