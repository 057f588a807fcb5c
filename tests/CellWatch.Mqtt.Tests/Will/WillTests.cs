using CellWatch.Mqtt.Tests.Doubles;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Mqtt.Tests.Will;

/// <summary>MQTT 5.0, 3.1.2.5: what the broker says when the program is gone.</summary>
public sealed class WillTests
{
    private static string Presence(Got got) => got.Json.GetProperty("presence").GetString()!;

    [Fact]
    public async Task A_connection_that_ends_without_a_farewell_is_told_as_lost()
    {
        await using var bench = new Bench();
        await bench.Broker.StartAsync();
        await using var wire = new CuttableWire(bench.Port);
        // The embedded broker lets only its own publisher write under the site; this one is of another site.
        await using var reader = await bench.ReadAsync("tern/presence");
        var publisher = new MqttPublisher("Tern", Bench.Quick with { Port = wire.Port }, new MemoryOutbox(), TimeProvider.System, Microsoft.Extensions.Logging.Abstractions.NullLogger<MqttPublisher>.Instance);
        await publisher.StartAsync(CancellationToken.None);
        await reader.FirstAsync("tern/presence", g => Presence(g) == "online");
        wire.Cut();
        var lost = await reader.FirstAsync("tern/presence", g => Presence(g) == "lost");
        Assert.Equal(System.Text.Json.JsonValueKind.Null, lost.Json.GetProperty("time").ValueKind);
        await reader.UntilAsync(all => all.Count(g => Presence(g) == "online") == 2);
        await publisher.StopAsync(CancellationToken.None);
        publisher.Dispose();
    }

    [MosquittoFact]
    public async Task An_independent_broker_tells_that_the_program_is_lost()
    {
        await using var mosquitto = new Mosquitto();
        await mosquitto.StartAsync();
        await using var wire = new CuttableWire(mosquitto.Port);
        await using var bench = new Bench();
        await bench.PublishToAsync(wire.Port);
        await using var reader = await Reader.OnAsync(mosquitto.Port, "petrel/presence");
        await reader.FirstAsync("petrel/presence", g => Presence(g) == "online");
        wire.Cut();
        await reader.UntilAsync(all => all.Any(g => Presence(g) == "lost") && Presence(all[^1]) == "online");
    }

    [Fact]
    public async Task Presence_says_simulated_before_the_first_snapshot_where_that_is_known()
    {
        await using var bench = new Bench();
        await bench.PublishAsync(options: Bench.Quick with { Simulated = true });
        await using var reader = await bench.ReadAsync();
        Assert.True((await reader.FirstAsync("petrel/presence")).Json.GetProperty("simulated").GetBoolean());
    }

    [Fact]
    public async Task A_program_that_is_stopped_says_so_itself_and_takes_its_permit_back()
    {
        await using var bench = new Bench();
        var publisher = await bench.PublishAsync();
        await using var reader = await bench.ReadAsync();
        publisher.Offer(Some.State() with { Charge = new() { Permit = true } });
        await reader.FirstAsync("petrel/permit", g => g.Json.GetProperty("permit").GetBoolean());
        await publisher.StopAsync(CancellationToken.None);
        await reader.FirstAsync("petrel/presence", g => Presence(g) == "stopped");
        var last = reader.All.Last(g => g.Topic == "petrel/permit");
        Assert.False(last.Json.GetProperty("permit").GetBoolean());
        Assert.Equal("the program was stopped", last.Json.GetProperty("reason").GetString());
        Assert.DoesNotContain(reader.All, g => g.Topic == "petrel/presence" && Presence(g) == "lost");
    }
}
