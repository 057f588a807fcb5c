using System.Buffers;
using System.Net;
using System.Text;
using System.Text.Json;
using MQTTnet;
using MQTTnet.Formatter;
using MQTTnet.Protocol;

namespace CellWatch.Mqtt.Tests.Doubles;

/// <summary>One message as a reader got it.</summary>
public sealed record Got(string Topic, string Text, bool Retain, MqttQualityOfServiceLevel Qos, uint ExpiryS)
{
    public JsonElement Json => JsonDocument.Parse(Text).RootElement;
}

/// <summary>A client that reads and keeps what comes, and waits for it without polling.</summary>
public sealed class Reader : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(20);
    private readonly IMqttClient _client = new MqttClientFactory().CreateMqttClient();
    private readonly List<Got> _got = [];
    private readonly List<(Func<IReadOnlyList<Got>, bool> Until, TaskCompletionSource Done)> _waiting = [];

    public IReadOnlyList<Got> All
    {
        get { lock (_got) return [.. _got]; }
    }

    public static async Task<Reader> OnAsync(int port, string filter, string? user = null, string? password = null, string? clientId = null)
    {
        var reader = new Reader();
        reader._client.ApplicationMessageReceivedAsync += e =>
        {
            var m = e.ApplicationMessage;
            reader.Take(new Got(m.Topic, Encoding.UTF8.GetString(m.Payload.ToArray()), m.Retain, m.QualityOfServiceLevel, m.MessageExpiryInterval));
            return Task.CompletedTask;
        };
        var options = new MqttClientOptionsBuilder().WithTcpServer(IPAddress.Loopback.ToString(), port)
            .WithProtocolVersion(MqttProtocolVersion.V500).WithClientId(clientId ?? $"reader-{Guid.NewGuid():N}");
        if (user is not null) options.WithCredentials(user, password);
        var result = await reader._client.ConnectAsync(options.Build());
        if (result.ResultCode != MqttClientConnectResultCode.Success) throw new InvalidOperationException(result.ResultCode.ToString());
        await reader._client.SubscribeAsync(new MqttTopicFilterBuilder().WithTopic(filter).WithAtLeastOnceQoS().WithRetainAsPublished(false).Build());
        return reader;
    }

    /// <summary>Waits until what has come satisfies a condition.</summary>
    public async Task UntilAsync(Func<IReadOnlyList<Got>, bool> condition)
    {
        var done = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        lock (_got)
        {
            if (condition(_got)) return;
            _waiting.Add((condition, done));
        }

        try
        {
            await done.Task.WaitAsync(Patience);
        }
        catch (TimeoutException e)
        {
            throw new TimeoutException("Not come. Came: " + string.Join("\n", All.TakeLast(60).Select(g => $"{g.Topic} {g.Text}")), e);
        }
    }

    public async Task<Got> FirstAsync(string topic, Func<Got, bool>? condition = null)
    {
        bool Wanted(Got g) => g.Topic == topic && (condition is null || condition(g));
        await UntilAsync(all => all.Any(Wanted));
        return All.First(Wanted);
    }

    public Task<MqttClientPublishResult> PublishAsync(string topic, string text, bool retain = false) =>
        _client.PublishStringAsync(topic, text, MqttQualityOfServiceLevel.AtLeastOnce, retain);

    public async ValueTask DisposeAsync()
    {
        if (_client.IsConnected) await _client.DisconnectAsync();
        _client.Dispose();
    }

    private void Take(Got got)
    {
        lock (_got)
        {
            _got.Add(got);
            foreach (var wait in _waiting.Where(w => w.Until(_got)).ToArray())
            {
                _waiting.Remove(wait);
                wait.Done.TrySetResult();
            }
        }
    }
}
