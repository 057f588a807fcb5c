using CellWatch.Core.Rules;
using CellWatch.Dashboard.Pages;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

public sealed class AlarmWordsTests
{
    private static AlarmView Alarm(string message, string doFirst) => new()
    {
        Id = "a",
        Rule = "a",
        Priority = AlarmPriority.High,
        State = AlarmState.Unacknowledged,
        Word = "ACT NOW",
        Place = "B11.2",
        Message = message,
        DoFirst = doFirst,
    };

    [Fact]
    public void An_order_in_the_message_is_said_first_and_only_once()
    {
        var alarm = Alarm("STOP THE CHARGE NOW: red button. B11.2 4.203 V, over the limit for 1 s.", "Do not pull the plug.");
        Assert.Equal(new AlarmWords("STOP THE CHARGE NOW: red button.", "Do not pull the plug."), AlarmWords.Of(alarm));
        Assert.Equal("B11.2 4.203 V, over the limit for 1 s.", AlarmWords.Fact(alarm));
    }

    [Fact]
    public void Without_an_order_the_first_sentence_of_what_to_do_is_large()
    {
        var alarm = Alarm("Spread 2.4 % of charge.", "Turn down to 4.5 A. Then look at B05.3 again.");
        Assert.Equal(new AlarmWords("Turn down to 4.5 A.", "Then look at B05.3 again."), AlarmWords.Of(alarm));
        Assert.Equal("Spread 2.4 % of charge.", AlarmWords.Fact(alarm));
    }

    [Theory]
    [InlineData("lead pulled", "Lead pulled.")]
    [InlineData("Is it the lead?", "Is it the lead?")]
    [InlineData("", "")]
    public void A_cause_is_written_as_a_sentence(string text, string sentence) => Assert.Equal(sentence, AlarmWords.Sentence(text));
}
