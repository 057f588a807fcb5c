using CellWatch.Core.Rules;
using CellWatch.Mqtt.Tests.Doubles;
using CellWatch.Testing;
using MQTTnet.Protocol;
using Xunit;

namespace CellWatch.Mqtt.Tests.QoS;

/// <summary>MQTT 5.0, 4.3: what is sent at most once, what at least once.</summary>
public sealed class QoSTests
{
    [Fact]
    public async Task Alarms_are_acknowledged_and_live_values_are_not()
    {
        await using var bench = new Bench();
        var outbox = new MemoryOutbox();
        var publisher = await bench.PublishAsync(outbox);
        await using var reader = await bench.ReadAsync();
        publisher.Offer(Some.StateWith(1, Some.Alarm()));
        Assert.Equal(MqttQualityOfServiceLevel.AtLeastOnce, (await reader.FirstAsync("petrel/alarm/cell-high.B01.2")).Qos);
        Assert.Equal(MqttQualityOfServiceLevel.AtMostOnce, (await reader.FirstAsync("petrel/pack")).Qos);
        await Eventually.TrueAsync(() => outbox.Count == 0, "the acknowledged alarm left the outbox");
    }

    [Fact]
    public async Task Every_step_of_every_alarm_comes_once_and_in_order_however_fast_the_states_come()
    {
        await using var bench = new Bench();
        var publisher = await bench.PublishAsync();
        await using var reader = await bench.ReadAsync(bench.Topics.AllAlarms);
        for (var n = 1; n <= 200; n++) publisher.Offer(Some.StateWith(n, Some.Alarm($"cell-high.B{n:000}.1")));
        await reader.UntilAsync(all => all.Count >= 200);
        Assert.Equal(Enumerable.Range(1, 200).Select(n => $"cell-high.B{n:000}.1"), reader.All.Select(g => g.Json.GetProperty("id").GetString()!));
        Assert.Equal(Enumerable.Range(1, 200).Select(n => (long)n), reader.All.Select(g => g.Json.GetProperty("number").GetInt64()));
    }

    [Fact]
    public async Task Nothing_is_published_without_a_snapshot_and_only_the_pack_and_permit_for_an_unchanged_one()
    {
        await using var bench = new Bench();
        var publisher = await bench.PublishAsync();
        await using var reader = await bench.ReadAsync();
        var layout = Some.Layout();
        publisher.Offer(Some.State(1, layout));
        await reader.FirstAsync("petrel/module/B03/temperatures");
        publisher.Offer(Some.State(2, layout));
        // Cell 7 is B02.2.
        publisher.Offer(Some.State(Some.Snapshot(layout, 3, b => b.Values[7] += 0.002)));
        await reader.UntilAsync(all => all.Count(g => g.Topic == "petrel/module/B02/cells") == 2 && all.Any(g => g.Topic == "petrel/pack" && g.Json.GetProperty("sequence").GetInt64() == 3));
        publisher.Offer(Some.State(4, layout) with { Transitions = [Some.Step(Some.Alarm())] });
        await reader.FirstAsync("petrel/alarm/cell-high.B01.2");
        Assert.Single(reader.All, g => g.Topic == "petrel/module/B01/temperatures");
        var sequences = reader.All.Where(g => g.Topic == "petrel/pack").Select(g => g.Json.GetProperty("sequence").GetInt64()).ToArray();
        Assert.InRange(sequences.Length, 2, 4);
        Assert.Equal(sequences.Distinct(), sequences);
    }

    [Fact]
    public async Task The_rate_limit_holds_live_values_back_but_no_alarm()
    {
        await using var bench = new Bench();
        var publisher = await bench.PublishAsync(options: Bench.Quick with { LeastPeriod = TimeSpan.FromHours(1) });
        await using var reader = await bench.ReadAsync();
        publisher.Offer(Some.State(1));
        await reader.FirstAsync("petrel/pack");
        for (var n = 2; n < 50; n++) publisher.Offer(Some.StateWith(n, Some.Alarm($"cell-high.B{n:00}.1")));
        await reader.FirstAsync("petrel/alarm/cell-high.B49.1");
        Assert.Single(reader.All, g => g.Topic == "petrel/pack");
    }

    [Fact]
    public async Task A_broker_that_stands_still_never_holds_the_pack_up_and_gets_the_newest_values_afterwards()
    {
        await using var bench = new Bench();
        await bench.Broker.StartAsync();
        await using var wire = new CuttableWire(bench.Port);
        await using var reader = await bench.ReadAsync("tern/pack");
        var publisher = new MqttPublisher("Tern", Bench.Quick with { Port = wire.Port }, new MemoryOutbox(), TimeProvider.System, Microsoft.Extensions.Logging.Abstractions.NullLogger<MqttPublisher>.Instance);
        await publisher.StartAsync(CancellationToken.None);
        publisher.Offer(Some.State(1));
        await reader.FirstAsync("tern/pack");
        wire.Stall();
        const int States = 5000;
        for (var n = 2; n <= States; n++) publisher.Offer(Some.State(n, Some.Layout("Tern")));
        wire.Flow();
        await reader.FirstAsync("tern/pack", g => g.Json.GetProperty("sequence").GetInt64() == States);
        Assert.True(reader.All.Count < States, "states that were out of date were left out");
        await publisher.StopAsync(CancellationToken.None);
        publisher.Dispose();
    }

    [Fact]
    public void Alarm_states_of_the_core_all_have_a_word() =>
        Assert.Equal("latchedUnacknowledged", Words.Of(AlarmState.LatchedUnacknowledged).ToString());
}
