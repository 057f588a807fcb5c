using CellWatch.Core.Pack;
using Xunit;

namespace CellWatch.Mqtt.Tests;

public sealed class TopicsTests
{
    [Theory]
    [InlineData("Petrel", "petrel")]
    [InlineData("Harbour Launch  Petrel", "harbour-launch-petrel")]
    [InlineData("a+b/c#d", "a-b-c-d")]
    [InlineData("$SYS", "sys")]
    [InlineData("Möwe 2", "möwe-2")]
    [InlineData("  /+#  ", "site")]
    [InlineData("", "site")]
    public void The_root_is_the_sites_name_without_what_MQTT_reserves(string site, string root) =>
        Assert.Equal(root, new Topics(site).Root);

    [Fact]
    public void Identities_keep_their_spelling()
    {
        var topics = new Topics("Petrel");
        Assert.Equal("petrel/module/B07/cells", topics.Cells(new ModuleId("B07")));
        Assert.Equal("petrel/module/B07/temperatures", topics.Temperatures(new ModuleId("B07")));
        Assert.Equal("petrel/alarm/cell-high.B11.2", topics.Alarm("cell-high.B11.2"));
        Assert.Equal("petrel/instrument/fore-box-1", topics.Instrument("fore box/1"));
    }

    [Fact]
    public void No_name_can_make_another_level_or_a_wildcard()
    {
        // MQTT 5.0, 4.7.1: the level separator and the wildcards; 4.7.3: no null character.
        var topics = new Topics("x/+#\0 y");
        foreach (var topic in new[] { topics.Pack, topics.Alarm("a/b+#\0"), topics.Instrument("../#"), topics.Run("r r") })
        {
            Assert.DoesNotContain(topic, c => c is '+' or '#' or '\0' or ' ');
            Assert.InRange(topic.Count(c => c == '/'), 1, 2);
        }
    }
}
