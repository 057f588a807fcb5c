using System.Text;
using CellWatch.Core.Pack;
using CellWatch.Host.Pipeline;
using CellWatch.Host.Site;

namespace CellWatch.EndToEnd.Tests.Site;

public class SiteFileTests
{
    private const string Good = """
        {
          // A bench with two bricks.
          "site": "bench",
          "cellType": "nmc-4.20",
          "capacityAh": 110,
          "handCutOff": "red button on the bench",
          "modules": [
            { "id": "B01-B02", "topology": "6S2P", "temperatures": 2, "box": "fore" },
            { "id": "A1", "topology": "12S1P", "temperatures": 0, },
          ],
          "snapshotHz": 2,
        }
        """;

    private static CellWatch.Host.Site.Site Parse(string text) => SiteFile.Parse(Encoding.UTF8.GetBytes(text), "site.json");

    private static IReadOnlyList<SiteFault> Faults(string text) => Assert.Throws<SiteFileException>(() => Parse(text)).Faults;

    [Fact]
    public void Comments_trailing_commas_and_ranges_of_modules_are_read()
    {
        var site = Parse(Good);

        Assert.Equal(["B01", "B02", "A1"], site.Layout.Modules.Select(m => m.Id.Text));
        Assert.Equal(24, site.Layout.CellCount);
        Assert.Equal("slot 2 fore", site.Layout.Modules[1].SlotInWords);
        Assert.Equal(4.20, site.CellType!.Limits.HighStopV);
    }

    [Fact]
    public void A_misspelt_name_is_refused_with_its_line_and_the_nearest_name()
    {
        var fault = Assert.Single(Faults(Good.Replace("\"topology\": \"6S2P\"", "\"topolgy\": \"6S2P\"", StringComparison.Ordinal)));

        Assert.Equal(8, fault.Line);
        Assert.Contains("did you mean 'topology'?", fault.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_language_there_is_none_of_is_refused_with_those_there_are()
    {
        Assert.Equal("en", Parse(Good).Document.Language);
        var fault = Assert.Single(Faults(Good.Replace("\"snapshotHz\": 2", "\"language\": \"xx\"", StringComparison.Ordinal)));
        Assert.Contains("'xx' is not one of en", fault.Message, StringComparison.Ordinal);
        Assert.Equal(11, fault.Line);
        fault = Assert.Single(Faults(Good.Replace("\"snapshotHz\": 2", "\"language\": \"Texts.xx.resx\"", StringComparison.Ordinal)));
        Assert.Contains("'Texts.xx.resx' cannot be read", fault.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void All_misspelt_names_are_said_at_once()
    {
        var faults = Faults(Good.Replace("\"topology\"", "\"topolgy\"", StringComparison.Ordinal).Replace("snapshotHz", "snapshothertz", StringComparison.Ordinal));
        Assert.Equal([8, 9, 11], faults.Select(f => f.Line).Order());
    }

    [Fact]
    public void A_value_out_of_range_is_refused_with_the_range()
    {
        var fault = Assert.Single(Faults(Good.Replace("\"snapshotHz\": 2", "\"snapshotHz\": 200", StringComparison.Ordinal)));

        Assert.Equal(11, fault.Line);
        Assert.Contains("200 is outside 0.5 to 10", fault.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_module_named_twice_is_refused()
    {
        var fault = Assert.Single(Faults(Good.Replace("\"A1\"", "\"B02\"", StringComparison.Ordinal)));
        Assert.Contains("B02 stands in this list twice", fault.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("nmc-4.2", "did you mean 'nmc-4.20'?")]
    [InlineData("zinc", "is not one of")]
    public void An_unknown_cell_type_is_refused_with_the_known_ones(string typed, string said)
    {
        var fault = Assert.Single(Faults(Good.Replace("nmc-4.20", typed, StringComparison.Ordinal)));
        Assert.Contains(said, fault.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Without_a_cell_type_there_are_no_limits()
    {
        Assert.Null(Parse(Good.Replace("\"cellType\": \"nmc-4.20\",", "", StringComparison.Ordinal)).CellType);
    }

    [Fact]
    public void A_limit_of_the_sites_own_replaces_the_profiles()
    {
        var site = Parse(Good.Replace("\"capacityAh\": 110,", "\"capacityAh\": 110, \"limits\": { \"chargeTargetV\": 4.05 },", StringComparison.Ordinal));

        Assert.Equal(4.05, site.CellType!.Limits.ChargeTargetV);
        Assert.Contains("changed by the site file", site.CellType.Source, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("{ \"chargeTargetV\": 4.3 }", "must be below highWarnV")]
    [InlineData("{ \"chargeTarget\": 4.1 }", "did you mean 'chargeTargetV'?")]
    [InlineData("{ \"highStopV\": \"4.2\" }", "a limit is a number")]
    public void A_limit_that_makes_no_sense_is_refused(string limits, string said)
    {
        var fault = Faults(Good.Replace("\"capacityAh\": 110,", $"\"limits\": {limits},", StringComparison.Ordinal))[0];
        Assert.Contains(said, fault.Message, StringComparison.Ordinal);
        Assert.Equal(5, fault.Line);
    }

    [Fact]
    public void Temperature_profile_charger_limit_bleed_resistor_and_balance_level_reach_the_engine()
    {
        var usual = SitePlan.Of(Parse(Good), "site.json").Engine;
        Assert.Equal(("ramp", null, 33.0, 95.0), (usual.TemperatureProfile.Name, usual.ChargerLimitA, usual.BleedOhm, usual.BalanceAtPercent));
        var own = SitePlan.Of(Parse(Good.Replace("\"capacityAh\": 110,", "\"capacityAh\": 110, \"temperatureProfile\": \"jeita\", \"chargerLimitA\": 125, \"bleedOhm\": 47, \"balanceAtPercent\": 90,", StringComparison.Ordinal)), "site.json").Engine;
        Assert.Equal(("jeita", 125.0, 47.0, 90.0), (own.TemperatureProfile.Name, own.ChargerLimitA, own.BleedOhm, own.BalanceAtPercent));
    }

    [Theory]
    [InlineData("\"temperatureProfile\": \"jieta\",", "did you mean 'jeita'?")]
    [InlineData("\"balanceAtPercent\": 5,", "20 to 100")]
    public void A_setting_that_makes_no_sense_is_refused(string setting, string said) =>
        Assert.Contains(said, Assert.Single(Faults(Good.Replace("\"capacityAh\": 110,", $"\"capacityAh\": 110, {setting}", StringComparison.Ordinal))).Message, StringComparison.Ordinal);

    [Fact]
    public void What_is_no_JSON_is_refused_with_its_line()
    {
        var fault = Assert.Single(Faults("{\n  \"site\": \"x\"\n  \"modules\": []\n}"));
        Assert.Equal(3, fault.Line);
    }

    [Theory]
    [InlineData("B01-B12", 12, "B12")]
    [InlineData("B07", 1, "B07")]
    [InlineData("M8-M11", 4, "M11")]
    public void A_range_of_identities_expands(string text, int count, string last)
    {
        var ids = ModuleRange.Expand(text, out _)!;
        Assert.Equal(count, ids.Count);
        Assert.Equal(last, ids[^1].Text);
        Assert.Equal(text, ModuleRange.Contract(ids));
    }

    [Theory]
    [InlineData("B12-B01")]
    [InlineData("B01-C12")]
    [InlineData("")]
    [InlineData("B-01")]
    public void What_is_no_range_is_refused(string text)
    {
        Assert.Null(ModuleRange.Expand(text, out var why));
        Assert.Contains("names no modules", why, StringComparison.Ordinal);
    }

    [Fact]
    public void Modules_out_of_order_are_never_written_as_one_range()
    {
        ModuleId[] fore = [.. new[] { "B01", "B02", "B03", "B07", "B05", "B06" }.Select(id => new ModuleId(id))];
        Assert.Equal("B01-B03, B07, B05, B06", ModuleRange.Contract(fore));
    }

    [Fact]
    public void The_schema_carries_descriptions_and_ranges()
    {
        var schema = SiteSchema.Text();
        Assert.Contains("\"maximum\": 10", schema, StringComparison.Ordinal);
        Assert.Contains("Scans a second.", schema, StringComparison.Ordinal);
        Assert.Contains("chargeController", schema, StringComparison.Ordinal);
    }
}
