using System.Text;
using CellWatch.Core.Inputs;
using CellWatch.Host.Pipeline;
using CellWatch.Host.Site;

namespace CellWatch.EndToEnd.Tests.Site;

public sealed class SiteInputsTests
{
    private const string Good = """
        {
          "site": "bench",
          "modules": [ { "id": "B01", "topology": "6S2P" } ],
          "timeZone": "Europe/Berlin",
          "inputs": [
            { "name": "foot switch", "wire": "gpio", "line": 17, "purpose": "presence" },
            { "name": "button at the door", "wire": "serialLine", "port": "/dev/ttyUSB7", "signal": "dsr", "purpose": "seen" },
          ],
          "pedal": { "presenceKey": "F13", "seenKey": "KeyB" },
        }
        """;

    [Fact]
    public void Switches_pedal_and_zone_become_part_of_the_plan()
    {
        var plan = SitePlan.Of(SiteFile.Parse(Encoding.UTF8.GetBytes(Good), "site.json"), "site.json");
        Assert.Equal([("foot switch", InputPurpose.Presence, "GPIO 17"), ("button at the door", InputPurpose.Seen, "DSR of /dev/ttyUSB7")], plan.Inputs.Select(i => (i.Name, i.Purpose, i.Line.Place)));
        Assert.Equal(new PedalKeys("F13", "KeyB"), plan.Pedal);
        Assert.Equal("Europe/Berlin", plan.Engine.TimeZone.Id);
    }

    [Theory]
    [InlineData("\"line\": 17", "\"line\": 1700", 6, "1700 is outside 0 to 511")]
    [InlineData("\"line\": 17, ", "", 6, "needs the number of its line")]
    [InlineData("\"gpio\"", "\"gpoi\"", 6, "did you mean 'gpio'?")]
    [InlineData("\"dsr\"", "\"rts\"", 7, "'rts' is not one of cts, dsr")]
    [InlineData("\"button at the door\"", "\"Foot switch\"", 7, "two inputs are named 'Foot switch' (entries 1 and 2)")]
    [InlineData("\"wire\": \"serialLine\", \"port\": \"/dev/ttyUSB7\", \"signal\": \"dsr\"", "\"wire\": \"gpio\", \"line\": 17", 7, "GPIO line 17 serves two inputs (entries 1 and 2)")]
    [InlineData("\"port\": \"/dev/ttyUSB7\", ", "", 7, "needs its port")]
    [InlineData("\"KeyB\"", "\"F13\"", 9, "'F13' stands for both")]
    [InlineData("\"KeyB\"", "\"KeyH\"", 9, "is a key of the pages themselves")]
    [InlineData("\"F13\"", "\"F33\"", 9, "did you mean 'F13'?")]
    [InlineData("Europe/Berlin", "Europe/Berln", 4, "did you mean 'Europe/Berlin'?")]
    [InlineData("\"purpose\": \"seen\"", "\"purpose\": \"sen\"", 7, "did you mean 'seen'?")]
    public void A_fault_is_named_with_its_line_and_what_is_allowed(string right, string wrong, int line, string said)
    {
        var faults = Assert.Throws<SiteFileException>(() => SiteFile.Parse(Encoding.UTF8.GetBytes(Good.Replace(right, wrong, StringComparison.Ordinal)), "site.json")).Faults;
        Assert.Contains(faults, f => f.Line == line && f.Message.Contains(said, StringComparison.Ordinal));
    }

    [Fact]
    public void A_port_of_a_front_end_cannot_carry_a_switch()
    {
        var shared = Good.Replace("\"pedal\"", "\"frontEnds\": [ { \"name\": \"1\", \"port\": \"/dev/ttyUSB7\", \"modules\": [\"B01\"] } ], \"pedal\"", StringComparison.Ordinal);
        var fault = Assert.Single(Assert.Throws<SiteFileException>(() => SiteFile.Parse(Encoding.UTF8.GetBytes(shared), "site.json")).Faults);
        Assert.Equal("$.inputs[1].port", fault.Path);
        Assert.Contains("carries a front end", fault.Message, StringComparison.Ordinal);
    }
}
