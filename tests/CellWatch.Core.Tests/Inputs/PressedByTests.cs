using CellWatch.Core.Commands;
using CellWatch.Core.Inputs;

namespace CellWatch.Core.Tests.Inputs;

public sealed class PressedByTests
{
    [Fact]
    public void Presence_is_kept_under_the_input_and_seen_without_an_alarm_asks_for_nothing()
    {
        Assert.Equal(new ConfirmPresence("foot switch"), PressedBy.CommandOf(InputPurpose.Presence, null, "foot switch"));
        Assert.Null(PressedBy.CommandOf(InputPurpose.Seen, null, "foot switch"));
    }

    [Theory]
    [InlineData("F13", null)]
    [InlineData("KeyB", null)]
    [InlineData("KeyH", "'KeyH' is a key of the pages themselves")]
    [InlineData("F33", "did you mean 'F13'?")]
    [InlineData("Space", "the pages and the browser use the others themselves")]
    public void A_key_of_the_pages_cannot_be_a_pedals(string code, string? why)
    {
        if (why is null) Assert.Null(KeyCodes.WhyNot(code));
        else Assert.Contains(why, KeyCodes.WhyNot(code), StringComparison.Ordinal);
    }
}
