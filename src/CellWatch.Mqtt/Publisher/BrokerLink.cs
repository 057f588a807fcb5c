using System.Buffers;
using System.Security.Cryptography.X509Certificates;
using MQTTnet;
using MQTTnet.Exceptions;
using MQTTnet.Formatter;
using MQTTnet.Protocol;

namespace CellWatch.Mqtt;

/// <summary>The broker is not there, does not let the program in, or does not take a message; the message is a sentence for a person.</summary>
internal sealed class LinkLostException(string sentence, Exception? inner = null) : Exception(sentence, inner);

/// <summary>One connection to a broker, from connect to loss; never used twice.</summary>
internal sealed class BrokerLink : IDisposable
{
    private readonly IMqttClient _client = new MqttClientFactory().CreateMqttClient();
    private readonly PublisherOptions _options;
    private readonly TimeProvider _time;
    private volatile string? _lost;

    private BrokerLink(string broker, PublisherOptions options, TimeProvider time, Action onLost)
    {
        (Broker, _options, _time) = (broker, options, time);
        // Only notes the loss: reconnecting from inside this event can deadlock, so the publisher's own loop does it.
        _client.DisconnectedAsync += e =>
        {
            _lost = WhyLost(e);
            onLost();
            return Task.CompletedTask;
        };
    }

    /// <summary>The broker in words: <c>127.0.0.1:1883</c>.</summary>
    public string Broker { get; }

    /// <summary>Whether the connection stands.</summary>
    public bool IsAlive => _lost is null && _client.IsConnected;

    /// <summary>What ended it, in a sentence.</summary>
    public string Lost => _lost ?? $"the connection to the broker {Broker} was lost";

    /// <summary>Connects.</summary>
    /// <exception cref="LinkLostException">No connection; the message says why.</exception>
    public static async Task<BrokerLink> ConnectAsync(
        PublisherOptions options, EmbeddedBroker? embedded, Topics topics, byte[] will, TimeProvider time, Action onLost, CancellationToken cancellation)
    {
        var (host, port) = embedded is null ? (options.Host, options.Port) : (Host(embedded), embedded.Port);
        var link = new BrokerLink($"{host}:{port}", options, time, onLost);
        try
        {
            var result = await link._client.ConnectAsync(link.ClientOptions(host, port, embedded, topics, will), cancellation);
            if (result.ResultCode != MqttClientConnectResultCode.Success) throw new LinkLostException(Refusal(link.Broker, result));
            if (!result.RetainAvailable || result.MaximumQoS < MqttQualityOfServiceLevel.AtLeastOnce)
                throw new LinkLostException($"the broker {link.Broker} does not offer retained messages and QoS 1, which alarms need");
            return link;
        }
        catch (Exception e) when (e is not OperationCanceledException || !cancellation.IsCancellationRequested)
        {
            link.Dispose();
            if (e is LinkLostException) throw;
            throw new LinkLostException($"the broker {link.Broker} cannot be reached ({Deepest(e).TrimEnd('.')})", e);
        }
    }

    /// <summary>Sends one message and, at QoS 1, waits for the broker's answer.</summary>
    /// <returns>Whether the broker took it; false when this very message can never be taken.</returns>
    /// <exception cref="LinkLostException">The connection is gone, or the broker refuses for another reason than the message itself.</exception>
    /// <remarks>
    /// A stop of the program does not break a message off: half a packet would spoil the connection, and an acknowledgement that
    /// nobody waits for would send the message twice.
    /// </remarks>
    public async Task<bool> SendAsync(MqttApplicationMessage message)
    {
        var result = await AskAsync(token => _client.PublishAsync(message, token));
        if (result.IsSuccess) return true;
        if (result.ReasonCode is MqttClientPublishReasonCode.TopicNameInvalid or MqttClientPublishReasonCode.PayloadFormatInvalid) return false;
        throw new LinkLostException($"the broker {Broker} does not take {message.Topic} ({result.ReasonCode}): allow this program to write under {message.Topic.Split('/')[0]}/#");
    }

    /// <summary>Asks for messages; each is handed over on the client's own task with whether it was retained.</summary>
    /// <returns>Whether the broker lets this program read them.</returns>
    /// <exception cref="LinkLostException">The connection is gone.</exception>
    public async Task<bool> ReadAsync(IEnumerable<string> filters, Action<string, ReadOnlySequence<byte>, bool> got)
    {
        _client.ApplicationMessageReceivedAsync += e =>
        {
            got(e.ApplicationMessage.Topic, e.ApplicationMessage.Payload, e.ApplicationMessage.Retain);
            return Task.CompletedTask;
        };
        var builder = new MqttClientSubscribeOptionsBuilder();
        // One quality of service for all: then a broker keeps them in one order.
        foreach (var filter in filters) builder.WithTopicFilter(f => f.WithTopic(filter).WithAtLeastOnceQoS());
        var result = await AskAsync(token => _client.SubscribeAsync(builder.Build(), token));
        return result.Items.All(i => i.ResultCode <= MqttClientSubscribeResultCode.GrantedQoS2);
    }

    /// <summary>Asks for them no longer.</summary>
    public Task StopReadingAsync(IEnumerable<string> filters)
    {
        var builder = new MqttClientUnsubscribeOptionsBuilder();
        foreach (var filter in filters) builder.WithTopicFilter(filter);
        return AskAsync(token => _client.UnsubscribeAsync(builder.Build(), token));
    }

    /// <summary>Says farewell; the broker then sends no will.</summary>
    public async Task CloseAsync(CancellationToken cancellation)
    {
        if (_client.IsConnected) await _client.DisconnectAsync(new MqttClientDisconnectOptionsBuilder().Build(), cancellation);
    }

    /// <inheritdoc/>
    public void Dispose() => _client.Dispose();

    /// <summary>Asks something of the broker and waits for its answer no longer than is set.</summary>
    private async Task<T> AskAsync<T>(Func<CancellationToken, Task<T>> ask)
    {
        using var timeout = new CancellationTokenSource(_options.AnswerTimeout, _time);
        try
        {
            return await ask(timeout.Token);
        }
        catch (OperationCanceledException e)
        {
            throw new LinkLostException($"the broker {Broker} has not answered for {_options.AnswerTimeout.TotalSeconds:0.#} s", e);
        }
        catch (Exception e) when (e is MqttCommunicationException or MqttClientNotConnectedException or ObjectDisposedException or IOException or InvalidOperationException)
        {
            throw new LinkLostException(Lost, e);
        }
    }

    private MqttClientOptions ClientOptions(string host, int port, EmbeddedBroker? embedded, Topics topics, byte[] will)
    {
        var builder = new MqttClientOptionsBuilder()
            .WithTcpServer(host, port).WithProtocolVersion(MqttProtocolVersion.V500)
            .WithClientId(_options.ClientId ?? $"cellwatch-{topics.Root}")
            .WithCleanStart()
            .WithKeepAlivePeriod(_options.KeepAlive).WithTimeout(_options.AnswerTimeout)
            .WithWillTopic(topics.Presence).WithWillPayload(will).WithWillRetain().WithWillContentType("application/json")
            .WithWillQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce);
        if (embedded is not null) builder.WithCredentials(EmbeddedBroker.PublisherUser, embedded.PublisherPassword);
        else if (!string.IsNullOrEmpty(_options.User)) builder.WithCredentials(_options.User, _options.Password);
        if (embedded is null && _options.Tls)
        {
            builder.WithTlsOptions(tls =>
            {
                tls.UseTls();
                if (_options.TrustedCertificatePath is not { } path) return;
                var trusted = new X509Certificate2Collection();
                trusted.ImportFromPemFile(path);
                tls.WithTrustChain(trusted);
            });
        }

        return builder.Build();
    }

    private static string Host(EmbeddedBroker embedded) => embedded.Address switch
    {
        var any when any.Equals(System.Net.IPAddress.Any) => "127.0.0.1",
        var any when any.Equals(System.Net.IPAddress.IPv6Any) => "::1",
        var one => one.ToString(),
    };

    private static string Refusal(string broker, MqttClientConnectResult result) => result.ResultCode switch
    {
        MqttClientConnectResultCode.BadUserNameOrPassword or MqttClientConnectResultCode.NotAuthorized =>
            $"the broker {broker} refuses the user name or password: correct them in the site file",
        MqttClientConnectResultCode.UnsupportedProtocolVersion => $"the broker {broker} does not speak MQTT 5",
        MqttClientConnectResultCode.ClientIdentifierNotValid => $"the broker {broker} refuses the client id: choose another in the site file",
        var other => $"the broker {broker} refuses the connection ({other}{(string.IsNullOrEmpty(result.ReasonString) ? "" : $", {result.ReasonString}")})",
    };

    private string WhyLost(MqttClientDisconnectedEventArgs e) => e.Reason switch
    {
        MqttClientDisconnectReason.SessionTakenOver =>
            $"another program with the same client id took over the connection to the broker {Broker}: is a second copy running?",
        MqttClientDisconnectReason.NotAuthorized => $"the broker {Broker} no longer lets this program in",
        _ => $"the connection to the broker {Broker} was lost{(e.Exception is null ? "" : $" ({Deepest(e.Exception).TrimEnd('.')})")}",
    };

    private static string Deepest(Exception e)
    {
        while (e.InnerException is { } inner) e = inner;
        return e.Message;
    }
}
