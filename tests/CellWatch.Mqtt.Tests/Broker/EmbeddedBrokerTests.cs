using System.Net;
using System.Net.Sockets;
using CellWatch.Mqtt.Tests.Doubles;
using CellWatch.Testing;
using Microsoft.Extensions.Logging.Abstractions;
using MQTTnet;
using MQTTnet.Formatter;
using Xunit;

namespace CellWatch.Mqtt.Tests.Broker;

public sealed class EmbeddedBrokerTests
{
    private static EmbeddedBroker Make(EmbeddedBrokerOptions options) =>
        new(options, new Topics("Petrel"), TimeProvider.System, NullLogger<EmbeddedBroker>.Instance);

    [Fact]
    public async Task A_port_that_is_taken_is_refused_in_a_sentence()
    {
        using var other = new TcpListener(IPAddress.Loopback, 0);
        other.Start();
        var port = ((IPEndPoint)other.LocalEndpoint).Port;
        await using var broker = Make(new EmbeddedBrokerOptions { Port = port });
        var refusal = await Assert.ThrowsAsync<BrokerStartException>(broker.StartAsync);
        Assert.Equal($"The embedded broker cannot listen on 127.0.0.1:{port}: another program has that port. Stop it, choose another port, or use it as the external broker.", refusal.Message);
        Assert.False(broker.IsRunning);
    }

    [Fact]
    public async Task The_publisher_says_that_the_port_is_taken_and_sends_once_it_is_free()
    {
        var other = new TcpListener(IPAddress.Loopback, 0);
        other.Start();
        await using var broker = Make(new EmbeddedBrokerOptions { Port = ((IPEndPoint)other.LocalEndpoint).Port });
        using var publisher = new MqttPublisher("Petrel", Bench.Quick, new MemoryOutbox(), TimeProvider.System, NullLogger<MqttPublisher>.Instance, broker);
        await publisher.StartAsync(CancellationToken.None);
        await Eventually.TrueAsync(() => publisher.Sending.Sentence.Contains("another program has that port", StringComparison.Ordinal), "the sentence");
        Assert.False(publisher.Sending.IsSending);
        other.Dispose();
        await Eventually.TrueAsync(() => publisher.Sending.IsSending, "sending");
        await publisher.StopAsync(CancellationToken.None);
    }

    [Fact]
    public async Task It_listens_on_this_machine_only()
    {
        await using var broker = Make(new EmbeddedBrokerOptions { Port = 0 });
        await broker.StartAsync();
        var listening = System.Net.NetworkInformation.IPGlobalProperties.GetIPGlobalProperties().GetActiveTcpListeners().Where(e => e.Port == broker.Port);
        Assert.All(listening, e => Assert.True(IPAddress.IsLoopback(e.Address), e.ToString()));
    }

    [Fact]
    public async Task It_opens_to_the_network_only_with_a_password()
    {
        await using var broker = Make(new EmbeddedBrokerOptions { Address = IPAddress.Any, Port = 0 });
        var refusal = await Assert.ThrowsAsync<BrokerStartException>(broker.StartAsync);
        Assert.Contains("set a user name and a password", refusal.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Readers_need_the_password_where_there_is_one()
    {
        await using var bench = new Bench(new EmbeddedBrokerOptions { User = "boat", Password = "yard" });
        await bench.PublishAsync();
        await Assert.ThrowsAsync<InvalidOperationException>(() => Reader.OnAsync(bench.Port, "petrel/#"));
        await Assert.ThrowsAsync<InvalidOperationException>(() => Reader.OnAsync(bench.Port, "petrel/#", "boat", "wrong"));
        await using var reader = await Reader.OnAsync(bench.Port, "petrel/#", "boat", "yard");
        await reader.FirstAsync("petrel/presence");
    }

    [Fact]
    public async Task Nobody_else_can_forge_a_permit_or_clear_an_alarm()
    {
        await using var bench = new Bench();
        var publisher = await bench.PublishAsync();
        await using var forger = await bench.ReadAsync();
        publisher.Offer(Some.StateWith(1, Some.Alarm()));
        await forger.FirstAsync("petrel/alarm/cell-high.B01.2");
        var permit = await forger.PublishAsync("petrel/permit", "{\"permit\":true}", retain: true);
        var clear = await forger.PublishAsync("petrel/alarm/cell-high.B01.2", "", retain: true);
        Assert.Equal(MqttClientPublishReasonCode.NotAuthorized, permit.ReasonCode);
        Assert.Equal(MqttClientPublishReasonCode.NotAuthorized, clear.ReasonCode);
        await using var late = await bench.ReadAsync();
        await late.FirstAsync("petrel/alarm/cell-high.B01.2");
        Assert.DoesNotContain(forger.All, g => g.Text == "{\"permit\":true}");
    }

    [Fact]
    public async Task Nobody_else_can_take_the_publishers_place()
    {
        await using var bench = new Bench();
        var publisher = await bench.PublishAsync();
        await Eventually.TrueAsync(() => publisher.Sending.IsSending, "sending");
        await Assert.ThrowsAsync<InvalidOperationException>(() => Reader.OnAsync(bench.Port, "petrel/#", clientId: "cellwatch-petrel"));
        await Assert.ThrowsAsync<InvalidOperationException>(() => Reader.OnAsync(bench.Port, "petrel/#", EmbeddedBroker.PublisherUser, "guess"));
        Assert.True(publisher.Sending.IsSending);
    }

    [Fact]
    public async Task Other_topics_are_free_for_all()
    {
        await using var bench = new Bench();
        await bench.Broker.StartAsync();
        await using var reader = await bench.ReadAsync("workshop/#");
        Assert.True((await reader.PublishAsync("workshop/lamp", "on")).IsSuccess);
        await reader.FirstAsync("workshop/lamp");
    }

    [Fact]
    public async Task A_client_of_MQTT_5_needs_no_client_id()
    {
        await using var bench = new Bench();
        await bench.Broker.StartAsync();
        using var client = new MqttClientFactory().CreateMqttClient();
        var result = await client.ConnectAsync(new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", bench.Port).WithProtocolVersion(MqttProtocolVersion.V500).WithClientId("").Build());
        Assert.Equal(MqttClientConnectResultCode.Success, result.ResultCode);
        Assert.StartsWith("reader-", result.AssignedClientIdentifier, StringComparison.Ordinal);
    }
}
