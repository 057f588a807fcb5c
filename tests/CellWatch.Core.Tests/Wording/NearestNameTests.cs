using CellWatch.Core.Wording;

namespace CellWatch.Core.Tests.Wording;

public class NearestNameTests
{
    [Theory]
    [InlineData("topolgy", "topology")]
    [InlineData("SNAPSHOTHZ", "snapshotHz")]
    [InlineData("frontEnd", "frontEnds")]
    public void A_slip_of_the_keys_finds_the_name(string typed, string meant) =>
        Assert.Equal(meant, NearestName.Of(typed, ["topology", "snapshotHz", "frontEnds", "modules"]));

    [Fact]
    public void A_name_like_none_suggests_nothing() => Assert.Null(NearestName.Of("xyzzyx", ["topology", "modules"]));

    [Fact]
    public void The_suggestion_is_part_of_a_sentence() => Assert.Equal("; did you mean 'box'?", NearestName.Suggestion("bx", ["slot", "box"]));
}
