using System.Text;
using CellWatch.Core.Commands;
using CellWatch.Core.Settings;
using CellWatch.Host.Pipeline;
using CellWatch.Host.Settings;
using CellWatch.Host.Site;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.Settings;

public sealed class SettingsDeskTests : IDisposable
{
    private const string Text = """
        {
          // The bench.
          "site": "bench",
          "cellType": "nmc-4.20",
          "limits": { "chargeTargetV": 4.10 /* gentle */ },
          "capacityAh": 110, // label
          "modules": [ { "id": "B01-B02" } ],
          "mqtt": { },
        }
        """;

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    private string File => Path.Combine(_folder.Path, "site.json");

    private SettingsDesk Open(string text = Text)
    {
        System.IO.File.WriteAllText(File, text);
        return new SettingsDesk(File, SiteFile.Read(File).Document);
    }

    private static SettingView Of(SettingsDesk desk, string name) => desk.Read().Single(s => s.Name == name);

    private static CommandAnswer Write(SettingsDesk desk, params (string Name, string From, string To)[] changes) =>
        desk.Write(new ChangeSettings([.. changes.Select(c => new SettingChange(c.Name, c.From, c.To))], "Anna"));

    [Fact]
    public void Every_setting_has_its_value_its_usual_value_its_range_and_a_source()
    {
        var desk = Open();
        Assert.All(desk.Read(), s =>
        {
            Assert.NotEmpty(s.Label);
            Assert.NotEmpty(s.Says);
            Assert.NotEmpty(s.Source);
            Assert.NotEmpty(s.Allowed);
            // The usual value may itself be typed.
            if (s.Usual.Length > 0) Assert.Empty(desk.Check(new Dictionary<string, string> { [s.Name] = s.Name == "limits.chargeTargetV" ? "4.1" : s.Usual }));
        });
        Assert.Equal("4.1", Of(desk, "limits.chargeTargetV").Written);
        Assert.Equal("4.2", Of(desk, "limits.highStopV").Written);
        Assert.Equal("2.5 to 4.5 V", Of(desk, "limits.chargeTargetV").Allowed);
        Assert.Equal("0.5 to 10 scans a second", Of(desk, "snapshotHz").Allowed);
        Assert.Contains("data sheet overrides", Of(desk, "limits.highStopV").Source, StringComparison.Ordinal);
    }

    [Fact]
    public void Every_limit_there_is_can_be_changed() =>
        Assert.Equal(typeof(CellWatch.Core.Pack.CellLimits).GetProperties().Where(p => p.CanWrite).Select(p => System.Text.Json.JsonNamingPolicy.CamelCase.ConvertName(p.Name)).Order(), LimitRange.All.Select(l => l.Name).Order());

    [Fact]
    public void A_change_is_written_into_the_text_and_every_comment_stays()
    {
        var desk = Open();
        var answer = Write(desk, ("limits.chargeTargetV", "4.1", "4.05"), ("limits.dataAgeWarnS", "2", "3"), ("log.commitEveryS", "1", "5"), ("mqtt.port", "1883", "1884"), ("handCutOff", "", "red \"button\""));
        Assert.True(answer.Accepted, answer.Message);
        var now = System.IO.File.ReadAllText(File);
        Assert.Contains("// The bench.", now, StringComparison.Ordinal);
        Assert.Contains("4.05 /* gentle */", now, StringComparison.Ordinal);
        Assert.Contains("\"capacityAh\": 110, // label", now, StringComparison.Ordinal);
        var site = SiteFile.Read(File);
        Assert.Equal((4.05, 3.0), (site.CellType!.Limits.ChargeTargetV, site.CellType.Limits.DataAgeWarnS));
        Assert.Equal((5.0, 1884, "red \"button\""), (site.Document.Log.CommitEveryS, site.Document.Mqtt.Port, site.Document.HandCutOff));
        // The running program goes by the old value until it is started again, and the page can say so.
        Assert.Equal(("4.05", "4.1"), (Of(desk, "limits.chargeTargetV").Written, Of(desk, "limits.chargeTargetV").Running));
    }

    [Theory]
    [InlineData("capacityAh", "-1", "Capacity of a cell group: -1 is outside 0 to 10000 Ah.")]
    [InlineData("capacityAh", "4,1", "Capacity of a cell group: '4,1' is no number. Write it with a point, 0 to 10000 Ah.")]
    [InlineData("capacityAh", "NaN", "Capacity of a cell group: 'NaN' is no number. Write it with a point, 0 to 10000 Ah.")]
    [InlineData("limits.chargeTargetV", "6", "Charge target: 6 is outside 2.5 to 4.5 V.")]
    [InlineData("cellType", "zinc", "Cell type: 'zinc' is not one of none, nmc-4.20, lfp-3.65.")]
    [InlineData("mqtt.enabled", "maybe", "Send to a broker: 'maybe' is neither yes nor no.")]
    [InlineData("packRevision", "a very long revision", "Revision of the pack: 20 characters, at most 16 characters.")]
    [InlineData("site", "other", "'site' cannot be changed here.")]
    public void A_value_that_cannot_be_is_refused_by_field_and_range_and_nothing_is_written(string name, string typed, string said)
    {
        var desk = Open();
        Assert.Equal(said, Assert.Single(desk.Check(new Dictionary<string, string> { [name] = typed })).Message);
        var from = desk.Read().FirstOrDefault(s => s.Name == name)?.Written ?? "bench";
        Assert.False(Write(desk, (name, from, typed)).Accepted);
        Assert.Equal(Text, System.IO.File.ReadAllText(File));
    }

    [Fact]
    public void Limits_in_the_wrong_order_are_refused_by_their_names_in_words()
    {
        var fault = Assert.Single(Open().Check(new Dictionary<string, string> { ["limits.chargeTargetV"] = "4.18" }));
        Assert.Equal(("limits.chargeTargetV", "Charge target 4.18 must be below high voltage, warning 4.15."), (fault.Name, fault.Message));
    }

    [Fact]
    public void What_somebody_else_changed_meanwhile_is_not_written_over()
    {
        var desk = Open();
        Assert.True(Write(desk, ("capacityAh", "110", "105")).Accepted);
        var answer = Write(desk, ("capacityAh", "110", "100"));
        Assert.False(answer.Accepted);
        Assert.Contains("was changed to 105 meanwhile", answer.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_file_that_was_broken_by_hand_meanwhile_is_said_and_left_alone()
    {
        var desk = Open();
        System.IO.File.WriteAllText(File, Text.Replace("110", "-110", StringComparison.Ordinal));
        Assert.Contains("has faults since the start", desk.Closed, StringComparison.Ordinal);
        Assert.False(Write(desk, ("snapshotHz", "2", "1")).Accepted);
    }

    [Fact]
    public void A_name_that_stands_twice_is_said_instead_of_a_change_that_does_nothing()
    {
        var desk = Open(Text.Replace("\"mqtt\"", "\"capacityAh\": 100, \"mqtt\"", StringComparison.Ordinal));
        Assert.Contains("holds 'capacityAh' twice", Assert.Single(desk.Check(new Dictionary<string, string> { ["capacityAh"] = "90" })).Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("{}", "capacityAh", "1", "{\n  \"capacityAh\": 1\n}")]
    [InlineData("{ \"a\": 2 }", "log.commitEveryS", "5", "{\n  \"log\": {\n    \"commitEveryS\": 5\n  }, \"a\": 2 }")]
    [InlineData("{ \"limits\": null }", "limits.highStopV", "4.1", "{ \"limits\": {\n    \"highStopV\": 4.1\n  } }")]
    [InlineData("{ \"x\": { \"capacityAh\": 1 }, \"capacityAh\": 2 }", "capacityAh", "3", "{ \"x\": { \"capacityAh\": 1 }, \"capacityAh\": 3 }")]
    public void A_value_is_put_where_it_belongs(string text, string name, string raw, string expected) =>
        Assert.Equal(expected, Encoding.UTF8.GetString(SiteEdit.Put(Encoding.UTF8.GetBytes(text), name, raw)));

    [Fact]
    public async Task The_door_writes_and_then_records_like_every_command_and_asks_for_a_name()
    {
        var inner = new CommandDoor();
        var door = new SettingsDoor(inner, Open());
        var change = new ChangeSettings([new SettingChange("capacityAh", "110", "105")], "Anna");
        Assert.False((await door.SubmitAsync(change with { By = " " })).Accepted);
        var asked = door.SubmitAsync(change);
        Assert.True(inner.Waiting.TryRead(out var pending));
        Assert.Same(change, pending.Command);
        pending.Answer.SetResult(new CommandAnswer(true, "ok"));
        Assert.Contains("next start", (await asked).Message, StringComparison.Ordinal);
        Assert.Equal(105, SiteFile.Read(File).Document.CapacityAh);
    }

    [Fact]
    public void The_demo_shows_its_settings_and_says_why_none_can_be_changed()
    {
        var desk = DemoPlan.Of(Simulation.Stories.AllStories.Named("first-charge"), null, _folder.Path, 0, null).Settings;
        Assert.Contains("SIMULATED", desk.Closed, StringComparison.Ordinal);
        Assert.Equal("4.15", Of(desk, "limits.chargeTargetV").Written);
        Assert.False(Write(desk, ("capacityAh", "110", "100")).Accepted);
    }
}
