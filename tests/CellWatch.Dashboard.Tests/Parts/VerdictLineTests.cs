using Bunit;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Parts;
using CellWatch.Testing.Pages;
using Xunit;

namespace CellWatch.Dashboard.Tests.Parts;

public sealed class VerdictLineTests : PageTest
{
    [Theory]
    [InlineData(StateWord.Normal, "NORMAL")]
    [InlineData(StateWord.Bleeding, "BLEEDING")]
    [InlineData(StateWord.NotProven, "NOT PROVEN")]
    [InlineData(StateWord.Caution, "CAUTION")]
    [InlineData(StateWord.Doubtful, "DOUBTFUL")]
    [InlineData(StateWord.NoData, "NO DATA")]
    [InlineData(StateWord.ActNow, "ACT NOW")]
    public void Every_state_has_its_word_and_all_but_normal_have_a_shape(StateWord state, string word)
    {
        var line = Show<VerdictLine>(Petrel.At("normal"), p => p.Add(v => v.State, state).Add(v => v.Sentence, "So it is."));
        Assert.Contains(word, line.Find(".word").TextContent, StringComparison.Ordinal);
        Assert.Equal(state != StateWord.Normal, line.FindAll(".word svg").Count == 1);
    }

    [Fact]
    public void The_shapes_differ_between_states_so_that_colour_is_never_alone()
    {
        var shapes = new[] { StateWord.Normal, StateWord.Bleeding, StateWord.NotProven, StateWord.Caution, StateWord.Doubtful, StateWord.NoData, StateWord.ActNow }
            .Select(s => System.Text.RegularExpressions.Regex.Replace(
                Render<StateMark>(p => p.Add(m => m.State, s)).Markup, "var\\(--[a-z-]+\\)", "", System.Text.RegularExpressions.RegexOptions.None, TimeSpan.FromSeconds(1)))
            .ToList();
        Assert.Equal(shapes.Count, shapes.Distinct(StringComparer.Ordinal).Count());
    }

    [Fact]
    public void The_time_of_the_data_and_its_age_stand_beside_the_sentence()
    {
        var at = Show<VerdictLine>(Petrel.At("normal"), p => p.Add(v => v.State, StateWord.Normal).Add(v => v.Sentence, "Well.")).Find(".at").TextContent;
        Assert.Contains("14:22:07", at, StringComparison.Ordinal);
        Assert.Contains("UTC", at, StringComparison.Ordinal);
        Assert.Contains("data 0.4\u202fs old", at, StringComparison.Ordinal);
    }

    [Fact]
    public void Urgent_news_interrupts_a_reader_and_says_when_it_is_simulated()
    {
        var spoken = Show<VerdictLine>(Petrel.At("act-now"), p => p.Add(v => v.State, StateWord.ActNow).Add(v => v.Sentence, "Stop.")).Find(".spoken");
        Assert.Equal("alert", spoken.GetAttribute("role"));
        Assert.Equal("Simulated. ACT NOW. Stop.", spoken.TextContent);
    }
}
