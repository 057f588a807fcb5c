using System.Buffers;
using System.Net;
using System.Net.Sockets;
using System.Security.Cryptography;
using System.Text;
using Microsoft.Extensions.Logging;
using MQTTnet;
using MQTTnet.Packets;
using MQTTnet.Protocol;
using MQTTnet.Server;

namespace CellWatch.Mqtt;

/// <summary>
/// A broker inside the program, so that nothing has to be installed. It listens on this machine only unless told otherwise, keeps
/// retained messages in a file, and lets nobody but the program's own publisher write under the site's topics: no other client can
/// forge an alarm or a permit. Clients of MQTT 3.1.1 must name a client id.
/// </summary>
public sealed class EmbeddedBroker : IAsyncDisposable
{
    private static readonly TimeSpan SweepPeriod = TimeSpan.FromSeconds(1);

    /// <summary>Messages the broker holds for one slow reader: some 50 snapshots of 18 modules (chosen, no source).</summary>
    private const int PendingPerClient = 2000;

    private readonly EmbeddedBrokerOptions _options;
    private readonly string _guarded;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly RetainedFile? _file;
    private readonly RetainedExpiry _expiry;
    private readonly byte[] _secret = RandomNumberGenerator.GetBytes(24);
    private volatile string? _publisherClientId;
    private MqttServer? _server;
    private ITimer? _sweep;

    /// <summary>Makes a broker; <see cref="StartAsync"/> opens it.</summary>
    /// <param name="options">How it listens.</param>
    /// <param name="topics">The site's topics, which only its publisher may write.</param>
    /// <param name="time">For the expiry of messages.</param>
    /// <param name="logger">For what a person should know.</param>
    public EmbeddedBroker(EmbeddedBrokerOptions options, Topics topics, TimeProvider time, ILogger<EmbeddedBroker> logger)
    {
        _options = options;
        _guarded = topics.Root + "/";
        _time = time;
        _logger = logger;
        _expiry = new RetainedExpiry(time);
        _file = options.RetainedPath is { } path ? new RetainedFile(path, logger) : null;
    }

    /// <summary>Whether it is open.</summary>
    public bool IsRunning => _server is not null;

    /// <summary>Address it listens on.</summary>
    public IPAddress Address => _options.Address;

    /// <summary>Port it listens on; 0 before a free one has been chosen.</summary>
    public int Port { get; private set; }

    /// <summary>User name by which the program's own publisher makes itself known.</summary>
    internal const string PublisherUser = "publisher-of-this-site";

    /// <summary>Its password, another one in each run of the program.</summary>
    internal string PublisherPassword => Convert.ToHexString(_secret);

    /// <summary>Opens it.</summary>
    /// <exception cref="BrokerStartException">The settings are wrong or the port is taken; the message says what to do.</exception>
    public async Task StartAsync()
    {
        if (_server is not null) return;
        if (_options.Problems().FirstOrDefault() is { } problem) throw new BrokerStartException(problem);
        var port = _options.Port != 0 ? _options.Port : Port != 0 ? Port : FreePort(_options.Address);
        var server = new MqttServerFactory().CreateMqttServer(new MqttServerOptionsBuilder()
            .WithDefaultEndpoint().WithDefaultEndpointPort(port)
            .WithDefaultEndpointBoundIPAddress(_options.Address).WithDefaultEndpointBoundIPV6Address(IPAddress.None)
            .WithPersistentSessions().WithMaxPendingMessagesPerClient(PendingPerClient).Build());
        server.ValidatingConnectionAsync += e => { Validate(e); return Task.CompletedTask; };
        server.InterceptingPublishAsync += e => { Guard(e); return Task.CompletedTask; };
        server.InterceptingOutboundPacketAsync += e =>
        {
            if (e.Packet is MqttPublishPacket packet) _expiry.Shorten(packet);
            return Task.CompletedTask;
        };
        server.LoadingRetainedMessageAsync += e =>
        {
            e.LoadedRetainedMessages.AddRange(_file?.Load() ?? []);
            return Task.CompletedTask;
        };
        server.RetainedMessageChangedAsync += e =>
        {
            // Live values expire and are not kept; saving for them would wear the disk at every snapshot.
            if (_file is not null && e.ChangedRetainedMessage.MessageExpiryInterval == 0) _ = _file.SaveAsync(e.StoredRetainedMessages);
            return Task.CompletedTask;
        };
        try
        {
            await server.StartAsync();
        }
        catch (SocketException e)
        {
            server.Dispose();
            throw new BrokerStartException(Refusal(port, e), e);
        }

        (_server, Port) = (server, port);
        _sweep = _time.CreateTimer(_ => _ = SweepAsync(), null, SweepPeriod, SweepPeriod);
        _logger.LogInformation("Embedded broker listens on {Address}:{Port}", _options.Address, port);
    }

    /// <summary>Closes it and writes its retained messages.</summary>
    public async Task StopAsync()
    {
        if (_server is not { } server) return;
        _server = null;
        if (_sweep is not null) await _sweep.DisposeAsync();
        if (_file is not null) await _file.SaveAsync(await server.GetRetainedMessagesAsync());
        await server.StopAsync(new MqttServerStopOptions());
        server.Dispose();
    }

    /// <summary>Topics of the messages it retains now.</summary>
    internal async Task<IReadOnlyList<string>> RetainedTopicsAsync() =>
        _server is { } server ? [.. (await server.GetRetainedMessagesAsync()).Select(m => m.Topic)] : [];

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        await StopAsync();
        _file?.Dispose();
    }

    private void Validate(ValidatingConnectionEventArgs e)
    {
        if (e.UserName == PublisherUser)
        {
            if (!Same(e.Password, PublisherPassword)) Refuse(e);
            else _publisherClientId = e.ClientId;
            return;
        }

        if (_options.User is { Length: > 0 } && !(Same(e.UserName, _options.User) && Same(e.Password, _options.Password))
            || e.ClientId.Length > 0 && e.ClientId == _publisherClientId)
        {
            Refuse(e);
            return;
        }

        if (e.ClientId.Length == 0) e.AssignedClientIdentifier = $"reader-{Guid.NewGuid():N}";
    }

    private static void Refuse(ValidatingConnectionEventArgs e) => e.ReasonCode = MqttConnectReasonCode.BadUserNameOrPassword;

    private static bool Same(string? given, string? wanted) =>
        CryptographicOperations.FixedTimeEquals(Encoding.UTF8.GetBytes(given ?? ""), Encoding.UTF8.GetBytes(wanted ?? ""));

    private void Guard(InterceptingPublishEventArgs e)
    {
        if (e.ApplicationMessage.Topic.StartsWith(_guarded, StringComparison.Ordinal) && e.ClientId != _publisherClientId)
        {
            e.ProcessPublish = false;
            e.Response.ReasonCode = MqttPubAckReasonCode.NotAuthorized;
            return;
        }

        if (e.ApplicationMessage.Retain) _expiry.Note(e.ApplicationMessage);
    }

    private async Task SweepAsync()
    {
        if (_server is not { } server) return;
        try
        {
            foreach (var topic in _expiry.TakeExpired())
                await server.UpdateRetainedMessageAsync(new MqttApplicationMessage { Topic = topic, Payload = ReadOnlySequence<byte>.Empty });
        }
        catch (Exception e) when (_server is null)
        {
            _logger.LogDebug(e, "The embedded broker was closed while expired messages were taken out");
        }
    }

    private string Refusal(int port, SocketException e) => e.SocketErrorCode switch
    {
        SocketError.AddressAlreadyInUse =>
            $"The embedded broker cannot listen on {_options.Address}:{port}: another program has that port. Stop it, choose another port, or use it as the external broker.",
        SocketError.AccessDenied =>
            $"The embedded broker may not listen on {_options.Address}:{port}: use a port above 1023.",
        SocketError.AddressNotAvailable =>
            $"The embedded broker cannot listen on {_options.Address}: this machine has no such address.",
        _ => $"The embedded broker cannot listen on {_options.Address}:{port}: {e.Message}.",
    };

    private static int FreePort(IPAddress address)
    {
        using var probe = new TcpListener(address, 0);
        try
        {
            probe.Start();
        }
        catch (SocketException e)
        {
            throw new BrokerStartException($"The embedded broker finds no free port on {address}: {e.Message}.", e);
        }

        return ((IPEndPoint)probe.LocalEndpoint).Port;
    }
}
