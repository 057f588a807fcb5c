using CellWatch.Core.Live;
using Microsoft.Extensions.Logging.Abstractions;

namespace CellWatch.Mqtt.Tests.Doubles;

/// <summary>An embedded broker and a publisher set up for a test, on a free port of this machine; pauses are short.</summary>
public sealed class Bench : IAsyncDisposable
{
    public static readonly PublisherOptions Quick = new() { FirstPause = TimeSpan.FromMilliseconds(10), LongestPause = TimeSpan.FromMilliseconds(50) };

    private readonly List<MqttPublisher> _publishers = [];

    public Bench(EmbeddedBrokerOptions? options = null, TimeProvider? brokerTime = null) =>
        Broker = new EmbeddedBroker((options ?? new EmbeddedBrokerOptions()) with { Port = 0 }, Topics, brokerTime ?? TimeProvider.System, NullLogger<EmbeddedBroker>.Instance);

    public Topics Topics { get; } = new("Petrel");

    public EmbeddedBroker Broker { get; }

    public int Port => Broker.Port;

    /// <summary>A publisher that opens and uses the embedded broker.</summary>
    public async Task<MqttPublisher> PublishAsync(IOutbox? outbox = null, PublisherOptions? options = null, TimeProvider? time = null)
    {
        await Broker.StartAsync();
        return await StartAsync(new MqttPublisher("Petrel", options ?? Quick, outbox ?? new MemoryOutbox(), time ?? TimeProvider.System, NullLogger<MqttPublisher>.Instance, Broker));
    }

    /// <summary>A publisher that uses whatever listens on a port as an external broker.</summary>
    public async Task<MqttPublisher> PublishToAsync(int port, IOutbox? outbox = null, PublisherOptions? options = null, TimeProvider? time = null) =>
        await StartAsync(new MqttPublisher("Petrel", (options ?? Quick) with { Port = port }, outbox ?? new MemoryOutbox(), time ?? TimeProvider.System, NullLogger<MqttPublisher>.Instance));

    public Task<Reader> ReadAsync(string? filter = null) => Reader.OnAsync(Port, filter ?? Topics.Everything);

    public async ValueTask DisposeAsync()
    {
        foreach (var publisher in _publishers)
        {
            await publisher.StopAsync(CancellationToken.None);
            publisher.Dispose();
        }

        await Broker.DisposeAsync();
    }

    private async Task<MqttPublisher> StartAsync(MqttPublisher publisher)
    {
        _publishers.Add(publisher);
        await publisher.StartAsync(CancellationToken.None);
        return publisher;
    }
}

/// <summary>Waits for a state of affairs that nobody announces.</summary>
public static class Eventually
{
    public static Task TrueAsync(Func<bool> condition, string what, Action? meanwhile = null) =>
        TrueAsync(() => Task.FromResult(condition()), what, meanwhile);

    public static async Task TrueAsync(Func<Task<bool>> condition, string what, Action? meanwhile = null)
    {
        // The pause only yields the processor between two looks; nothing depends on its length.
        for (var look = 0; look < 4000; look++)
        {
            if (await condition()) return;
            meanwhile?.Invoke();
            await Task.Delay(5);
        }

        throw new TimeoutException($"Did not come true: {what}");
    }
}
