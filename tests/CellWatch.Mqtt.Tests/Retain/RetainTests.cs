using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Mqtt.Tests.Doubles;
using CellWatch.Testing;
using Microsoft.Extensions.Time.Testing;
using MQTTnet.Protocol;
using Xunit;

namespace CellWatch.Mqtt.Tests.Retain;

/// <summary>MQTT 5.0, 3.3.1.3: what a late reader finds.</summary>
public sealed class RetainTests
{
    [Fact]
    public async Task A_late_reader_finds_the_whole_pack()
    {
        await using var bench = new Bench();
        var publisher = await bench.PublishAsync();
        await using (var early = await bench.ReadAsync())
        {
            publisher.Offer(Some.StateWith(1, Some.Alarm()) with { FrontEnds = [Some.FrontEnd()] });
            await early.UntilAsync(all => all.Any(g => g.Topic == bench.Topics.Instrument("instrument 1")) && all.Any(g => g.Topic == bench.Topics.Alarm("cell-high.B01.2")));
        }

        await using var late = await bench.ReadAsync();
        string[] wanted =
        [
            "petrel/pack", "petrel/permit", "petrel/presence", "petrel/instrument/instrument-1", "petrel/alarm/cell-high.B01.2",
            "petrel/module/B01/cells", "petrel/module/B02/cells", "petrel/module/B03/cells",
            "petrel/module/B01/temperatures", "petrel/module/B02/temperatures", "petrel/module/B03/temperatures",
        ];
        await late.UntilAsync(all => wanted.All(topic => all.Any(g => g.Topic == topic)));
        Assert.All(late.All.Where(g => wanted.Contains(g.Topic)), g => Assert.True(g.Retain));
    }

    [Fact]
    public async Task A_cleared_alarm_stays_as_cleared_for_a_late_reader()
    {
        await using var bench = new Bench();
        var publisher = await bench.PublishAsync();
        publisher.Offer(Some.StateWith(1, Some.Alarm()));
        var cleared = Some.Alarm(state: AlarmState.Normal);
        publisher.Offer(Some.State(2) with { Transitions = [Some.Step(cleared, AlarmState.ReturnedUnacknowledged)] });
        await using (var early = await bench.ReadAsync(bench.Topics.AllAlarms))
            await early.UntilAsync(all => all.Any(g => g.Json.GetProperty("state").GetString() == "normal"));

        await using var late = await bench.ReadAsync(bench.Topics.AllAlarms);
        var found = await late.FirstAsync("petrel/alarm/cell-high.B01.2");
        Assert.True(found.Retain);
        Assert.Equal("normal", found.Json.GetProperty("state").GetString());
    }

    [Fact]
    public async Task A_run_is_told_once_and_not_retained()
    {
        await using var bench = new Bench();
        var publisher = await bench.PublishAsync();
        await using var early = await bench.ReadAsync("petrel/run/+");
        publisher.Offer(Some.State() with { Charge = new ChargeView { Phase = ChargePhase.ConstantCurrent, BeganUnixMs = Some.WallUnixMs } });
        var run = await early.FirstAsync("petrel/run/charge-20260801T101500Z");
        Assert.Equal("constantCurrent", run.Json.GetProperty("phase").GetString());

        await using var late = await bench.ReadAsync();
        await late.FirstAsync("petrel/pack");
        Assert.DoesNotContain(late.All, g => g.Topic.StartsWith("petrel/run/", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Alarms_survive_a_restart_of_the_embedded_broker_and_live_values_do_not()
    {
        var folder = Directory.CreateTempSubdirectory("cellwatch-retained").FullName;
        var options = new EmbeddedBrokerOptions { RetainedPath = Path.Combine(folder, "site", "retained.json") };
        try
        {
            await using (var bench = new Bench(options))
            {
                var publisher = await bench.PublishAsync();
                await using var reader = await bench.ReadAsync();
                publisher.Offer(Some.StateWith(1, Some.Alarm()));
                await reader.UntilAsync(all => all.Any(g => g.Topic == "petrel/pack") && all.Any(g => g.Topic == "petrel/alarm/cell-high.B01.2"));
            }

            await using var second = new Bench(options);
            await second.Broker.StartAsync();
            await using var late = await second.ReadAsync();
            var alarm = await late.FirstAsync("petrel/alarm/cell-high.B01.2");
            Assert.True(alarm.Retain);
            Assert.Equal(MqttQualityOfServiceLevel.AtLeastOnce, alarm.Qos);
            // The end of the retained messages is known by one that comes after them.
            await late.PublishAsync("other/marker", "x");
            await using var marker = await second.ReadAsync("petrel/presence");
            Assert.Equal("stopped", (await marker.FirstAsync("petrel/presence")).Json.GetProperty("presence").GetString());
            Assert.DoesNotContain(late.All, g => g.Topic is "petrel/pack" or "petrel/module/B01/cells");
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    [Fact]
    public async Task An_alarm_of_an_earlier_run_that_is_not_raised_again_becomes_not_known_and_never_cleared()
    {
        await using var bench = new Bench();
        await using var reader = await StartedAsync();
        var first = await bench.PublishAsync();
        var (gone, again, cleared) = (Some.Alarm("cell-high.B01.2"), Some.Alarm("cell-high.B01.3"), Some.Alarm("cell-high.B01.4", AlarmState.Normal));
        first.Offer(Some.StateWith(1, gone, again, cleared));
        await reader.UntilAsync(all => all.Count == 3);
        await first.StopAsync(CancellationToken.None);

        var time = new FakeTimeProvider();
        // No time runs but the test's: waiting for an answer must not end when it is moved.
        var second = await bench.PublishAsync(options: Bench.Quick with { AnswerTimeout = TimeSpan.FromHours(1) }, time: time);
        await Eventually.TrueAsync(() => second.LeftOverAlarmsFound == 2, "what is left was found");
        second.Offer(Some.StateWith(2, again));
        await reader.UntilAsync(all => all.Count == 4);
        time.Advance(TimeSpan.FromSeconds(59));
        second.Offer(Some.State(3) with { Alarms = [again] });
        second.Offer(Some.State(4) with { Alarms = [again], Transitions = [Some.Step(again with { State = AlarmState.Acknowledged })] });
        await reader.UntilAsync(all => all.Count == 5);
        Assert.DoesNotContain(reader.All, g => g.Text.Contains("notKnown", StringComparison.Ordinal));
        time.Advance(TimeSpan.FromSeconds(1));
        second.Offer(Some.State(5) with { Alarms = [again] });
        var told = await reader.FirstAsync("petrel/alarm/cell-high.B01.2", g => g.Json.GetProperty("state").GetString() == "notKnown");
        Assert.Equal(System.Text.Json.JsonValueKind.Null, told.Json.GetProperty("isActive").ValueKind);
        Assert.Equal("B01.2", told.Json.GetProperty("cell").GetString());
        Assert.Contains("It said: B01.2 is at 4.213 V", told.Json.GetProperty("message").GetString(), StringComparison.Ordinal);
        // One more step comes after anything else that might have been told.
        second.Offer(Some.State(6) with { Transitions = [Some.Step(again with { State = AlarmState.Normal })] });
        await reader.FirstAsync("petrel/alarm/cell-high.B01.3", g => g.Json.GetProperty("state").GetString() == "normal");
        Assert.Single(reader.All, g => g.Text.Contains("notKnown", StringComparison.Ordinal));

        async Task<Reader> StartedAsync()
        {
            await bench.Broker.StartAsync();
            return await bench.ReadAsync(bench.Topics.AllAlarms);
        }
    }

    [Fact]
    public async Task A_damaged_file_of_retained_messages_is_put_aside_and_the_broker_starts()
    {
        var folder = Directory.CreateTempSubdirectory("cellwatch-retained").FullName;
        var path = Path.Combine(folder, "retained.json");
        await File.WriteAllTextAsync(path, "[{\"topic\":\"petrel/al");
        try
        {
            await using var bench = new Bench(new EmbeddedBrokerOptions { RetainedPath = path });
            await bench.Broker.StartAsync();
            Assert.True(bench.Broker.IsRunning);
            Assert.True(File.Exists(path + ".damaged"));
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    [MosquittoFact]
    public async Task An_independent_client_reads_what_the_embedded_broker_retains()
    {
        // Debian's mosquitto_sub, both versions of the protocol.
        await using var bench = new Bench();
        var publisher = await bench.PublishAsync();
        await using (var early = await bench.ReadAsync())
        {
            publisher.Offer(Some.State());
            await early.FirstAsync("petrel/module/B03/temperatures");
        }

        foreach (var version in new[] { "mqttv311", "mqttv5" })
        {
            var lines = await Mosquitto.ReadAsync(bench.Port, "petrel/module/B02/cells", 1, "-V", version);
            var line = Assert.Single(lines);
            Assert.StartsWith("petrel/module/B02/cells {\"site\":\"Petrel\",\"time\":\"2026-08-01T10:15:00.250Z\"", line, StringComparison.Ordinal);
            Assert.Contains("\"cellVoltageV\":[3.906,3.907,3.908,3.909,3.91,3.911]", line, StringComparison.Ordinal);
        }
    }

    [MosquittoFact]
    public async Task An_independent_broker_retains_what_is_published()
    {
        await using var mosquitto = new Mosquitto();
        await mosquitto.StartAsync();
        await using var bench = new Bench();
        var publisher = await bench.PublishToAsync(mosquitto.Port);
        await using (var early = await Reader.OnAsync(mosquitto.Port, "petrel/#"))
        {
            publisher.Offer(Some.StateWith(1, Some.Alarm()) with { FrontEnds = [Some.FrontEnd()] });
            await early.UntilAsync(all => all.Any(g => g.Topic == "petrel/instrument/instrument-1") && all.Any(g => g.Topic == "petrel/alarm/cell-high.B01.2"));
        }

        var lines = await Mosquitto.ReadAsync(mosquitto.Port, "petrel/#", 11);
        Assert.Equal(11, lines.Length);
        Assert.Contains(lines, l => l.StartsWith("petrel/alarm/cell-high.B01.2 {", StringComparison.Ordinal));
        Assert.Contains(lines, l => l.StartsWith("petrel/permit {", StringComparison.Ordinal));
        Assert.True(publisher.Sending.IsSending);
    }
}
